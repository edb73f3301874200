"""The move records: all that the writer and the reader of cut files share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from enum import StrEnum
from itertools import starmap
from operator import attrgetter
from typing import Any, Final


class MoveKind(StrEnum):
    """What one motion is."""

    RAPID = "rapid"
    FEED = "feed"
    ARC = "arc"
    DWELL = "dwell"


@dataclass(frozen=True, slots=True)
class Move:
    """One motion of the cutter's tip in the file's coordinates, in mm and seconds.

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
    """The moves of one cut file in order, from ``start`` (x, y, z in mm).

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
