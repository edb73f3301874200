"""The true-size outline sheet: trim line, inlays and holes at 1:1, in tiles of a page's live area.

Every tile carries a bar of 50 mm or of 2 in, so that a printer that scales shows itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import box

from flushwork.core.units.kinds import INCH_MM
from flushwork.views.book_records import Picture, SheetView
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.figures import NO_BREAK

OVERLAP_MM: Final = 10.0
"""Strip that neighbouring tiles share, wide enough for tape."""

FOOT_MM: Final = 16.0
"""Room for the check bars under each tile."""

HEAD_MM: Final = 15.0
"""Room for the heading of each tile."""

METRIC_BAR_MM: Final = 50.0
INCH_BAR_MM: Final = 2.0 * INCH_MM
BAR_COLOUR: Final = "#101010"
CROSS_MM: Final = 4.0


@dataclass(frozen=True, slots=True)
class Tiling:
    """How many tiles a sheet needs each way, and the wood each shows, in mm."""

    columns: int
    rows: int
    across_mm: float
    up_mm: float
    landscape: bool


def tiling(length_mm: float, width_mm: float, upright: Space) -> Tiling:
    """Return the fewest tiles for a blank, page upright or turned; upright where equal."""
    choices = []
    for landscape in (False, True):
        wide = upright.height_mm if landscape else upright.width_mm
        high = (upright.width_mm if landscape else upright.height_mm) - FOOT_MM - HEAD_MM
        columns, rows = _count(length_mm, wide), _count(width_mm, high)
        choices.append(Tiling(columns, rows, wide, high, landscape))
    return min(choices, key=lambda choice: (choice.columns * choice.rows, choice.landscape))


def _count(extent_mm: float, room_mm: float) -> int:
    if extent_mm <= room_mm:
        return 1
    return math.ceil((extent_mm - OVERLAP_MM) / (room_mm - OVERLAP_MM))


def outline_sheet(art: FaceArt, upright: Space, *, inch: bool = False) -> SheetView:
    """Return the tiles of one face; ``upright`` is the live area of the page held upright.

    The bar to measure is of 50 mm, or with ``inch`` of 2 in.
    """
    plan = tiling(art.length_mm, art.width_mm, upright)
    tiles = tuple(
        _tile(art, plan, column, row, inch=inch)
        for row in reversed(range(plan.rows))
        for column in range(plan.columns)
    )
    if len(tiles) == 1:
        note = "One sheet."
    else:
        note = (
            f"{len(tiles)} sheets, {plan.columns} across and {plan.rows} up. Neighbours share a "
            f"strip {OVERLAP_MM:.0f}{NO_BREAK}mm wide: lay cross on cross and tape."
        )
    return SheetView(
        heading=f"{art.name.capitalize()} face at true size",
        note=f"{note} Print at 100 %, without fitting to the page, and measure the bar first.",
        landscape=plan.landscape,
        tiles=tiles,
    )


def _tile(art: FaceArt, plan: Tiling, column: int, row: int, *, inch: bool) -> Picture:
    left = column * (plan.across_mm - OVERLAP_MM)
    low = row * (plan.up_mm - OVERLAP_MM)
    right = min(left + plan.across_mm, art.length_mm)
    top = min(low + plan.up_mm, art.width_mm)
    window = box(left, low, right, top)
    width, height = right - left, top - low + FOOT_MM
    width = max(width, INCH_BAR_MM + 30.0)
    frame = svg.Frame(art.length_mm, art.width_mm, 1.0, -left, top - art.width_mm)
    parts = [
        _lines(art, frame, window),
        *(
            _hole(frame, hole.x_mm, hole.y_mm, hole.holes.diameter_mm)
            for hole in art.holes
            if left - 1 <= hole.x_mm <= right + 1 and low - 1 <= hole.y_mm <= top + 1
        ),
        _crosses(plan, column, row, right - left, top - low),
        check_bar(top - low + 5.0, inch=inch),
    ]
    name = f"{art.name.capitalize()} face, sheet {_name(column, row)}"
    if plan.columns * plan.rows == 1:
        name = f"{art.name.capitalize()} face"
    alt = f"{name}: outline at true size with a bar to measure"
    return Picture(alt, name, width, height, svg.drawing(parts, width, height, alt))


def _name(column: int, row: int) -> str:
    return f"{chr(ord('A') + column)}{row + 1}"


def _lines(art: FaceArt, frame: svg.Frame, window: shapely.Polygon) -> str:
    """Blank, trim line and inlays as lines, cut off at the tile's edge."""
    blank = shapely.LineString(box(0, 0, art.length_mm, art.width_mm).exterior.coords)
    inlays = (
        svg.path(
            svg.line_path(svg.edges(inlay.region).intersection(window)),
            stroke=INK,
            stroke_width=frame.line(0.15),
        )
        for inlay in art.inlays
    )
    return svg.group(
        (
            svg.path(
                svg.line_path(blank.intersection(window)),
                stroke=SOFT,
                stroke_width=frame.line(0.2),
            ),
            svg.path(
                svg.line_path(svg.edges(art.trim).intersection(window)),
                stroke=INK,
                stroke_width=frame.line(0.35),
                stroke_dasharray=f"{frame.line(3.0)} {frame.line(1.0)}",
            ),
            *inlays,
        ),
        transform=frame.matrix,
        fill="none",
    )


