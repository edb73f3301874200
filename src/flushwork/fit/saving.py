"""Does a wide cutter before the narrow one save time?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

import shapely
from shapely import MultiPolygon

from flushwork.fit.discs import polygons
from flushwork.fit.reach import Reach
from flushwork.shelf.items import Cutter

CHANGE_S: Final = 120.0
"""Time to change a cutter and set its zero.  Assumed (60 to 300 s); time a change instead."""

ENTRY_S: Final = 3.0
"""Time to reach and enter one piece of stock at one depth.  Assumed (1 to 6 s)."""

SPECK_MM2: Final = 0.005
"""Stock in pieces smaller than this is not worth counting."""


@dataclass(frozen=True, slots=True)
class Saving:
    """The wide cutter, what it leaves to the narrow one, and the time saved in s."""

    clears: Reach
    left_mm2: float
    saved_s: float


def best_clearing(finisher: Reach, wider: Sequence[Reach], depth_mm: float) -> Saving | None:
    """Return the wider cutter that saves most time before ``finisher``, if any saves some."""
    alone_s = _cut_s(finisher.cutter, finisher.reached, depth_mm)
    found = [
        Saving(item, _rest(finisher, item).area, alone_s - both_s)
        for item in wider
        if not item.centres.is_empty and (both_s := _both_s(finisher, item, depth_mm)) < alone_s
    ]
    return max(found, key=lambda saving: saving.saved_s, default=None)


def _both_s(finisher: Reach, wide: Reach, depth_mm: float) -> float:
    return (
        _cut_s(wide.cutter, wide.reached, depth_mm)
        + _cut_s(finisher.cutter, _rest(finisher, wide), depth_mm)
        + CHANGE_S
    )


def _rest(finisher: Reach, wide: Reach) -> MultiPolygon:
    return polygons(shapely.difference(finisher.reached, wide.reached), SPECK_MM2)


def _cut_s(cutter: Cutter, area: MultiPolygon, depth_mm: float) -> float:
    """Return about how long a cutter takes: its way at its chip load's feed, and the entries.

    The way over an area is area / step-over, but at least once along the middle of it, half the
    length of its outline.
    """
    feed_mm_s = cutter.chip_mm * cutter.flutes * cutter.spindle_rpm / 60.0
    way = max(area.area / (cutter.step * cutter.diameter_mm), area.length / 2.0)
    passes = ceil(depth_mm / cutter.pass_mm)
    return passes * (way / feed_mm_s + ENTRY_S * len(area.geoms))
