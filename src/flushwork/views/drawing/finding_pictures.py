"""A picture for each finding that has a place: the face cropped, or a section, the figure drawn."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from flushwork.core.findings import Finding, Place
from flushwork.strata.section import section
from flushwork.strata.surfaces import Replay
from flushwork.views.book_records import Picture
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space, bar_length_mm, tint
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.measured_places import (
    SECTIONED,
    stands_upright,
    stretch_of,
    upright_of,
)
from flushwork.views.drawing.section_drawing import HeightMark, SectionLook, section_drawing
from flushwork.views.figures import NO_BREAK, Lengths, clean, short

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