def _hole(frame: svg.Frame, x_mm: float, y_mm: float, diameter_mm: float) -> str:
    """Draw a hole's rim and a cross at its centre, to prick through."""
    x, y = frame.place(x_mm, y_mm)
    reach = max(diameter_mm / 2.0 - 0.3, 0.6)
    cross = f"M{x - reach:.2f} {y:.2f}h{2 * reach:.2f}m{-reach:.2f} {-reach:.2f}v{2 * reach:.2f}"
    return svg.shape(
        "circle", cx=x, cy=y, r=diameter_mm / 2.0, fill="none", stroke=INK, stroke_width=0.15
    ) + svg.path(cross, fill="none", stroke=INK, stroke_width="0.1")


def _crosses(plan: Tiling, column: int, row: int, width_mm: float, height_mm: float) -> str:
    """Crosses on the middle of each shared strip; they fall on the same wood on both tiles."""
    half = OVERLAP_MM / 2.0
    marks: list[tuple[float, float]] = []
    if column > 0:
        marks += [(half, height_mm * share) for share in (0.15, 0.5, 0.85)]
    if column < plan.columns - 1:
        marks += [(width_mm - half, height_mm * share) for share in (0.15, 0.5, 0.85)]
    if row > 0:
        marks += [(width_mm * share, height_mm - half) for share in (0.15, 0.5, 0.85)]
    if row < plan.rows - 1:
        marks += [(width_mm * share, half) for share in (0.15, 0.5, 0.85)]
    half_cross = CROSS_MM / 2.0
    arms = f"h{CROSS_MM:g}m{-half_cross:g} {-half_cross:g}v{CROSS_MM:g}"
    data = "".join(f"M{x - half_cross:.2f} {y:.2f}{arms}" for x, y in marks)
    return svg.path(data, fill="none", stroke="#b4552d", stroke_width="0.2")


def check_bar(y_mm: float, *, inch: bool) -> str:
    """Draw the 50 mm or the 2 in bar as a filled rectangle of exactly that length."""
    left = 0.5
    length, words = (INCH_BAR_MM, f"2{NO_BREAK}in") if inch else (METRIC_BAR_MM, f"50{NO_BREAK}mm")
    return _bar(left, y_mm, length, words) + svg.words(
        "measure it before use", left, y_mm + 8.6, svg.WORD_MM, fill=SOFT
    )


def _bar(x_mm: float, y_mm: float, length_mm: float, text: str) -> str:
    ends = f"M{x_mm:.2f} {y_mm - 1.5:.2f}v4.2M{x_mm + length_mm:.2f} {y_mm - 1.5:.2f}v4.2"
    return (
        svg.shape("rect", x=x_mm, y=y_mm, width=length_mm, height=1.2, fill=BAR_COLOUR)
        + svg.path(ends, fill="none", stroke=BAR_COLOUR, stroke_width="0.15")
        + svg.words(text, x_mm + length_mm / 2.0, y_mm + 5.0, 3.0, anchor="middle")
    )
