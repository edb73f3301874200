"""The move records: all that the writer and the reader of cut files share."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


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
    """The moves of one cut file in order, from ``start`` (x, y, z in mm)."""

    start: tuple[float, float, float]
    moves: tuple[Move, ...]

    def __hash__(self) -> int:
        # thousands of moves: their number and the last of them tell most programs apart
        return hash((self.start, len(self.moves), self.moves[-1:]))
