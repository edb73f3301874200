"""The door of this room: parts and boards in, a layout out."""

from __future__ import annotations

from functools import lru_cache

from flushwork.cutlist.lengths import saw_lengths
from flushwork.cutlist.panels import saw_panels
from flushwork.cutlist.parts import Plank, SawLayout, SawPart


@lru_cache(maxsize=32)
def lay_out(parts: tuple[SawPart, ...], planks: tuple[Plank, ...], kerf_mm: float) -> SawLayout:
    """Return how parts come out of boards with a saw of that kerf.

    Where no board is wide enough for two parts beside each other they are sawn to length only,
    which is solved to the end; else they are panels.  What is wider than every board, or longer, is
    left out; so is what no board is left for.
    """
    fits: list[SawPart] = []
    misfits: list[SawPart] = []
    for part in parts:
        (fits if any(_holds(plank, part) for plank in planks) else misfits).append(part)
    if not fits:
        return SawLayout((), tuple(misfits), 0.0)
    narrowest = min(part.across_mm for part in fits)
    beside = any(plank.across_mm >= 2.0 * narrowest + kerf_mm for plank in planks)
    all_on_all = all(
        part.across_mm <= plank.across_mm and not part.turns for part in fits for plank in planks
    )
    saw = saw_lengths if all_on_all and not beside else saw_panels
    found = saw(fits, planks, kerf_mm)
    if misfits:
        return SawLayout(found.sawn, (*found.left_out, *misfits), 0.0)
    return found


def _holds(plank: Plank, part: SawPart) -> bool:
    upright = part.along_mm <= plank.along_mm and part.across_mm <= plank.across_mm
    turned = part.across_mm <= plank.along_mm and part.along_mm <= plank.across_mm
    return upright or (part.turns and turned)
