"""The flat floor of an engraving, cleared by a flat bit before the V-bit where that pays."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from math import tan
from typing import Final

from flushwork.fit.choice import ABOVE_MM, engraved_half_width
from flushwork.fit.discs import shrink
from flushwork.fit.feeds import propose
from flushwork.fit.opening import reach
from flushwork.fit.pocket_time import CutTerms, whole_s
from flushwork.fit.reach import Fit, Reach
from flushwork.shelf.items import Bit, BitKind

SCALLOP_MM: Final = 0.05
"""Height of the ridges between lines of a V-bit on its floor, under the fill and never seen.

Assumed (0.02 to 0.1 mm); a test strip filled with the palest mix would replace it.
"""


def v_bit_step_mm(v_bit: Bit) -> float:
    """Return from line to line of a V-bit on its floor: tip + 2 x ridge x tan(angle / 2)."""
    return v_bit.tip_mm + 2.0 * SCALLOP_MM * tan(v_bit.angle_rad / 2.0)


def with_floor(
    fit: Fit,
    there: Collection[Bit],
    owned: Sequence[Bit],
    terms: CutTerms,
    above_mm: float = ABOVE_MM,
) -> Fit:
    """Return an engraving's fit with the flat bit that clears its floor first, if any pays.

    ``there`` are in the machine in the same round anyway; others pay for their change.
    """
    inlay = fit.drawn.thing
    if not inlay.v_bit or inlay.bits or len(fit.bits) != 1:
        return fit
    v_bit = fit.bits[0]
    floor = shrink(fit.drawn.region, engraved_half_width(v_bit, inlay.depth_mm))
    if floor.is_empty:
        return fit
    feed_mm_s = propose(v_bit, terms.machine, terms.wood).feed_mm_min / 60.0
    per_mm2_s = 1.0 / (v_bit_step_mm(v_bit) * feed_mm_s)
    best: tuple[float, Reach] | None = None
    for bit in owned:
        able = bit.kind is BitKind.FLAT and bit.plunges
        if not able or bit.flute_mm < inlay.depth_mm + above_mm:
            continue
        change_s = 0.0 if bit in there else terms.change_s
        if floor.area * per_mm2_s <= change_s:
            continue
        item = reach(floor, bit)
        if item.centres.is_empty:
            continue
        saved_s = item.reached.area * per_mm2_s - whole_s(item, inlay.depth_mm, terms) - change_s
        if saved_s > 0.0 and (best is None or saved_s > best[0]):
            best = (saved_s, item)
    if best is None:
        return fit
    saved_s, item = best
    return replace(
        fit,
        floor=item,
        reason=f"{fit.reason} The {item.bit.name} clears {item.reached.area:.0f} mm2 of it "
        f"first: about {saved_s / 60.0:.1f} minutes less.",
    )
