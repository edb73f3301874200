"""One seen shape to a region and its centre lines, in mm.

What of a drawing is seen: each coat of paint over those before it (SVG 2, section 3.3).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from flushwork.art.contours import Contour
from flushwork.art.placement import Affine
from flushwork.art.regions import (
    CENTRE_SHARE,
    NOTHING,
    Ends,
    Joins,
    crossing,
    filled,
    many,
    on_grid,
    stroked,
    united,
)
from flushwork.art.svg.css import colour_of, painted
from flushwork.art.svg.dashes_and_markers import dashed, dashes_of
from flushwork.art.svg.numbers import UnreadableError, read_length_px, read_numbers
from flushwork.art.svg.shape_contours import contours_of
from flushwork.art.svg.tree import Seen, Veil
from flushwork.colour.spaces import luminance, parse_hex
from flushwork.kernels.outlines import Points

CLOSING_MM: Final = 0.01
"""A gap in an outline up to this wide is the rounding of a drawing file and closes: twice
``FLATTENING_MM``, a tenth of what an eye resolves."""

MOST_MM: Final = 10_000.0
"""Artwork further out than this is a wrong unit: ten metres, longer than any plank."""

_ENDS: Final[dict[str, Ends]] = {"butt": "flat", "round": "round", "square": "square"}
_JOINS: Final[dict[str, Joins]] = {"miter": "mitre", "round": "round", "bevel": "bevel"}


@dataclass(frozen=True, slots=True)
class PaintCover:
    """What a shape's fill or its stroke covers; ``colour`` is ``#rrggbb``, "" for a gradient."""

    colour: str
    region: MultiPolygon
    stroke: bool


@dataclass
class Painted:
    """What one shape leaves, and what is wrong with it (places in mm of the page, y up).

    ``coats`` are its fill and its stroke, the later over the earlier.
    """

    region: MultiPolygon = NOTHING
    coats: list[PaintCover] = field(default_factory=list)
    strokes: list[LineString] = field(default_factory=list)
    stroked_only: bool = False
    open_at: list[tuple[float, float]] = field(default_factory=list)
    crossing_at: list[tuple[float, float]] = field(default_factory=list)


def paint(seen: Seen, to_mm: Affine, tolerance_mm: float) -> Painted:
    """Return what a shape covers once its units are mapped to mm by ``to_mm``.

    Raises UnreadableError where its numbers cannot be read or lie absurdly far out.
    """
    contours = contours_of(seen.element, seen.tag)
    affine = to_mm.after(seen.to_page)
    _check_extent(contours, affine)
    result = Painted()
    parts: list[MultiPolygon] = []
    fills = painted(seen.style, "fill", "black") and seen.tag != "line"
    if fills:
        parts.append(_fill(contours, affine, tolerance_mm, seen.style, result))
        result.coats.append(
            PaintCover(colour_of(seen.style, "fill", "black"), parts[0], stroke=False)
        )
    if painted(seen.style, "stroke", "none"):
        wide = _stroke(contours, affine, tolerance_mm, seen.style, result)
        colour = colour_of(seen.style, "stroke", "none")
        result.coats += [PaintCover(colour, region, stroke=True) for region in wide]
        parts += wide
    if seen.veils:
        through = _seen_through(seen.veils, to_mm, tolerance_mm)
        parts = [many(part.intersection(through)) for part in parts]
        result.coats = [
            replace(coat, region=many(coat.region.intersection(through))) for coat in result.coats
        ]
    result.region = united(parts)
    result.stroked_only = not seen.veils and (not fills or parts[0].is_empty)
    return result


def _seen_through(veils: Sequence[Veil], to_mm: Affine, tolerance_mm: float) -> MultiPolygon:
    region = _veil_region(veils[0], to_mm, tolerance_mm)
    for veil in veils[1:]:
        region = many(region.intersection(_veil_region(veil, to_mm, tolerance_mm)))
    return region


