"""The move records: all that the writer and the reader of G-code files share.

The moves of a program as columns, for rules that look at all of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import lru_cache
from itertools import starmap
from operator import attrgetter
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray


class MoveKind(StrEnum):
    """What one motion is."""

    RAPID = "rapid"
    FEED = "feed"
    ARC = "arc"
    DWELL = "dwell"


@dataclass(frozen=True, slots=True)
class Move:
    """One motion of the bit's tip in the file's coordinates, in mm and seconds.

    An arc turns about (``centre_x_mm``, ``centre_y_mm``) in the XY plane, rising evenly to
    ``z_mm``; ``turn_rad`` is the signed sweep, counter-clockwise positive.  A dwell stays
    ``dwell_s`` where the move before ended.  ``line`` is the line of the text it was read from,
    0 where it was not.
    """

    kind: MoveKind
    x_mm: float
    y_mm: float
    z_mm: float
    feed_mm_min: float = 0.0
    centre_x_mm: float = 0.0
    centre_y_mm: float = 0.0
    turn_rad: float = 0.0
    dwell_s: float = 0.0
    spindle_rpm: float = 0.0
    line: int = 0


@dataclass(frozen=True, slots=True)
class Program:
    """The moves of one G-code file in order, from ``start`` (x, y, z in mm).

    Where the tip stands over X and Y is only supposed until the end of move ``placed``.
    """

    start: tuple[float, float, float]
    moves: tuple[Move, ...]
    placed: int = 0

    def __hash__(self) -> int:
        # thousands of moves: their number and the last of them tell most programs apart
        return hash((self.start, len(self.moves), self.moves[-1:]))

    def __reduce__(self) -> tuple[Callable[..., Program], tuple[object, ...]]:
        """Travel between processes as columns, in a quarter of the time that moves would take."""
        columns = zip(*map(_VALUES, self.moves), strict=True)
        return _program, (self.start, self.placed, *columns)


_VALUES: Final = attrgetter(*(each.name for each in fields(Move)))


def _program(start: tuple[float, float, float], placed: int, *columns: tuple[Any, ...]) -> Program:
    return Program(start, tuple(starmap(Move, zip(*columns, strict=True))), placed)


Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class MoveTable:
    """One entry per move: what kind it is, where it leads, its feed and speed.

    ``to_mm`` is (n, 3), ``centre_mm`` (n, 2) and ``turn_rad`` those of arcs.  ``run_mm`` is a
    move's way in plan and ``drop_mm`` its way down, 0 for a dwell; ``from_mm`` (n, 3) is where it
    begins, the first at the program's start.
    """

    rapid: Flags
    arc: Flags
    dwells: Flags
    from_mm: Floats
    to_mm: Floats
    centre_mm: Floats
    turn_rad: Floats
    feed_mm_min: Floats
    rpm: Floats
    run_mm: Floats
    drop_mm: Floats

    @property
    def cuts(self) -> Flags:
        """Which moves are fed."""
        return ~(self.rapid | self.dwells)


@lru_cache(maxsize=128)
def table_of(program: Program) -> MoveTable:
    """Return the moves of a program as columns; of a few jobs' programs they are kept."""
    moves = program.moves
    kinds = [move.kind for move in moves]
    rapid, arc, dwells = (
        np.array([kind is wanted for kind in kinds], np.bool_)
        for wanted in (MoveKind.RAPID, MoveKind.ARC, MoveKind.DWELL)
    )
    numbers = np.array(
        [
            (
                move.x_mm,
                move.y_mm,
                move.z_mm,
                move.feed_mm_min,
                move.spindle_rpm,
                move.centre_x_mm,
                move.centre_y_mm,
                move.turn_rad,
            )
            for move in moves
        ],
        np.float64,
    ).reshape(-1, 8)
    to = numbers[:, :3]
    # a dwell stays where the move before it ended, whatever it says itself
    standing = np.where(~dwells, np.arange(1, len(moves) + 1), 0)
    ended = np.concatenate([[0], np.maximum.accumulate(standing)])[:-1] if len(moves) else standing
    begin = np.concatenate([[program.start], to])[ended]
    straight = np.hypot(to[:, 0] - begin[:, 0], to[:, 1] - begin[:, 1])
    radius = np.hypot(begin[:, 0] - numbers[:, 5], begin[:, 1] - numbers[:, 6])
    run = np.where(arc, radius * np.abs(numbers[:, 7]), straight)
    return MoveTable(
        rapid=rapid,
        arc=arc,
        dwells=dwells,
        from_mm=begin,
        to_mm=to,
        centre_mm=numbers[:, 5:7],
        turn_rad=numbers[:, 7],
        feed_mm_min=numbers[:, 3],
        rpm=numbers[:, 4],
        run_mm=np.where(dwells, 0.0, run),
        drop_mm=np.where(dwells, 0.0, begin[:, 2] - to[:, 2]),
    )
