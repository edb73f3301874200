"""Feed, plunge and spindle speed of one cutter on one machine."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Final

from flushwork.shelf.items import Cutter, Machine
from flushwork.tolerances import DEPTH_MM

PLUNGE_SHARE: Final = 1.0 / 3.0
"""Plunge at a third of the feed: common practice, no source."""

RESIN_RPM: Final = 12000.0
"""Fastest spindle in cured resin, which melts and smears before it burns.

Common practice, no source: 10 000 to 14 000 per minute; a groove cut in a resin coupon at three
speeds would replace it.
"""

FINE_CUTTER_MM: Final = 1.6
"""Cutters under this diameter take half the depth in resin: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Feeds:
    """Feed across and feed down in mm per minute, and the spindle in turns per minute."""

    feed_mm_min: float
    plunge_mm_min: float
    spindle_rpm: float


def feeds(cutter: Cutter, machine: Machine, *, resin: bool = False) -> Feeds:
    """Return the feeds that keep the cutter's chip load within the machine's limits.

    Feed = turns per minute x flutes x chip load (the definition of chip load per tooth).  Where
    the machine cannot feed that fast the spindle slows so that the chip stays as thick; where it
    cannot turn that slowly, the chip gets thinner rather than the feed faster.
    """
    wanted = min(cutter.spindle_rpm, RESIN_RPM) if resin else cutter.spindle_rpm
    rpm = min(max(wanted, machine.spindle_min_rpm), machine.spindle_max_rpm)
    per_turn_mm = cutter.flutes * cutter.chip_mm
    feed = rpm * per_turn_mm
    if feed > machine.feed_mm_min:
        feed = machine.feed_mm_min
        rpm = min(max(feed / per_turn_mm, machine.spindle_min_rpm), rpm)
    return Feeds(
        feed_mm_min=feed,
        plunge_mm_min=min(feed * PLUNGE_SHARE, machine.plunge_mm_min),
        spindle_rpm=rpm,
    )


def levels(
    top_mm: float, floor_mm: float, cutter: Cutter, *, resin: bool = False
) -> tuple[float, ...]:
    """Return the heights of the depth passes, evenly split, the last one on the floor.

    No pass is deeper than the cutter's own depth of pass.  Empty where there is nothing to take.
    """
    depth = top_mm - floor_mm
    if depth <= 0.0:
        return ()
    greatest = cutter.pass_mm
    if resin and cutter.diameter_mm < FINE_CUTTER_MM:
        greatest /= 2.0
    count = max(1, ceil((depth - DEPTH_MM) / greatest))
    return (*(top_mm - depth * (k + 1) / count for k in range(count - 1)), floor_mm)
