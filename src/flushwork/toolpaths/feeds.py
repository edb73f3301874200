"""Feed, plunge, spindle speed and depth passes of one cutter in what an operation cuts."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from flushwork.fit.feeds import Proposal, own_pass_mm, propose
from flushwork.fit.stock import HARDWOOD, RESIN_STOCK, Stock, beside
from flushwork.shelf.items import Cutter, Machine
from flushwork.tolerances import DEPTH_MM
from flushwork.toolpaths.orders import Cut


@dataclass(frozen=True, slots=True)
class Feeds:
    """Feed across and feed down in mm per minute, and the spindle in turns per minute.

    ``proposal`` is what they come from: how fast lighter cuts may go, how deep a pass may be.
    """

    feed_mm_min: float
    plunge_mm_min: float
    spindle_rpm: float
    proposal: Proposal | None = None


def feeds(
    cutter: Cutter, machine: Machine, *, resin: bool = False, wood: Stock = HARDWOOD
) -> Feeds:
    """Return the feeds of a full-width cut, as ``flushwork.fit.feeds`` proposes them."""
    proposed = propose(cutter, machine, beside(RESIN_STOCK, wood) if resin else wood)
    return Feeds(proposed.feed_mm_min, proposed.plunge_mm_min, proposed.spindle_rpm, proposed)


def operation_feeds(operation: Cut, machine: Machine) -> Feeds:
    """Return the feeds of one operation."""
    wood = HARDWOOD if operation.wood is None else operation.wood
    return feeds(operation.cutter, machine, resin=operation.resin, wood=wood)


def levels(
    top_mm: float,
    floor_mm: float,
    cutter: Cutter,
    *,
    resin: bool = False,
    pass_mm: float | None = None,
) -> tuple[float, ...]:
    """Return the heights of the depth passes, evenly split, the last one on the floor.

    No pass is deeper than ``pass_mm``, or else the cutter's own depth of pass.  Empty where there
    is nothing to take.
    """
    depth = top_mm - floor_mm
    if depth <= 0.0:
        return ()
    greatest = own_pass_mm(cutter, melts=resin) if pass_mm is None else pass_mm
    count = max(1, ceil((depth - DEPTH_MM) / greatest))
    return (*(top_mm - depth * (k + 1) / count for k in range(count - 1)), floor_mm)
