"""The way of a cut file's tip below the wood as straight pieces, each within a stated bound."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from flushwork.runtime.memo import memoized
from flushwork.toolpaths.move_table import Floats, table_of
from flushwork.toolpaths.moves import Program

COARSE_MM: Final = 0.01
"""Greatest distance of a chord from its arc in a first look."""
FINE_MM: Final = 0.0005
"""... and where a place is measured: half a step of a cut file's last decimal."""
SKIM_MM: Final = 0.02
"""A tip this little below the wood's face only marks it."""

Numbers = NDArray[np.int64]
Shapes = NDArray[np.object_]


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """Straight pieces (n, 2, 3) of a way, from and to, and the move each is part of, (n,)."""

    ends_mm: Floats
    move: Numbers

    @property
    def lines(self) -> Shapes:
        """The pieces in plan; one of no length stays a line."""
        return np.asarray(shapely.linestrings(self.ends_mm[:, :, :2]))

    @property
    def lowest_mm(self) -> Floats:
        """The lower end of each, (n,)."""
        return np.asarray(self.ends_mm[:, :, 2].min(axis=1))

    def kept(self, wanted: NDArray[np.bool_]) -> Chords:
        """Return some of them."""
        return Chords(self.ends_mm[wanted], self.move[wanted])


@memoized
def chords_below(
    program: Program, face_mm: float, moved_mm: tuple[float, float], bound_mm: float
) -> Chords:
    """Return the way of the tip below ``face_mm`` (in the file's heights), rapids included.

    Heights are counted from the face, places shifted by ``moved_mm``.  The first move is left
    out: nobody knows where it starts.
    """
    table = table_of(program)
    moves = np.flatnonzero((np.arange(len(table.rapid)) > 0) & ~table.dwells)
    low = np.minimum(table.from_mm[moves, 2], table.to_mm[moves, 2])
    moves = moves[low < face_mm - SKIM_MM]
    centre, turn = table.centre_mm[moves], np.where(table.arc[moves], table.turn_rad[moves], 0.0)
    begin, end = table.from_mm[moves], table.to_mm[moves]
    away = begin[:, :2] - centre
    radius = np.hypot(away[:, 0], away[:, 1])
    step = 2.0 * np.arccos(1.0 - np.minimum(bound_mm / np.maximum(radius, 1e-9), 1.0))
    count = np.maximum(np.ceil(np.abs(turn) / step), 1.0).astype(np.int64)
    owner = np.repeat(np.arange(len(moves)), count)
    first = np.cumsum(count) - count
    number = np.arange(len(owner)) - first[owner]
    shares = np.stack((number, number + 1), axis=1) / count[owner, np.newaxis]
    shares = _clipped(shares, begin[owner, 2], end[owner, 2], face_mm - SKIM_MM)
    kept = shares[:, 1] >= shares[:, 0]
    owner, shares = owner[kept], shares[kept]
    ends = begin[owner, np.newaxis] + shares[:, :, np.newaxis] * (end - begin)[owner, np.newaxis]
    heading = np.arctan2(away[:, 1], away[:, 0])[owner, np.newaxis] + shares * turn[owner, None]
    round_it = (turn[owner] != 0.0)[:, np.newaxis]
    for axis, on_arc in ((0, np.cos(heading)), (1, np.sin(heading))):
        arc = centre[owner, axis, np.newaxis] + radius[owner, np.newaxis] * on_arc
        ends[:, :, axis] = np.where(round_it, arc, ends[:, :, axis]) + moved_mm[axis]
    ends[:, :, 2] -= face_mm
    return Chords(ends, moves[owner])


def _clipped(shares: Floats, from_mm: Floats, to_mm: Floats, below_mm: float) -> Floats:
    """Cut shares (n, 2) of moves that go evenly between two heights back to what lies below."""
    fall = to_mm - from_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = (below_mm - from_mm) / fall
    low = np.where((from_mm > below_mm) & (fall < 0.0), crossing, 0.0)
    high = np.where((to_mm > below_mm) & (fall > 0.0), crossing, 1.0)
    return np.stack((np.maximum(shares[:, 0], low), np.minimum(shares[:, 1], high)), axis=1)
