"""Where on the board a finding's figure can be seen: the stretch, or the height, that it measures.

The figure is looked for in what is drawn and in what the replay holds, near the finding's place.
Nothing is drawn as measured that does not measure what the finding says.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.core.findings import Finding
from flushwork.strata.section import BoardSection
from flushwork.views.drawing.face_art import FaceArt

NEAR_MM: Final = 6.0
"""A figure is looked for this far around its place."""
OFF_MM: Final = 0.06
OFF_SHARE: Final = 0.03
"""What measures within this of the figure is what the finding speaks of."""
BEARINGS: Final = 36
BESIDE_MM: Final = 2.5
"""A height is looked for this far along the section to both sides of its place."""
IN_HEIGHT: Final = frozenset(
    {
        "wood between faces",
        "wood between faces otherwise",
        "floor",
        "first colour left",
        "thickness",
        "depth",
        "pour depth",
    }
)
"""Measures that stand upright, and are seen in a section."""
SECTIONED: Final = frozenset(
    {"sanded-away", "thinned-by-sanding", "engraving-shallow", "cap-too-thin", "flush-milling-off",
     "cut-depth-off", "second-pass-through"}
)  # fmt: skip
"""Findings that are seen in a section whatever they measure."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A straight stretch on a face, mm."""

    begin: tuple[float, float]
    end: tuple[float, float]

    @property
    def length_mm(self) -> float:
        """How long it is."""
        return math.dist(self.begin, self.end)


@dataclass(frozen=True, slots=True)
class Upright:
    """A stretch of height in a section: where along it, from where to where."""

    along_mm: float
    low_mm: float
    high_mm: float


def stands_upright(finding: Finding) -> bool:
    """Whether a finding is seen in a section rather than on the face."""
    measure = finding.measure
    return finding.code in SECTIONED or (measure is not None and measure.name in IN_HEIGHT)


def _near(found: float, wanted: float) -> bool:
    return abs(found - wanted) <= max(OFF_MM, OFF_SHARE * abs(wanted))


def stretch_of(finding: Finding, art: FaceArt) -> Stretch | None:
    """Return the stretch on the face that measures what a finding says, the nearest to its place.

    None where the figure is no length, or nothing there is so long.
    """
    place, measure = finding.place, finding.measure
    if place is None or measure is None or measure.unit != "mm" or measure.value <= 0.0:
        return None
    spot = Point(place.x_mm, place.y_mm)
    for around_mm in (measure.value / 2.0 + 0.3, NEAR_MM / 2.0, NEAR_MM):
        lines = [
            line
            for line in (*_gaps(art, spot, around_mm), *_chords(art, spot))
            if _near(line.length, measure.value)
        ]
        if lines:
            best = min(lines, key=partial(_off, spot, measure.value))
            begin, end = best.coords[0], best.coords[-1]
            return Stretch((begin[0], begin[1]), (end[0], end[1]))
    return None


def _off(spot: Point, wanted_mm: float, line: LineString) -> float:
    return float(line.distance(spot)) + abs(line.length - wanted_mm)


def parts_near(art: FaceArt, spot: Point, around_mm: float) -> list[Polygon]:
    """Return the parts of inlays and the holes of a face near a place."""
    found = [
        part
        for inlay in art.inlays
        for part in inlay.region.geoms
        if part.distance(spot) < around_mm
    ]
    for hole in art.holes:
        middle, radius = Point(hole.x_mm, hole.y_mm), hole.holes.diameter_mm / 2.0
        if middle.distance(spot) < around_mm + radius:
            found.append(middle.buffer(radius))
    return found


def _gaps(art: FaceArt, spot: Point, around_mm: float) -> Iterator[LineString]:
    """Yield the shortest lines between what lies near a place, the board's edges included."""
    window = spot.buffer(around_mm)
    parts = [part.intersection(window) for part in parts_near(art, spot, around_mm)]
    parts = [part for part in parts if not part.is_empty]
    edges: list[BaseGeometry] = [shapely.box(0.0, 0.0, art.length_mm, art.width_mm).exterior]
    edges += [part.exterior for part in art.trim.geoms]
    for index, part in enumerate(parts):
        for other in (*parts[:index], *edges):
            if part.distance(other) > 0.0:
                yield shapely.shortest_line(part, other)


def _chords(art: FaceArt, spot: Point) -> Iterator[LineString]:
    """Yield straight runs through a place within whatever it lies in."""
    parts = parts_near(art, spot, 0.5)
    for turn in range(BEARINGS):
        bearing = math.pi * turn / BEARINGS
        run = (NEAR_MM * math.cos(bearing), NEAR_MM * math.sin(bearing))
        ray = LineString([(spot.x - run[0], spot.y - run[1]), (spot.x + run[0], spot.y + run[1])])
        for part in parts:
            for piece in shapely.get_parts(part.intersection(ray)):
                if isinstance(piece, LineString) and piece.distance(spot) < 0.5:
                    yield piece


def upright_of(finding: Finding, cut: BoardSection, middle_mm: float) -> Upright | None:
    """Return the height in a section that measures what a finding says, nearest its place."""
    measure = finding.measure
    if measure is None or measure.unit != "mm" or measure.value <= 0.0:
        return None
    beside = np.abs(cut.positions_mm - middle_mm)
    columns = np.flatnonzero((beside <= BESIDE_MM) & ~cut.hole)
    for column in columns[np.argsort(beside[columns], kind="stable")].tolist():
        for low, high in _heights(cut, column):
            if high > low and _near(high - low, measure.value):
                return Upright(float(cut.positions_mm[column]), low, high)
    return None


def _heights(cut: BoardSection, column: int) -> Iterator[tuple[float, float]]:
    near = [float(heights[column]) for _, heights in cut.near]
    far = [float(heights[column]) for _, heights in cut.far]
    face = max(float(heights.max()) for _, heights in cut.near[:1])
    yield far[0], near[0]  # the wood between the faces
    yield from itertools.pairwise(near)  # each layer
    yield near[0], near[-1]  # the whole fill
    yield near[0], face  # the depth of the cut
