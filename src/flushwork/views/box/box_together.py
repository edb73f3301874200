"""The box and its board together, seen from the near right corner: the board lifted off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from shapely import Polygon, get_parts
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from flushwork.job.records import HeldHow
from flushwork.views.book_records import Picture
from flushwork.views.drawing.drawing_marks import INK, Space, shade, tint
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.svg import GRID_PER_MM, drawing, group, path, shape
from flushwork.wood.box_dividers import divider_middles_mm
from flushwork.wood.box_sizes import BoxBoard, MadeBox

Point = tuple[float, float, float]
Span = tuple[float, float]

ALONG, AWAY, UP = (0.87, 0.25), (0.48, -0.42), (0.0, -0.85)
"""On paper, y down: a millimetre along the board's length, across it, and upwards."""
LIFT: Final = 0.22
"""How far the board is lifted, as a share of the longer side."""
ART: Final = "#35618a"


@dataclass(frozen=True, slots=True)
class Oblique:
    """How a point of the box comes onto paper: an oblique view, to one scale along each way."""

    scale: float
    left_mm: float
    top_mm: float

    def at(self, x: float, y: float, z: float) -> tuple[float, float]:
        """Return the place on paper of a point, mm along, across and above the base."""
        across, down = (
            along * x + away * y + up * z for along, away, up in zip(ALONG, AWAY, UP, strict=True)
        )
        return self.left_mm + across * self.scale, self.top_mm + down * self.scale

    def area(self, *points: Point) -> Polygon:
        """Return a polygon on paper."""
        return Polygon([self.at(*point) for point in points])

    def front(self, x: Span, z: Span, y: float) -> Polygon:
        """Return a rectangle on a face that looks at us along the length."""
        return self.area((x[0], y, z[0]), (x[1], y, z[0]), (x[1], y, z[1]), (x[0], y, z[1]))

    def right(self, y: Span, z: Span, x: float) -> Polygon:
        """Return a rectangle on a face that looks to the right."""
        return self.area((x, y[0], z[0]), (x, y[1], z[0]), (x, y[1], z[1]), (x, y[0], z[1]))

    def level(self, x: Span, y: Span, z: float) -> Polygon:
        """Return a level rectangle."""
        return self.area((x[0], y[0], z), (x[1], y[0], z), (x[1], y[1], z), (x[0], y[1], z))


