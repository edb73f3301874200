"""Arcs onto the grid of a G-code file, so that every reader finds them within the published bound.

A reader refuses an arc whose radii to its start and to its end differ by more than 0.002 mm
(NISTIR 6556, section 3.5.3.2).  Rounding start, end and centre to three decimals each can use
that up, so where the grid point nearest the true centre will not do, the best of those about it
is taken; an arc that still does not fit is halved, and in the end cut into chords.

The grid that the decimals of a G-code file put all its coordinates on.

Chains of short straight cuts followed as the arcs they hold: shorter files, smoother motion.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.core.tolerances import FLATTENING_MM
from flushwork.core.units.kinds import INCH_MM
from flushwork.kernels.arcs_and_times import LEAST_CHORDS, fit_arcs
from flushwork.shelf.items import Dialect

LEAST_INCH_DECIMALS: Final = 5
"""Decimals of an inch file, at least: 0.00001 inch is 0.00025 mm, finer than the 0.001 mm that a
metric file's three decimals give; with four a coordinate could be off by 0.0013 mm, an end by
0.0018 mm (``design/gcode_file_decimals.py``)."""


class Grid:
    """Whole steps of the last decimal, in the units the file is written in.

    ``unit_mm`` is the file's unit, ``decimals`` the places behind the point.
    """

    __slots__ = ("_form", "_per_mm", "_per_unit", "decimals", "unit_mm")

    def __init__(self, unit_mm: float, decimals: int) -> None:
        self.unit_mm = unit_mm
        self.decimals = decimals
        self._per_unit = 10.0**decimals
        self._per_mm = self._per_unit / unit_mm
        self._form = f"%.{decimals}f"

    def steps(self, value_mm: float) -> int:
        """Return the nearest grid step to a coordinate in mm."""
        return round(value_mm * self._per_mm)

    def mm(self, steps: int) -> float:
        """Return where a grid step lies, in mm."""
        return steps / self._per_unit * self.unit_mm

    def text(self, steps: int) -> str:
        """Return a coordinate as written: all decimals, never a minus zero."""
        return self._form % (steps / self._per_unit)

    def feed_text(self, feed_mm_min: float) -> str:
        """Return a feed as written: to 0.1 mm/min, in inch files to 0.001 in/min."""
        if self.unit_mm == 1.0:
            return f"{max(feed_mm_min, 0.1):.1f}"
        return f"{max(feed_mm_min / self.unit_mm, 0.001):.3f}"


def grid_of(dialect: Dialect) -> Grid:
    """Return the grid of a dialect; an inch file has five decimals at the least."""
    if dialect.inch:
        return Grid(INCH_MM, max(dialect.decimals, LEAST_INCH_DECIMALS))
    return Grid(1.0, dialect.decimals)


Floats = NDArray[np.float64]

ARC_FIT_MM: Final = 0.002
"""Greatest distance of a chain's points from its arc; between them the arc may bow out by as much
as flattening took off (FLATTENING_MM).  It is the bound the published reader allows an arc's
own radii (NISTIR 6556, section 3.5.3.2), and far below what a bit's run-out makes of it."""

ROUGH_MM: Final = 0.01
"""The same for passes inside a pocket, which no wall shows: their offset and its thinned points lie
as far off, and neighbours share three times as much."""

FINELY: Final = (ARC_FIT_MM, FLATTENING_MM)
ROUGHLY: Final = (ROUGH_MM / 2.0, ROUGH_MM)

SAME_FEED_MM_MIN: Final = 1e-3
"""Feeds nearer than this are one: a G-code file carries a tenth of a mm per minute."""

FittedPiece = tuple[int, float, float, float]


def pieces_of(
    points: Floats,
    feeds_mm_min: Floats,
    bound_mm: float = ARC_FIT_MM,
    flattened_mm: float = FLATTENING_MM,
) -> Iterator[FittedPiece]:
    """Yield the pieces of a chain of points (n, 3) cut at ``feeds_mm_min`` (n - 1,).

    A piece is the index of its last point, and centre x, centre y and turn in radians of its arc,
    counter-clockwise positive; turn 0 for a straight piece.  An arc may rise or fall evenly; it
    never runs over a change of feed.  ``flattened_mm`` is how far the chain's chords may lie off
    the curve they stand for.
    """
    changes = np.flatnonzero(np.abs(np.diff(feeds_mm_min)) > SAME_FEED_MM_MIN) + 1
    for first, last in pairwise((0, *changes.tolist(), len(feeds_mm_min))):
        if last - first < LEAST_CHORDS:
            yield from ((index, 0.0, 0.0, 0.0) for index in range(first + 1, last + 1))
            continue
        ends, arcs = fit_arcs(points[first : last + 1], bound_mm, flattened_mm + bound_mm)
        for end, (x_mm, y_mm, turn_rad) in zip(ends.tolist(), arcs.tolist(), strict=True):
            yield first + end, x_mm, y_mm, turn_rad


RADIUS_MM: Final = 0.002
"""Greatest change of an arc's radius by rounding, and greatest distance of a chord from its arc."""

RADII_APART_MM: Final = 0.0016
"""Greatest difference of the two radii as written: the published 0.002 mm less a reserve."""

