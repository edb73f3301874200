"""Hole patterns to places on a face, numbered in reading order.

A file of points: one ``x, y`` to a line, in mm or in the unit its first line names.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from flushwork.art.board_frame import PiecePlace
from flushwork.art.drawn import Box, DrawnHoles, Hole
from flushwork.art.faults import Faults, folder_of, refusal
from flushwork.art.layouts.draw_layout import layout_places
from flushwork.art.placement import placed_maps
from flushwork.core.findings import Source
from flushwork.job.records import (
    ArcHoles,
    GridHoles,
    Holes,
    LayoutHoles,
    LineHoles,
    Point,
    PointHoles,
)

UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4}
"""Exact (NIST Special Publication 811, appendix B)."""

MOST_POINTS: Final = 100_000
_FARTHEST_MM: Final = 10_000.0
_PARTED: Final = re.compile(r"\s*[,;\t]\s*|\s+")
_HEADER: Final = re.compile(r"(?:x\W+y\W*)?(mm|cm|in|inch)?\W*$", re.IGNORECASE)


def read_points(path: Path, source: Source) -> tuple[Point, ...]:
    """Return the points of a file in mm; raises JobRefusedError as ``points_in``."""
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise refusal(
            source,
            "points-file-not-found",
            f"the file of points {path.name} is not there or is no text, in {folder_of(path)}",
            "put the file beside the job, one `x, y` to a line",
        ) from None
    return points_in(text, path.name, source)


def points_in(text: str, name: str, source: Source) -> tuple[Point, ...]:
    """Return the points of a list in mm; ``name`` is the file it stands in.

    Blank lines and lines from ``#`` on do not count.  The first other line may be a header such as
    ``x, y`` or ``x, y, in`` or ``unit: in``.  Raises JobRefusedError that names each faulty line.
    """
    faults = Faults()
    points: list[Point] = []
    factor_mm: float | None = None
    for number, whole in enumerate(text.splitlines(), start=1):
        line = whole.partition("#")[0].strip()
        if not line:
            continue
        if factor_mm is None:
            unit = _header_unit(line)
            factor_mm = UNITS_MM[unit or "mm"]
            if unit is not None:
                continue
        place = _point(line, factor_mm)
        if place is None:
            faults.add(
                Source(name, number, 1, ""),
                "points-file-line-unreadable",
                f"line {number} of {name} is '{line[:40]}', which is no place on a board",
                "write two numbers, right and up, such as 12.5, 40",
            )
        else:
            points.append(place)
    faults.refuse()
    if not points or len(points) > MOST_POINTS:
        raise refusal(
            source,
            "points-file-empty" if not points else "points-file-too-long",
            f"the file of points {name} holds {len(points) or 'no'} points",
            f"write one `x, y` to a line, at most {MOST_POINTS} of them",
        )
    return tuple(points)


def is_points(text: str) -> bool:
    """Return whether a text is a list of points: its first line that counts is one, or a header."""
    lines = (line.partition("#")[0].strip() for line in text.splitlines())
    first = next((line for line in lines if line), "")
    header = any(map(str.isalpha, first)) and _header_unit(first) is not None
    return header or _point(first, 1.0) is not None


def _header_unit(line: str) -> str | None:
    """Return the unit a header names (mm where it names none), None for a line of numbers."""
    words = line.lower().removeprefix("units").removeprefix("unit").strip(" :=")
    match = _HEADER.match(words)
    return (match[1] or "mm") if match else None


def _point(line: str, factor_mm: float) -> Point | None:
    words = [word for word in _PARTED.split(line) if word]
    if len(words) != 2:
        return None
    try:
        x_mm, y_mm = (float(word) * factor_mm for word in words)
    except ValueError:
        return None
    # written so that a number that is none fails, too
    honest = abs(x_mm) <= _FARTHEST_MM and abs(y_mm) <= _FARTHEST_MM
    return (x_mm, y_mm) if honest else None


SAME_PLACE_MM: Final = 0.01
"""Two holes nearer than this are one hole typed twice: far below any drill's own wander
(assumed)."""

_NOWHERE: Final[Box] = (0.0, 0.0, 0.0, 0.0)


def draw_holes(holes: Holes, folder: Path, spots: Sequence[PiecePlace]) -> DrawnHoles:
    """Return a pattern's holes on its face, on each of the pieces that it goes on.

    The pattern's own origin (a grid's middle, an arc's centre, the zero of typed points) lands on
    the anchor plus the offset.  Raises JobRefusedError for a pattern without holes, with holes in
    one place, or a file that cannot be read.
    """
    own = np.array(_pattern(holes, folder), dtype=np.float64).reshape(-1, 2)
    if not len(own):
        raise refusal(
            holes.source,
            "holes-without-places",
            f"the pattern {holes.name} has no hole left in it",
            "give it a hole at least, or leave the pattern out",
        )
    # the origin is the pattern's place, whatever is left out of the pattern
    placement = replace(holes.placement, as_drawn=True)
    maps = [
        each if spot.to_face is None else spot.to_face.after(each)
        for spot in spots
        for each in placed_maps(placement, _NOWHERE, spot.onto)
    ]
    places = np.concatenate([each.apply(own) for each in maps])
    _refuse_doubles(holes, places)
    ordered = reading_order([(float(x), float(y)) for x, y in places], holes.diameter_mm / 2.0)
    return DrawnHoles(
        holes, tuple(Hole(number, x, y) for number, (x, y) in enumerate(ordered, start=1))
    )


def reading_order(places: Sequence[Point], row_mm: float) -> list[Point]:
    """Return places as a page is read: rows from the top, each from the left.

    A row holds what lies within ``row_mm`` below its topmost hole.
    """
    left = sorted(places, key=lambda place: (-place[1], place[0]))
    ordered: list[Point] = []
    row: list[Point] = []
    for place in left:
        if row and row[0][1] - place[1] > row_mm:
            ordered += sorted(row)
            row = []
        row.append(place)
    return ordered + sorted(row)


def _pattern(holes: Holes, folder: Path) -> Sequence[Point]:
    pattern = holes.pattern
    match pattern:
        case GridHoles():
            return _grid(pattern)
        case LineHoles():
            return _line(pattern, holes)
        case ArcHoles():
            return _arc(pattern)
        case PointHoles():
            read = read_points(folder / pattern.file, holes.source) if pattern.file else ()
            return (*pattern.points, *read)
        case LayoutHoles():
            return layout_places(pattern, holes)


def _grid(grid: GridHoles) -> list[Point]:
    """Return a grid about its middle; column and row count from 1 at the lower left."""
    skipped = set(grid.skip)
    return [
        (
            (column - (grid.columns + 1) / 2.0) * grid.pitch_x_mm,
            (row - (grid.rows + 1) / 2.0) * grid.pitch_y_mm,
        )
        for row in range(1, grid.rows + 1)
        for column in range(1, grid.columns + 1)
        if (column, row) not in skipped
    ]


def _line(line: LineHoles, holes: Holes) -> list[Point]:
    """Return holes from start to end; the gaps between groups come off the even spacing."""
    if line.count < 2:
        return [line.start] * max(0, line.count)
    length_mm = math.dist(line.start, line.end)
    gaps = (line.count - 1) // line.group if line.group > 0 else 0
    pitch_mm = (length_mm - gaps * line.gap_mm) / (line.count - 1)
    if pitch_mm <= SAME_PLACE_MM:
        raise refusal(
            holes.source,
            "hole-line-too-short",
            f"the line of {holes.name} is {length_mm:g} mm long; its {gaps} gaps of "
            f"{line.gap_mm:g} mm leave no room for {line.count} holes",
            "make the line longer, or the gap or the number of holes smaller",
        )
    steps = np.arange(line.count)
    along = steps * pitch_mm + (steps // line.group * line.gap_mm if line.group > 0 else 0.0)
    shares = along / length_mm
    return [
        (
            line.start[0] + float(share) * (line.end[0] - line.start[0]),
            line.start[1] + float(share) * (line.end[1] - line.start[1]),
        )
        for share in shares
    ]


def _arc(arc: ArcHoles) -> list[Point]:
    """Return holes on an arc; a whole turn is shared out without a hole at its end."""
    whole = abs(arc.sweep_rad) >= 2.0 * math.pi - 1e-9
    steps = arc.count if whole else max(1, arc.count - 1)
    angles = [arc.start_rad + arc.sweep_rad * index / steps for index in range(arc.count)]
    radius_mm = arc.diameter_mm / 2.0
    return [(radius_mm * math.cos(angle), radius_mm * math.sin(angle)) for angle in angles]


def _refuse_doubles(
    holes: Holes, places: np.ndarray[tuple[int, int], np.dtype[np.float64]]
) -> None:
    order = np.lexsort((places[:, 1], places[:, 0]))
    by_x = places[order]
    reach = np.searchsorted(by_x[:, 0], by_x[:, 0] + SAME_PLACE_MM, side="right")
    for index, until in enumerate(reach):
        near = np.hypot(*(by_x[index + 1 : until] - by_x[index]).T) < SAME_PLACE_MM
        if near.any():
            x_mm, y_mm = by_x[index]
            raise refusal(
                holes.source,
                "holes-in-one-place",
                f"two holes of {holes.name} lie in one place, at {x_mm:.2f}, {y_mm:.2f} mm "
                "of the face",
                "leave one of them out, or space the pattern wider",
            )