def _filled(area: BaseGeometry, fill: str, line_mm: float = 0.25) -> str:
    """Draw polygons on paper, with a fine line around them."""
    rings = [
        list(ring.coords)
        for part in get_parts(area).tolist()
        if isinstance(part, Polygon) and not part.is_empty
        for ring in (part.exterior, *part.interiors)
    ]
    data = "".join("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in ring) + "z" for ring in rings)
    return path(
        data, fill=fill, fill_rule="evenodd", stroke=INK, stroke_width=f"{line_mm:g}",
        stroke_linejoin="round",
    )  # fmt: skip


def together_drawing(made: MadeBox, art: FaceArt, colour: str, space: Space) -> Picture | None:
    """Return box and board, None where the walls lean or hold no board."""
    board, box = made.board, made.box
    if board is None or box.lean_rad:
        return None
    long, wide = made.outside_mm
    high = box.height_mm
    lift = high + LIFT * max(long, wide)
    top = lift + board.thick_mm
    wide_on, high_on = (
        ALONG[0] * long + AWAY[0] * wide,
        ALONG[1] * long - AWAY[1] * wide - UP[1] * top,
    )
    scale = min(space.width_mm / wide_on, space.height_mm / high_on)
    seen = Oblique(scale, 0.0, (-AWAY[1] * wide - UP[1] * top) * scale)
    parts = [*_walls(made, seen, colour), *_fittings(made, seen)]
    parts += _board(made, board, art, seen, lift)
    alt = "The box and its board together, the board lifted off"
    width, height = wide_on * scale, high_on * scale
    drawn = drawing(parts, width, height, alt)
    return Picture(alt, "Box and board", width, height, svg=drawn)


def _walls(made: MadeBox, seen: Oblique, colour: str) -> Iterator[str]:
    """Draw the rim, what is seen through it, then the two walls that look at us."""
    box, wall, high = made.box, made.box.wall_mm, made.box.height_mm
    long, wide = made.outside_mm
    held = box.board
    rebate = held is not None and held.how is HeldHow.REBATE
    ledge = held.from_base_mm if held is not None and rebate else high
    rim = wall - (made.into_mm if rebate else 0.0)
    floor = box.bottom.from_base_mm + box.bottom.width_mm if box.bottom else 0.0
    opening = seen.level((rim, long - rim), (rim, wide - rim), high)
    inner = (wall, long - wall), (wall, wide - wall)
    hole = seen.level(*inner, ledge).intersection(opening)
    yield _filled(seen.level((0.0, long), (0.0, wide), high).difference(opening), tint(colour, 0.3))
    yield _filled(hole, shade(colour, 0.3))
    below = (floor, ledge)
    yield _filled(seen.right(inner[1], below, wall).intersection(hole), shade(colour, 0.18))
    yield _filled(seen.front(inner[0], below, wide - wall).intersection(hole), tint(colour, 0.05))
    for area, fill in _dividers(made, seen, floor):
        yield _filled(area.intersection(hole), fill, 0.15)
    if rebate:
        ring = seen.level((rim, long - rim), (rim, wide - rim), ledge).intersection(opening)
        yield _filled(ring.difference(hole), tint(colour, 0.4))
        above = (ledge, high)
        side = seen.right((rim, wide - rim), above, rim).intersection(opening)
        yield _filled(side, shade(colour, 0.1))
        back = seen.front((rim, long - rim), above, wide - rim).intersection(opening)
        yield _filled(back, tint(colour, 0.15))
    yield _filled(seen.front((0.0, long), (0.0, high), 0.0), tint(colour, 0.2))
    yield _filled(seen.right((0.0, wide), (0.0, high), long), shade(colour, 0.08))


def _dividers(made: MadeBox, seen: Oblique, floor: float) -> Iterator[tuple[BaseGeometry, str]]:
    """Yield the faces of the dividers that are seen, the farthest first, each with its colour."""
    dividers, (inside_x, inside_y) = made.box.dividers, made.inside_mm
    if dividers is None:
        return
    wall, half = made.box.wall_mm, dividers.thickness_mm / 2.0
    xs = divider_middles_mm(inside_x, dividers.across, 2.0 * half)
    ys = divider_middles_mm(inside_y, dividers.along, 2.0 * half)
    ends_x = [0.0, *(at for x in xs for at in (x - half, x + half)), inside_x]
    ends_y = [0.0, *(at for y in ys for at in (y - half, y + half)), inside_y]
    spans_x, spans_y = list(pairwise(ends_x)), list(pairwise(ends_y))
    boards = [(x, (y - half, y + half), True) for y in ys for x in spans_x]
    boards += [((x - half, x + half), y, False) for x in xs for y in spans_y]
    colour, up = dividers.wood.colour, (floor, floor + dividers.height_mm)
    for x, y, along in sorted(boards, key=lambda each: (-sum(each[1]), sum(each[0]))):
        on_x, on_y = (wall + x[0], wall + x[1]), (wall + y[0], wall + y[1])
        if along:
            yield seen.front(on_x, up, on_y[0]), tint(colour, 0.1)
        else:
            yield seen.right(on_y, up, on_x[1]), shade(colour, 0.12)
        yield seen.level(on_x, on_y, up[1]), tint(colour, 0.4)


def _fittings(made: MadeBox, seen: Oblique) -> Iterator[str]:
    """Draw art, splines and the lid cut on the two walls that look at us."""
    box = made.box
    long, wide = made.outside_mm

    def both(begin: float, end: float | None, z: Span, fill: str) -> Iterator[str]:
        for size, on in ((long, seen.front), (wide, seen.right)):
            at = 0.0 if on == seen.front else long
            stop = size - begin if end is None else end
            if stop > begin:
                yield _filled(on((begin, stop), z, at), fill, 0.15)
            if end is not None:
                yield _filled(on((size - end, size - begin), z, at), fill, 0.15)

    for art in box.art:
        yield from both(art.from_corner_mm, None, (art.from_base_mm, art.to_mm), ART)
    if box.splines is not None:
        half = box.splines.thickness_mm / 2.0
        for at in box.splines.heights_mm:
            fill = made.spline_colour
            yield from both(0.0, made.shows_mm, (at - half, at + half), fill)
    if box.lid is not None:
        yield from both(0.0, None, (box.lid.low_mm, box.lid.high_mm), "#ffffff")


def _board(
    made: MadeBox, board: BoxBoard, art: FaceArt, seen: Oblique, lift: float
) -> Iterator[str]:
    """Draw the board above its box: its two edges, and its face with all that is inlaid."""
    long, wide = made.outside_mm
    x0, y0 = (long - board.size_mm[0]) / 2.0, (wide - board.size_mm[1]) / 2.0
    outer, top = art.trim, lift + board.thick_mm
    west, south, _, _ = outer.bounds

    def outline(z: float) -> Polygon:
        ring = max(outer.geoms, key=lambda part: part.area).exterior
        return seen.area(*((x0 + x - west, y0 + y - south, z) for x, y in ring.coords))

    low, high = outline(lift), outline(top)
    steps = 24
    edge = unary_union([outline(lift + board.thick_mm * at / steps) for at in range(steps + 1)])
    yield _filled(unary_union([low, high, edge]), shade(art.wood, 0.25))
    origin = seen.at(x0 - west, y0 - south, top)
    step = seen.scale / GRID_PER_MM
    (a, b), (c, d) = ((way[0] * step, way[1] * step) for way in (ALONG, AWAY))
    matrix = f"matrix({a:.6g} {b:.6g} {c:.6g} {d:.6g} {origin[0]:.3f} {origin[1]:.3f})"
    inlaid = [path(each.path, fill=each.colour, fill_rule="evenodd") for each in art.inlays]
    holes = [
        shape("circle", cx=hole.x_mm * GRID_PER_MM, cy=hole.y_mm * GRID_PER_MM,
              r=hole.holes.diameter_mm * GRID_PER_MM / 2.0, fill="#3a2a20")
        for hole in art.holes
    ]  # fmt: skip
    face = path(art.trim_path, fill=art.wood, fill_rule="evenodd")
    yield group((face, *inlaid, *holes), transform=matrix)
    yield path(region_outline(high), fill="none", stroke=INK, stroke_width="0.25")


def region_outline(area: Polygon) -> str:
    """Return the path of a polygon's outline on paper."""
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in area.exterior.coords) + "z"