def _veil_region(veil: Veil, to_mm: Affine, tolerance_mm: float) -> MultiPolygon:
    """Return what a window, a clip path or a mask lets through (CSS Masking 1)."""
    key = (to_mm, tolerance_mm)
    known = veil.known.get(key)
    if isinstance(known, MultiPolygon):
        return known
    if veil.kind == "window":
        left, low, right, high = veil.window
        corners = np.array([[left, low], [right, low], [right, high], [left, high]])
        region = filled([to_mm.after(veil.to_page).apply(corners)])
    elif veil.kind == "clipPath":
        region = united([_clip_area(shape, to_mm, tolerance_mm) for shape in veil.shapes])
    else:
        region = NOTHING
        for shape in veil.shapes:
            for coat in paint(shape, to_mm, tolerance_mm).coats:
                clear = _clearness(shape.style, stroke=coat.stroke)
                light = 1.0 if veil.alpha else luminance(parse_hex(coat.colour or PAPER))
                lets = light * clear > _LETS_THROUGH
                region = (
                    united([region, coat.region]) if lets else many(region.difference(coat.region))
                )
    veil.known[key] = region
    return region


_LETS_THROUGH: Final = 0.5
"""Wood is inlaid or it is not: a mask that lets more than half of the paint through lets it all."""


def _clearness(style: Mapping[str, str], *, stroke: bool) -> float:
    clear = 1.0
    for name in ("opacity", "stroke-opacity" if stroke else "fill-opacity"):
        text = style.get(name, "1")
        numbers = read_numbers(text.rstrip("%"))
        clear *= (numbers[0] if numbers else 1.0) / (100.0 if text.endswith("%") else 1.0)
    return clear


def _clip_area(seen: Seen, to_mm: Affine, tolerance_mm: float) -> MultiPolygon:
    """Return what a shape of a clip path encloses, however it would be painted."""
    affine = to_mm.after(seen.to_page)
    rings = [
        contour.mapped(affine).points(tolerance_mm)
        for contour in contours_of(seen.element, seen.tag)
    ]
    area = filled(rings, even_odd=seen.style.get("clip-rule", "") == "evenodd")
    if not seen.veils:
        return area
    return many(area.intersection(_seen_through(seen.veils, to_mm, tolerance_mm)))


def hull(seen: Seen, to_mm: Affine) -> Points:
    """Return points (n, 2) in mm whose extent is about that of a shape; (0, 2) if it is empty.

    Raises UnreadableError as ``paint`` does, but for a shape that lies far out.
    """
    return _hull(contours_of(seen.element, seen.tag), to_mm.after(seen.to_page))


def _hull(contours: tuple[Contour, ...], affine: Affine) -> Points:
    if not affine.finite:
        raise UnreadableError("svg-coordinates-absurd", "its transforms lead beyond all bounds")
    runs = [np.empty((0, 2))]
    for contour in contours:
        mapped = contour.mapped(affine)
        runs += [mapped.start[None, :], *(piece.points(MOST_MM) for piece in mapped.pieces)]
    return np.concatenate(runs)


def _check_extent(contours: tuple[Contour, ...], affine: Affine) -> None:
    """Refuse what is not finite or absurdly far out."""
    far_mm = float(np.abs(_hull(contours, affine)).max(initial=0.0))
    if not far_mm <= MOST_MM:
        raise UnreadableError(
            "svg-coordinates-absurd",
            f"it reaches {far_mm / 1000.0:.4g} m from the corner of the page",
        )


def _fill(
    contours: tuple[Contour, ...],
    affine: Affine,
    tolerance_mm: float,
    style: Mapping[str, str],
    result: Painted,
) -> MultiPolygon:
    rings: list[Points] = []
    for contour in contours:
        points = contour.mapped(affine).points(tolerance_mm)
        gap_mm = float(np.hypot(*(points[-1] - points[0])))
        if not contour.closed and gap_mm > CLOSING_MM:
            if not filled([points]).is_empty:
                result.open_at.append((float(points[0][0]), float(points[0][1])))
            continue
        crossed = crossing(points)
        if crossed is not None:
            result.crossing_at.append(crossed)
        rings.append(points)
    return filled(rings, even_odd=style.get("fill-rule", "") == "evenodd")


