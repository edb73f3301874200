"""Which vee cutter engraves an inlay."""

from __future__ import annotations

from collections.abc import Sequence
from math import tan
from typing import Final

from flushwork.fit.axis import axis_of
from flushwork.fit.opening import reach
from flushwork.fit.reach import Fit, Reach
from flushwork.geometry.drawn import DrawnInlay
from flushwork.shelf.items import Cutter, CutterKind
from flushwork.tolerances import DEPTH_MM

SAME_MM2: Final = 0.02
"""Losing this much more is losing no more."""


def engraved_depth(cutter: Cutter, half_width_mm: float) -> float:
    """Return how deep a vee's tip goes where its flanks meet walls ``half_width_mm`` away.

    Width = tip + 2 depth tan(angle / 2), the cross-section of the cutter.
    """
    return max(0.0, half_width_mm - cutter.tip_mm / 2.0) / tan(cutter.angle_rad / 2.0)


def engraved_half_width(cutter: Cutter, depth_mm: float) -> float:
    """Return half the width a vee cuts at the face with its tip ``depth_mm`` below it."""
    return cutter.tip_mm / 2.0 + depth_mm * tan(cutter.angle_rad / 2.0)


def fit_engraving(drawn: DrawnInlay, cutters: Sequence[Cutter]) -> Fit:
    """Choose the vee cutter for an engraved inlay from those the job names, or all owned.

    Among the cutters whose tip loses least, the sharpest whose walls meet above the greatest
    depth: it needs no flat floor and stands deepest in its fill.  Where all would go too deep, the
    bluntest, which leaves the least floor to clear.  A cutter must be long and wide enough in its
    flutes for the depth it goes to.
    """
    inlay = drawn.inlay
    offered = inlay.cutters or tuple(cutters)
    vees = [cutter for cutter in offered if cutter.kind is CutterKind.VEE and cutter.angle_rad > 0]
    if drawn.region.is_empty or not vees:
        words = "There is nothing to engrave." if vees else "There is no V cutter."
        return Fit(drawn, (), None, None, (), words)
    axis = axis_of(drawn.region)
    widest = float(axis.points[:, 2].max()) if len(axis.points) else 0.0
    reaches = tuple(reach(drawn.region, cutter, axis) for cutter in vees)
    able = [item for item in reaches if _able(item, widest, inlay.depth_mm)]
    if not able:
        reason = f"No V cutter has flutes for a line {2.0 * widest:.2f} mm wide."
        return Fit(drawn, (), None, None, reaches, reason)
    least = min(item.lost_mm2 for item in able)
    fine = sorted(
        (item.cutter for item in able if item.lost_mm2 <= least + SAME_MM2),
        key=lambda cutter: (cutter.angle_rad, cutter.tip_mm, cutter.name),
    )
    meeting = [
        cutter for cutter in fine if engraved_depth(cutter, widest) <= inlay.depth_mm + DEPTH_MM
    ]
    chosen = meeting[0] if meeting else fine[-1]
    return Fit(drawn, (chosen,), chosen, chosen, reaches, _reason(chosen, widest, inlay.depth_mm))


def _able(item: Reach, widest_mm: float, depth_mm: float) -> bool:
    cutter = item.cutter
    deepest = min(depth_mm, engraved_depth(cutter, widest_mm))
    wide_enough = 2.0 * engraved_half_width(cutter, deepest) <= cutter.diameter_mm + DEPTH_MM
    return not item.centres.is_empty and cutter.flute_mm >= deepest and wide_enough


def _reason(cutter: Cutter, widest_mm: float, depth_mm: float) -> str:
    deep = engraved_depth(cutter, widest_mm)
    if deep <= depth_mm + DEPTH_MM:
        return (
            f"The {cutter.name} is the sharpest whose walls meet above {depth_mm:.2f} mm: it goes "
            f"{deep:.2f} mm deep where the artwork is {2.0 * widest_mm:.2f} mm wide."
        )
    return (
        f"The {cutter.name} would go {deep:.2f} mm deep where the artwork is "
        f"{2.0 * widest_mm:.2f} mm wide; a flat floor is left at {depth_mm:.2f} mm."
    )
