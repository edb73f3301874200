"""What registration marks say: shift, turn and stretch by least squares, and which one was misread.

A mark cut at (x, y) that now reads (u, v) off has moved by u = a - r (y - yc),
v = b + r (x - xc) + e (y - yc), with the shift (a, b), the turn r (small, so its sine is itself)
and the stretch e across a grain along x; for a grain along y the stretch goes with x and u.  Linear
least squares: C. L. Lawson and R. J. Hanson, Solving Least Squares Problems (1974).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import RegistrationMark

ENOUGH: Final = 4
"""Marks that leave enough over to find a misread one: eight readings for four unknowns; with one
taken out, six."""
SLIP_MM: Final = 0.1
"""A mark this far from what the others say was misread (assumed, 0.05 to 0.15 mm: twice what a
loupe reads)."""
AGREE_MM: Final = 0.03
"""Marks closer than this to one movement agree (assumed, 0.02 to 0.05 mm)."""


@dataclass(frozen=True, slots=True)
class Moved:
    """The movement that fits the marks best, and how far each mark is from it.

    ``shift_mm`` is that of the place ``about_mm``; ``residuals_mm`` (n,) are distances.
    """

    shift_mm: tuple[float, float]
    about_mm: tuple[float, float]
    turn_rad: float
    stretch: float
    residuals_mm: NDArray[np.float64]

    @property
    def worst_mm(self) -> float:
        """The largest residual."""
        return float(self.residuals_mm.max())


def _arrays(marks: Sequence[RegistrationMark]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    at = np.array([(mark.x_mm, mark.y_mm) for mark in marks], float)
    off = np.array([(mark.off_x_mm, mark.off_y_mm) for mark in marks], float)
    return at, off


def _system(at: NDArray[np.float64], *, grain_along_x: bool) -> NDArray[np.float64]:
    count = len(at)
    rows = np.zeros((2 * count, 4))
    rows[:count, 0] = 1.0
    rows[count:, 1] = 1.0
    rows[:count, 2] = -at[:, 1]
    rows[count:, 2] = at[:, 0]
    if grain_along_x:
        rows[count:, 3] = at[:, 1]
    else:
        rows[:count, 3] = at[:, 0]
    return rows


def fit(
    marks: Sequence[RegistrationMark], about_mm: tuple[float, float], *, grain_along_x: bool
) -> Moved:
    """Return the movement that fits marks best; at least two marks, or ValueError.

    Two marks say nothing of the stretch where they lie on one line along the grain; the smallest
    movement that fits is then taken.
    """
    if len(marks) < 2:
        message = "a movement needs two marks at least"
        raise ValueError(message)
    at, off = _arrays(marks)
    rows = _system(at - about_mm, grain_along_x=grain_along_x)
    wanted = np.concatenate([off[:, 0], off[:, 1]])
    found, *_ = np.linalg.lstsq(rows, wanted, rcond=None)
    left = (wanted - rows @ found).reshape(2, -1)
    return Moved(
        (float(found[0]), float(found[1])),
        about_mm,
        float(found[2]),
        float(found[3]),
        np.hypot(left[0], left[1]),
    )


def farthest_mm(marks: Sequence[RegistrationMark], moved: Moved) -> float:
    """Return how far shift and turn alone carry the mark that they carry farthest."""
    at, _ = _arrays(marks)
    x, y = (at - moved.about_mm).T
    return float(
        np.hypot(
            moved.shift_mm[0] - moved.turn_rad * y, moved.shift_mm[1] + moved.turn_rad * x
        ).max()
    )


def misread(
    marks: Sequence[RegistrationMark], about_mm: tuple[float, float], *, grain_along_x: bool
) -> tuple[int, float, Moved] | None:
    """Return the mark without which the others agree, how far off it is, and what they say.

    None where no single mark is to blame, or there are too few to tell.
    """
    if len(marks) < ENOUGH:
        return None
    best: tuple[int, float, Moved] | None = None
    for index in range(len(marks)):
        others = [mark for place, mark in enumerate(marks) if place != index]
        moved = fit(others, about_mm, grain_along_x=grain_along_x)
        if moved.worst_mm > AGREE_MM:
            continue
        off = _off_mm(marks[index], moved, grain_along_x=grain_along_x)
        if off > SLIP_MM and (best is None or moved.worst_mm < best[2].worst_mm):
            best = (index, off, moved)
    return best


def _off_mm(mark: RegistrationMark, moved: Moved, *, grain_along_x: bool) -> float:
    at, off = _arrays([mark])
    rows = _system(at - moved.about_mm, grain_along_x=grain_along_x)
    movement = np.array([*moved.shift_mm, moved.turn_rad, moved.stretch])
    left = off[0] - rows @ movement
    return float(np.hypot(left[0], left[1]))