def _stroke(
    contours: tuple[Contour, ...],
    affine: Affine,
    tolerance_mm: float,
    style: Mapping[str, str],
    result: Painted,
) -> list[MultiPolygon]:
    """Widen the lines in the shape's own units: a stretched drawing stretches its strokes, too."""
    width = read_length_px(style.get("stroke-width", "1"))
    if width <= 0.0 or affine.determinant == 0.0:
        return []
    whole = tolerance_mm / affine.stretch
    fine = CENTRE_SHARE * whole
    ends = _ENDS.get(style.get("stroke-linecap", "butt"), "flat")
    joins = _JOINS.get(style.get("stroke-linejoin", "miter"), "mitre")
    lines: list[BaseGeometry] = []
    lengths, offset = dashes_of(style)
    for contour in contours:
        points = contour.points(fine)
        if lengths and len(points) > 1:
            for dash in dashed(points, lengths, offset):
                alone = len(dash) < 3 and (dash[0] == dash[-1]).all()
                lines += (
                    []
                    if alone and ends == "flat"
                    else [Point(dash[0]) if alone else LineString(dash)]
                )
                mapped = on_grid(affine.apply(dash))
                if len(mapped) > 1:
                    result.strokes.append(LineString(mapped))
        elif len(points) > 1:
            ring = contour.closed and len(points) > 3
            lines.append(shapely.LinearRing(points) if ring else LineString(points))
            mapped = on_grid(affine.apply(contour.points(whole)))
            if len(mapped) > 1:
                result.strokes.append(LineString(mapped))
        elif ends != "flat":
            lines.append(Point(points[0]))
    limit = read_numbers(style.get("stroke-miterlimit", "4"))
    mitre = limit[0] if limit and limit[0] >= 1.0 else 4.0
    local = (
        stroked(lines, width, ends=ends, joins=joins, tolerance_mm=whole - fine, mitre=mitre)
        if lines
        else NOTHING
    )
    return [many(affine_transform(local, affine.numbers))]


PAPER: Final = "#ffffff"
"""White is the paper: it is not inlaid, and it takes away what it is painted over."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What is wanted and seen, its centre lines where it is made of lines only.

    ``white`` says that something was taken for paper, ``covered_mm2`` how much that hides.
    """

    region: MultiPolygon
    strokes: list[LineString]
    white: bool
    covered_mm2: float


def in_sight(painted: Sequence[Painted], colours: Sequence[str]) -> Sight:
    """Return what is seen of some ``colours``; without them of all but white.

    Where everything is white there is nothing it could be the paper of: it is taken as it is.
    """
    coats = [coat for shape in painted for coat in shape.coats if not coat.region.is_empty]
    inked = [_wanted(coat, colours) for coat in coats]
    if not colours and not any(inked):
        inked = [True] * len(coats)
    if all(inked):
        lines_only = all(shape.stroked_only for shape in painted)
        strokes = [line for shape in painted for line in shape.strokes] if lines_only else []
        return Sight(united([shape.region for shape in painted]), strokes, False, 0.0)
    region, covered_mm2 = NOTHING, 0.0
    for ink, run in groupby(zip(inked, coats, strict=True), key=lambda pair: pair[0]):
        layer = united([coat.region for _, coat in run])
        if ink:
            region = united([region, layer])
            continue
        left = many(shapely.difference(region, layer))
        covered_mm2 += region.area - left.area
        region = left
    wanted = [shape for shape in painted if any(_wanted(coat, colours) for coat in shape.coats)]
    whole = covered_mm2 == 0.0 and all(
        shape.stroked_only and all(_wanted(coat, colours) for coat in shape.coats)
        for shape in wanted
    )
    strokes = [line for shape in wanted for line in shape.strokes] if whole else []
    return Sight(region, strokes, not colours, covered_mm2)


def _wanted(coat: PaintCover, colours: Sequence[str]) -> bool:
    return coat.colour in colours if colours else coat.colour != PAPER