_SWEEP_MM: Final = 0.01
_FULL_TURN: Final = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class HelicalArc:
    """An arc in mm: from ``start`` about ``centre`` by ``turn_rad``, rising from z to z."""

    start: tuple[float, float, float]
    end_z_mm: float
    centre: tuple[float, float]
    turn_rad: float

    @property
    def radius_mm(self) -> float:
        """The distance of the start from the centre."""
        return math.dist(self.start[:2], self.centre)

    def at(self, share: float) -> tuple[float, float, float]:
        """Return the point a share of the way along."""
        angle = self.turn_rad * share
        dx, dy = self.start[0] - self.centre[0], self.start[1] - self.centre[1]
        cos, sin = math.cos(angle), math.sin(angle)
        return (
            self.centre[0] + dx * cos - dy * sin,
            self.centre[1] + dx * sin + dy * cos,
            self.start[2] + (self.end_z_mm - self.start[2]) * share,
        )

    def halves(self) -> tuple[HelicalArc, HelicalArc]:
        """Return the first and the second half."""
        middle = self.at(0.5)
        half = self.turn_rad / 2.0
        return (
            HelicalArc(self.start, middle[2], self.centre, half),
            HelicalArc(middle, self.end_z_mm, self.centre, half),
        )


@dataclass(frozen=True, slots=True)
class GridMove:
    """One line of text: straight to ``end`` in grid steps, or round by ``offset`` (I, J)."""

    end: tuple[int, int, int]
    offset: tuple[int, int] | None = None
    clockwise: bool = False


def rounded(arc: HelicalArc, grid: Grid, arcs: bool) -> Iterator[GridMove]:
    """Yield the pieces an arc is written as; without ``arcs`` all of them chords.

    The path as read back stays within 0.002 mm and the grid's own rounding of the arc.
    """
    radius = arc.radius_mm
    sagitta = radius * (1.0 - math.cos(min(abs(arc.turn_rad) / 2.0, math.pi)))
    if not arcs or radius < RADIUS_MM or sagitta < RADIUS_MM / 4.0:
        yield from _chords(arc, grid)
        return
    piece = _fitted(arc, grid) if abs(arc.turn_rad) <= _FULL_TURN + 1e-9 else None
    if piece is not None:
        yield piece
        return
    for half in arc.halves():
        yield from rounded(half, grid, arcs)


def chord_count(radius_mm: float, turn_rad: float) -> int:
    """Return how many equal chords keep within ``RADIUS_MM`` of an arc (sagitta rule)."""
    if radius_mm <= RADIUS_MM:
        step_rad = math.pi / 2.0
    else:
        step_rad = 2.0 * math.acos(1.0 - RADIUS_MM / radius_mm)
    return max(math.ceil(abs(turn_rad) / step_rad), 1)


def _chords(arc: HelicalArc, grid: Grid) -> Iterator[GridMove]:
    count = chord_count(arc.radius_mm, arc.turn_rad)
    for number in range(1, count + 1):
        yield GridMove(_on_grid(arc.at(number / count), grid))


def _on_grid(place: tuple[float, float, float], grid: Grid) -> tuple[int, int, int]:
    return grid.steps(place[0]), grid.steps(place[1]), grid.steps(place[2])


def _fitted(arc: HelicalArc, grid: Grid) -> GridMove | None:
    """Return the arc as one piece, None where rounding would spoil it."""
    start, end = _on_grid(arc.start, grid), _on_grid(arc.at(1.0), grid)
    near = (
        grid.steps(arc.centre[0] - grid.mm(start[0])),
        grid.steps(arc.centre[1] - grid.mm(start[1])),
    )
    if _fault(arc, grid, start, end, near) is not None:
        return GridMove(end, near, arc.turn_rad < 0)
    best: tuple[float, tuple[int, int]] | None = None
    for di, dj in product((-1, 0, 1), repeat=2):
        offset = near[0] + di, near[1] + dj
        apart = _fault(arc, grid, start, end, offset)
        if apart is not None and (best is None or apart < best[0]):
            best = apart, offset
    return None if best is None else GridMove(end, best[1], arc.turn_rad < 0)


def _fault(
    arc: HelicalArc,
    grid: Grid,
    start: tuple[int, int, int],
    end: tuple[int, int, int],
    offset: tuple[int, int],
) -> float | None:
    """Return by how much the arc as written errs, in mm; None beyond the bounds."""
    from_start = -grid.mm(offset[0]), -grid.mm(offset[1])
    to_end = (
        grid.mm(end[0] - start[0] - offset[0]),
        grid.mm(end[1] - start[1] - offset[1]),
    )
    radius, at_start, at_end = arc.radius_mm, math.hypot(*from_start), math.hypot(*to_end)
    off = max(abs(at_start - radius), abs(at_end - radius))
    apart = abs(at_start - at_end)
    if off > RADIUS_MM or apart > RADII_APART_MM or at_start == 0.0:
        return None
    sign = -1.0 if arc.turn_rad < 0 else 1.0
    swept = math.atan2(to_end[1], to_end[0]) - math.atan2(from_start[1], from_start[0])
    swept = (sign * swept) % _FULL_TURN
    if start[:2] == end[:2]:
        swept = _FULL_TURN
    if abs(swept - abs(arc.turn_rad)) * radius > max(_SWEEP_MM, 2.0 * grid.mm(1)):
        return None
    return off + apart
