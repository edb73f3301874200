"""A picture for each finding that has a place: the face cropped, or a section, the figure drawn."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.core.findings import Finding, Place
from flushwork.strata.section import BoardSection, section
from flushwork.strata.surfaces import Replay
from flushwork.views.book_records import Picture
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space, bar_length_mm, tint
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.section_drawing import HeightMark, SectionLook, section_drawing
from flushwork.views.figures import NO_BREAK, Lengths, clean, short

# ---- Where on the board a finding's figure can be seen: the stretch, or the height, that it
# measures
#
# The figure is looked for in what is drawn and in what the replay holds, near the finding's place.
# Nothing is drawn as measured that does not measure what the finding says.


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


# ---- A picture for each finding that has a place: the face cropped, or a section, the figure
# drawn


CROP: Final = Space(48.0, 32.0)
"""On paper: a third of a page's live area wide."""
SECTION: Final = Space(72.0, 36.0)
LEAST_ACROSS_MM: Final = 8.0
MOST_ACROSS_MM: Final = 36.0
TIMES: Final = 4.0
"""A crop is so many times as wide as what is measured in it."""
HALF_SECTION_MM: Final = 9.0
HALF_LINE_MM: Final = 2.5
UNDER_MM: Final = 0.8
"""Fine things are cut so far to both sides, and shown so far below their floor."""


@dataclass(frozen=True, slots=True)
class Places:
    """What the pictures are taken from: the faces drawn, the board as replayed, its colours."""

    arts: Mapping[str, FaceArt]
    replay: Replay | None
    look: SectionLook
    lengths: Lengths


def finding_picture(finding: Finding, places: Places) -> Picture | None:
    """Return the picture of a finding, None where it has no place on a worked face."""
    place = finding.place
    if place is None or place.face not in places.arts:
        return None
    if stands_upright(finding) and places.replay is not None and places.replay.states:
        return _sectioned(finding, place, places, places.replay)
    return _cropped(finding, place, places.arts[place.face], places.lengths)


def _figure(finding: Finding, lengths: Lengths) -> str:
    measure = finding.measure
    if measure is None:
        return ""
    if measure.unit == "mm":
        return lengths.say(measure.value, 3 if abs(measure.value) < 0.1 else 2)
    unit = f"{NO_BREAK}{clean(measure.unit)}" if measure.unit else ""
    return f"{short(measure.value)}{unit}"


def _sectioned(finding: Finding, place: Place, places: Places, replay: Replay) -> Picture:
    """Cut the finished board through the place, the way that shows more."""
    art = places.arts[place.face]
    face = art.name
    x, y = place.x_mm, place.y_mm
    half = HALF_LINE_MM if finding.code in SECTIONED else HALF_SECTION_MM
    ways = [
        section(replay.final, replay.spec, face, *ends)
        for ends in (((x - half, y), (x + half, y)), ((x, y - half), (x, y + half)))
    ]
    cut = max(ways, key=lambda way: float(np.ptp(way.near[0][1])))
    found = upright_of(finding, cut, half)
    figure = _figure(finding, places.lengths)
    mark = (
        HeightMark(found.along_mm, found.low_mm, found.high_mm, figure)
        if found is not None
        else None
    )
    alt = f"Section at the finding {finding.code}"
    under = cut.near[0][1][np.abs(cut.positions_mm - half) < UNDER_MM]
    floor_mm = float(under.min())
    return section_drawing(
        cut,
        places.look,
        SECTION,
        alt,
        mark=mark,
        small=True,
        inch=places.lengths.units == "inch",
        down_to_mm=floor_mm - UNDER_MM if finding.code in SECTIONED else -math.inf,
    )


def _cropped(finding: Finding, place: Place, art: FaceArt, lengths: Lengths) -> Picture:
    """Return the face around the place, with the figure as a dimension where it is a length."""
    found = stretch_of(finding, art)
    middle = (place.x_mm, place.y_mm)
    across = LEAST_ACROSS_MM * 2.0
    if found is not None:
        middle = (
            (found.begin[0] + found.end[0]) / 2.0,
            (found.begin[1] + found.end[1]) / 2.0,
        )
        across = min(max(TIMES * found.length_mm, LEAST_ACROSS_MM), MOST_ACROSS_MM)
    frame, window = _frame(art, middle, across)
    parts = [
        svg.shape("rect", x=0.0, y=0.0, width=CROP.width_mm, height=CROP.height_mm, fill="#ffffff"),
        _face(art, frame, window),
        svg.dimension(frame.place(*found.begin), frame.place(*found.end), _figure(finding, lengths))
        if found is not None
        else _cross(*frame.place(*middle)),
        _bar(across, frame.scale, inch=art.inch),
        svg.shape(
            "rect", x=0.1, y=0.1, width=CROP.width_mm - 0.2, height=CROP.height_mm - 0.2,
            fill="none", stroke=SOFT, stroke_width=0.2,
        ),
    ]  # fmt: skip
    alt = f"The {art.name} face at the finding {finding.code}"
    if found is not None:
        alt += f", {_figure(finding, lengths)} drawn as a dimension"
    drawn = svg.drawing(parts, CROP.width_mm, CROP.height_mm, alt)
    return Picture(alt, "", CROP.width_mm, CROP.height_mm, drawn)


