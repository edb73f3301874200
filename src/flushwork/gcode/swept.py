"""Where a program takes its bit: the one reckoning behind every printed region.

A file's head, its card, its page and the rule about clamps all ask here, about the moves as they
are read back from the text.  Arcs count as far as they bulge, and the bit with its radius.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.shelf.items import Bit
from flushwork.toolpaths.moves import MoveTable, Program, table_of

CLAMP_GAP_MM: Final = 0.5
"""A bit passes a clamp no nearer than this (assumed, 0.3 to 2 mm: what a clamp gives when it is
set again)."""
SAME_HEIGHT_MM: Final = 1e-6
"""Heights closer than this are one."""

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Box:
    """A stretch of X and one of Y, in mm."""

    left_mm: float
    right_mm: float
    near_mm: float
    far_mm: float

    def moved(self, x_mm: float, y_mm: float) -> Box:
        """Return it as seen from a zero that lies so far to the left of and before the old one."""
        return Box(
            self.left_mm + x_mm, self.right_mm + x_mm, self.near_mm + y_mm, self.far_mm + y_mm
        )

    def grown(self, by_mm: float) -> Box:
        """Return it wider on every side."""
        return Box(
            self.left_mm - by_mm, self.right_mm + by_mm, self.near_mm - by_mm, self.far_mm + by_mm
        )

    def and_also(self, other: Box) -> Box:
        """Return the least box around both."""
        return Box(
            min(self.left_mm, other.left_mm),
            max(self.right_mm, other.right_mm),
            min(self.near_mm, other.near_mm),
            max(self.far_mm, other.far_mm),
        )


@dataclass(frozen=True, slots=True)
class Swept:
    """What a bit sweeps over, its radius included, in the file's coordinates.

    ``over_mm`` is the height at which it crosses: the greatest one of the file.  ``low`` is all it
    sweeps while its tip is anywhere lower than that, ``all`` the crossings too.  The way to the
    first place is in neither: nobody knows where the machine stands.  ``deepest_mm`` is its lowest
    tip.
    """

    low: Box
    all: Box
    over_mm: float
    deepest_mm: float
    radius_mm: float


def radius_mm(bit: Bit) -> float:
    """Return how far a bit or its shank reaches beside its middle."""
    return max(bit.diameter_mm, bit.shank_mm) / 2.0


def known_from(program: Program) -> int:
    """Return the first move whose end is known: X and Y have been told, or something is cut."""
    cuts = np.flatnonzero(table_of(program).cuts)
    first_cut = int(cuts[0]) if cuts.size else len(program.moves)
    return min(program.placed, first_cut)


@lru_cache(maxsize=256)
def swept(program: Program, bit: Bit) -> Swept | None:
    """Return what a program's moves sweep over; None where none of its places is known."""
    table = table_of(program)
    begin, there, low = _ways(program, table)
    if not there.any():
        return None
    over = float(max(table.to_mm[there, 2].max(), begin[there, 2].max()))
    radius = radius_mm(bit)
    whole = _bounds(table, begin, there).grown(radius)
    return Swept(
        low=_bounds(table, begin, low).grown(radius) if low.any() else whole,
        all=whole,
        over_mm=over,
        deepest_mm=float(min(table.to_mm[there, 2].min(), begin[there, 2].min())),
        radius_mm=radius,
    )


def _ways(program: Program, table: MoveTable) -> tuple[Floats, Flags, Flags]:
    """Return where each move begins (moves, 3), which ways are known, and which are low.

    Of the rapid that leads to the first known place only its end is known.
    """
    first = known_from(program)
    there = ~table.dwells
    there[:first] = False
    begin = table.from_mm.copy()
    if first < len(begin) and table.rapid[first]:
        begin[first] = table.to_mm[first]
    if not there.any():
        return begin, there, there
    lowest = np.minimum(begin[:, 2], table.to_mm[:, 2])
    over = max(table.to_mm[there, 2].max(), begin[there, 2].max())
    return begin, there, there & (lowest < over - SAME_HEIGHT_MM)


def _bounds(table: MoveTable, begin: Floats, which: Flags) -> Box:
    reached = np.concatenate(
        [begin[which, :2], table.to_mm[which, :2], _outermost(table, begin, which & table.arc)]
    )
    (left, near), (right, far) = reached.min(axis=0), reached.max(axis=0)
    return Box(float(left), float(right), float(near), float(far))


def _outermost(table: MoveTable, begin: Floats, arcs: Flags) -> Floats:
    """Return the outermost points of arcs along X and Y, (points, 2)."""
    centre, turn = table.centre_mm[arcs], table.turn_rad[arcs]
    away = begin[arcs, :2] - centre
    radius, start = np.hypot(away[:, 0], away[:, 1]), np.arctan2(away[:, 1], away[:, 0])
    found = [np.empty((0, 2))]
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        ahead = np.copysign(1.0, turn) * (math.atan2(dy, dx) - start)
        met = ahead % (2.0 * math.pi) < np.abs(turn)
        edge = centre + radius[:, np.newaxis] * np.array((dx, dy))
        found.append(edge[met])
    return np.concatenate(found)
