"""Feed, plunge, spindle speed and depth passes of one bit in what an operation cuts.

How many lines a second a program asks of the controller at the feeds it says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.core.tolerances import DEPTH_MM
from flushwork.fit.cutting_force import HARDWOOD, RESIN_STOCK, Stock, beside
from flushwork.fit.feeds import Proposal, own_pass_mm, propose
from flushwork.shelf.items import Bit, Machine
from flushwork.toolpaths.arcs_on_grid import chord_count
from flushwork.toolpaths.moves import Floats, Move, Program, table_of
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


def feeds(bit: Bit, machine: Machine, *, resin: bool = False, wood: Stock = HARDWOOD) -> Feeds:
    """Return the feeds of a full-width cut, as ``flushwork.fit.feeds`` proposes them."""
    proposed = propose(bit, machine, beside(RESIN_STOCK, wood) if resin else wood)
    return Feeds(proposed.feed_mm_min, proposed.plunge_mm_min, proposed.spindle_rpm, proposed)


def operation_feeds(operation: Cut, machine: Machine) -> Feeds:
    """Return the feeds of one operation."""
    wood = HARDWOOD if operation.wood is None else operation.wood
    return feeds(operation.bit, machine, resin=operation.resin, wood=wood)


def levels(
    top_mm: float,
    floor_mm: float,
    bit: Bit,
    *,
    resin: bool = False,
    pass_mm: float | None = None,
) -> tuple[float, ...]:
    """Return the heights of the depth passes, evenly split, the last one on the floor.

    No pass is deeper than ``pass_mm``, or else the bit's own depth of pass.  Empty where there
    is nothing to take.
    """
    depth = top_mm - floor_mm
    if depth <= 0.0:
        return ()
    greatest = own_pass_mm(bit, melts=resin) if pass_mm is None else pass_mm
    count = max(1, ceil((depth - DEPTH_MM) / greatest))
    return (*(top_mm - depth * (k + 1) / count for k in range(count - 1)), floor_mm)


TOGETHER: Final = 16
"""Lines looked at together: about what a small controller keeps in hand.

Assumed (8 to 64): fewer short moves than that run from what it has read ahead.
"""

KEPT_SHARE: Final = 0.9
"""Our own files ask for this share of what the controller takes: arcs may be written in two."""

STEP_SHARE: Final = 0.8
"""Feeds that are lowered go down by steps of this share, so that few lines carry a new one."""

Numbers = NDArray[np.int64]


def seconds_asked(program: Program) -> Floats:
    """Return the time of each fed move at its own feed, (n,); of any other an endless one.

    A rapid or a dwell gives the controller time to read on.
    """
    table = table_of(program)
    way = np.hypot(table.run_mm, table.drop_mm)
    fed = table.cuts & (table.feed_mm_min > 0.0)
    return np.where(fed, 60.0 * way / np.where(fed, table.feed_mm_min, 1.0), np.inf)


def greatest_rate(program: Program) -> tuple[float, int]:
    """Return the greatest rate of any ``TOGETHER`` moves in a row, and the first of them."""
    seconds = seconds_asked(program)
    if len(seconds) < TOGETHER:
        return 0.0, 0
    sums = _together(seconds)
    k = int(np.argmin(sums))
    return (TOGETHER / float(sums[k]) if sums[k] > 0.0 else np.inf), k


def _together(seconds: Floats) -> Floats:
    return np.asarray(np.lib.stride_tricks.sliding_window_view(seconds, TOGETHER).sum(axis=1))


def eased(
    moves: Sequence[Move],
    start_mm: tuple[float, float, float],
    lines_s: float,
    arcs: bool,
) -> list[Move]:
    """Return moves fed so slowly that no more than ``lines_s`` lines are asked for in a second.

    Where short moves follow each other their feed is lowered; everything else stays.  Without
    ``arcs`` each arc counts as the chords it is written in.
    """
    program = Program(start_mm, tuple(moves))
    seconds = seconds_asked(program)
    lines = _lines_of(program, arcs)
    owner = np.repeat(np.arange(len(seconds)), lines)
    each = seconds[owner] / lines[owner]
    if len(each) < TOGETHER:
        return list(moves)
    wanted = TOGETHER / (KEPT_SHARE * lines_s)
    share = _together(each) / wanted
    if share.min(initial=1.0) >= 1.0:
        return list(moves)
    padded = np.concatenate((np.full(TOGETHER - 1, np.inf), share, np.full(TOGETHER - 1, np.inf)))
    least = np.lib.stride_tricks.sliding_window_view(padded, TOGETHER).min(axis=1)
    slow = np.full(len(seconds), np.inf)
    np.minimum.at(slow, owner, least)
    result = list(moves)
    for k in np.flatnonzero(slow < 1.0).tolist():
        steps = np.ceil(np.log(slow[k]) / np.log(STEP_SHARE) - 1e-9)
        by = float(STEP_SHARE**steps)
        result[k] = replace(result[k], feed_mm_min=result[k].feed_mm_min * by)
    return result


def _lines_of(program: Program, arcs: bool) -> Numbers:
    """Return how many lines each move is written in, as far as the rate needs it."""
    count = np.ones(len(program.moves), np.int64)
    if not arcs:
        table = table_of(program)
        radius = np.hypot(*(table.from_mm[:, :2] - table.centre_mm).T)
        for k in np.flatnonzero(table.arc).tolist():
            count[k] = chord_count(float(radius[k]), program.moves[k].turn_rad)
    return count