def _frame(
    art: FaceArt, middle: tuple[float, float], across_mm: float
) -> tuple[svg.Frame, Polygon]:
    """Return the frame in which a piece of the face fills the crop, and that piece."""
    scale = CROP.width_mm / across_mm
    up_mm = CROP.height_mm / scale
    left, top = middle[0] - across_mm / 2.0, middle[1] + up_mm / 2.0
    frame = svg.Frame(
        art.length_mm, art.width_mm, scale, -left * scale, (top - art.width_mm) * scale
    )
    return frame, shapely.box(left, top - up_mm, left + across_mm, top)


def _face(art: FaceArt, frame: svg.Frame, window: Polygon) -> str:
    """Draw what lies in a window of the face: wood, inlays, holes, the trim line."""
    wood = shapely.box(0.0, 0.0, art.length_mm, art.width_mm)
    hair = {"stroke": INK, "stroke_width": frame.line(0.12)}
    parts = [svg.path(_clipped(wood, window), fill=tint(art.wood, 0.45))]
    parts += [
        svg.path(_clipped(inlay.region, window), fill=inlay.colour, fill_rule="evenodd", **hair)
        for inlay in art.inlays
        if shapely.intersects(inlay.region, window)
    ]
    edge = svg.line_path(shapely.clip_by_rect(art.trim.boundary, *window.bounds))
    dashes = f"{frame.line(1.6)} {frame.line(0.8)}"
    parts.append(
        svg.path(
            edge, fill="none", stroke=INK, stroke_width=frame.line(0.25), stroke_dasharray=dashes
        )
    )
    found = svg.group([part for part in parts if part], transform=frame.matrix)
    return found + _holes(art, frame, window)


def _clipped(region: MultiPolygon | Polygon, window: Polygon) -> str:
    left, low, right, top = window.bounds
    return svg.region_path(shapely.clip_by_rect(region, left, low, right, top))


def _holes(art: FaceArt, frame: svg.Frame, window: Polygon) -> str:
    """Draw the holes that lie wholly in a window, and those it cuts as far as it shows them."""
    left, low, right, top = window.bounds
    parts: list[str] = []
    for hole in art.holes:
        radius = hole.holes.diameter_mm / 2.0
        away = math.hypot(
            max(left - hole.x_mm, 0.0, hole.x_mm - right),
            max(low - hole.y_mm, 0.0, hole.y_mm - top),
        )
        if away < radius:
            x, y = frame.place(hole.x_mm, hole.y_mm)
            parts.append(svg.shape("circle", cx=x, cy=y, r=radius * frame.scale))
    return svg.group(parts, fill="#ffffff", stroke=INK, stroke_width="0.2") if parts else ""


def _cross(x: float, y: float) -> str:
    """Draw a ring with four hairs at a place that no length is drawn at."""
    hairs = f"M{x - 5:.2f} {y:.2f}h3m4 0h3M{x:.2f} {y - 5:.2f}v3m0 4v3"
    return "".join(
        svg.path(hairs, fill="none", stroke=colour, stroke_width=f"{wide:g}")
        + svg.shape("circle", cx=x, cy=y, r=2.0, fill="none", stroke=colour, stroke_width=wide)
        for colour, wide in (("#ffffff", 1.0), (svg.MEASURED, 0.35))
    )


def _bar(across_mm: float, scale: float, *, inch: bool) -> str:
    bar = bar_length_mm(across_mm / 3.0, inch=inch)
    on_paper = bar * scale
    x, y = 2.0, CROP.height_mm - 2.0
    line = f"M{x:.2f} {y - 0.8:.2f}v1.6m0-.8h{on_paper:.2f}m0-.8v1.6"
    figure = f"{short(bar, 4)}{NO_BREAK}mm"
    wide = 1.5 * len(figure)
    return (
        svg.shape(
            "rect", x=x - 0.8, y=y - 1.9, width=on_paper + wide + 3.0, height=3.2, fill="#ffffff",
            fill_opacity="0.85", rx=0.5,
        )
        + svg.path(line, fill="none", stroke=INK, stroke_width="0.25")
        + svg.words(figure, x + on_paper + 1.2, y + 0.9, svg.WORD_MM)
    )  # fmt: skip
