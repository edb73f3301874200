"""The moves of a program as columns, for rules that look at all of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flushwork.toolpaths.moves import MoveKind, Program

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
