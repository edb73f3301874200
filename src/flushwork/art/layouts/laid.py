"""What a layout is made of, and the few primitives that all of them are: grids, rings, a track.

Everything is in mm about the middle of the layout, y up.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.contours import ellipse
from flushwork.art.regions import GRID_DECIMALS, united
from flushwork.job.records import Point

Line = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class LaidWords:
    """Words whose box touches ``at`` from the side that ``away`` (a unit vector) leads to.

    Without a direction their box has its middle there.
    """

    words: str
    at: Point
    away: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Laid:
    """The parts of a layout by name.

    ``room_mm`` is how wide the lines of a part, or the discs or holes at its places, may be before
    two of them meet.
    """

    areas: Mapping[str, MultiPolygon] = field(default_factory=dict)
    lines: Mapping[str, tuple[Line, ...]] = field(default_factory=dict)
    holes: Mapping[str, tuple[Point, ...]] = field(default_factory=dict)
    words: Mapping[str, tuple[LaidWords, ...]] = field(default_factory=dict)
    room_mm: Mapping[str, float] = field(default_factory=dict)

    @property
    def places(self) -> tuple[Point, ...]:
        """Every hole."""
        return tuple(itertools.chain.from_iterable(self.holes.values()))


def polar(radius_mm: float, angle_rad: float) -> Point:
    """Return a point by its distance from the middle and its angle, left about from the right."""
    return radius_mm * math.cos(angle_rad), radius_mm * math.sin(angle_rad)


def steps(count: int, pitch_mm: float) -> list[float]:
    """Return places of a row about its middle."""
    return [(at - (count - 1) / 2.0) * pitch_mm for at in range(count)]


def rows(counts: Sequence[int], pitch_x_mm: float, pitch_y_mm: float) -> tuple[Point, ...]:
    """Return places in rows, each about the same middle; the first row lies nearest."""
    return tuple(
        (x, y)
        for count, y in zip(counts, steps(len(counts), pitch_y_mm), strict=True)
        for x in steps(count, pitch_x_mm)
    )


def grid_lines(across: Sequence[float], up: Sequence[float]) -> tuple[Line, ...]:
    """Return the lines of a grid through these x and y."""
    return (
        *(((x, up[0]), (x, up[-1])) for x in across),
        *(((across[0], y), (across[-1], y)) for y in up),
    )


def box(left: float, low: float, right: float, high: float) -> Polygon:
    """Return a rectangle by its edges."""
    return Polygon([(left, low), (right, low), (right, high), (left, high)])


def outline(half_x_mm: float, half_y_mm: float, x_mm: float = 0.0) -> Line:
    """Return the closed line of a rectangle about a middle on the x axis."""
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
    return tuple((x_mm + a * half_x_mm, b * half_y_mm) for a, b in signs)


def discs(places: Iterable[Point], diameter_mm: float, tolerance_mm: float) -> MultiPolygon:
    """Return a disc at each place."""
    radius = diameter_mm / 2.0
    return united([Polygon(ellipse(x, y, radius, radius).points(tolerance_mm)) for x, y in places])


def areas(parts: Iterable[BaseGeometry]) -> MultiPolygon:
    """Return areas that may share edges or corners as one region, its corners on the grid."""
    return united([shapely.transform(part, _rounded) for part in parts])


def _rounded(points: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.round(points, GRID_DECIMALS)


def nearest_mm(places: Sequence[Point]) -> float:
    """Return how near the nearest two of some places are; endless for fewer than two."""
    points = np.array(places, dtype=np.float64).reshape(-1, 2)
    if len(points) < 2:
        return math.inf
    least = math.inf
    for at in range(1, len(points)):
        least = min(least, float(np.hypot(*(points[:at] - points[at]).T).min()))
    return least


@dataclass(frozen=True, slots=True)
class Station:
    """A place on the middle line of a track and the unit vector to its left."""

    x_mm: float
    y_mm: float
    left: Point

    def beside(self, offset_mm: float) -> Point:
        """Return the place so far to the left of it."""
        return self.x_mm + offset_mm * self.left[0], self.y_mm + offset_mm * self.left[1]


@dataclass(frozen=True, slots=True)
class Serpentine:
    """A track of straight runs, ``turn_mm`` the radius of the inner lane of its half turns.

    ``straight`` are places along a run, ``bend`` angles into a turn; both repeat run by run.
    ``middle`` is what becomes the zero, from the middle of all runs.
    """

    runs: int
    width_mm: float
    turn_mm: float
    run_mm: float
    straight: tuple[float, ...]
    bend: tuple[float, ...]
    middle: Point = (0.0, 0.0)

    @property
    def apart_mm(self) -> float:
        """From the middle line of a run to that of the next."""
        return 2.0 * self.turn_mm + self.width_mm

    def stations(self) -> list[Station]:
        """Return the places in their order along the track."""
        found: list[Station] = []
        for run in range(self.runs):
            found += [self.on_run(run, along) for along in self.straight]
            if run + 1 < self.runs:
                found += [self._in_turn(run, angle) for angle in self.bend]
        return found

    def on_run(self, run: int, along_mm: float) -> Station:
        """Return a place on a straight run; it may lie before its start or beyond its end."""
        way = 1.0 if run % 2 == 0 else -1.0
        return Station(
            way * (along_mm - self.run_mm / 2.0) - self.middle[0],
            (run - (self.runs - 1) / 2.0) * self.apart_mm - self.middle[1],
            (0.0, way),
        )

    def _in_turn(self, run: int, angle_rad: float) -> Station:
        way = 1.0 if run % 2 == 0 else -1.0
        radius = self.apart_mm / 2.0
        out = (way * math.sin(angle_rad), -math.cos(angle_rad))
        middle_y = (run + 1 - self.runs / 2.0) * self.apart_mm
        return Station(
            way * self.run_mm / 2.0 + radius * out[0] - self.middle[0],
            middle_y + radius * out[1] - self.middle[1],
            (-way * out[0], -way * out[1]),
        )


_HALVINGS: Final = 80


def half_turn(
    count: int, streets: int, pitch_mm: float, gap_mm: float
) -> tuple[float, list[float]]:
    """Return the radius of the half circle that takes streets of holes, and the holes' angles.

    Neighbours stand ``pitch_mm`` apart on it, streets ``gap_mm`` more, straight from hole to hole;
    half of such a gap is left at each end.  The radius solves: sum of 2 asin(chord / 2 r) = pi.
    """
    wide = pitch_mm + gap_mm

    def angle(chord: float, radius: float) -> float:
        return 2.0 * math.asin(min(1.0, chord / (2.0 * radius)))

    def turned(radius: float) -> float:
        return (count - streets) * angle(pitch_mm, radius) + streets * angle(wide, radius)

    low, high = wide / 2.0, count * wide
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if turned(middle) > math.pi else (low, middle)
    street = count // streets
    at, angles = angle(wide, high) / 2.0, list[float]()
    for hole in range(count):
        angles.append(at)
        at += angle(wide if (hole + 1) % street == 0 else pitch_mm, high)
    return high, angles
