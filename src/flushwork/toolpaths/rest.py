"""What a wider cutter left standing, and the passes that take it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.discs import grow, polygons, shrink
from flushwork.toolpaths.orders import PocketCut
from flushwork.toolpaths.paths import Path, climbing_rings, lines_of, swept
from flushwork.toolpaths.rings import OVERLAP_MM, RING_MM, WALL_MM

HAIR_MM: Final = 0.005
"""Stock thinner than twice this is a trace of rounding, not stock."""


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """Passes over one piece of stock: sets of paths, the outermost (the wall) last."""

    passes: tuple[tuple[Path, ...], ...]


def rest_of(
    operation: PocketCut, room: Polygon, wide: MultiPolygon, slots: Sequence[Path]
) -> tuple[Rest, ...]:
    """Return the passes that take what ``operation.cleared`` left of what ``room`` can reach.

    Each ring is followed only where it still meets stock; the walk over the rings begins at the
    wall, so that the wall is followed wherever it is new, and is cut in the opposite order.
    """
    radius = operation.cutter.radius_mm
    reached = shapely.intersection(grow(room, radius, RING_MM / 2.0), operation.region)
    stock = _thick(shapely.difference(reached, operation.cleared))
    return tuple(
        Rest(tuple(reversed(passes)))
        for piece in _pieces(stock, radius)
        if (passes := list(_passes(operation, piece, wide, slots)))
    )


def _pieces(stock: MultiPolygon, radius_mm: float) -> Iterator[MultiPolygon]:
    """Gather stock that one pass may take together: within a cutter's width of each other."""
    if stock.is_empty:
        return
    for patch in grow(stock, radius_mm, RING_MM).geoms:
        shapely.prepare(patch)
        yield MultiPolygon([part for part in stock.geoms if shapely.contains(patch, part)])


def _passes(
    operation: PocketCut, stock: MultiPolygon, wide: MultiPolygon, slots: Sequence[Path]
) -> Iterator[tuple[Path, ...]]:
    radius = operation.cutter.radius_mm
    step = operation.cutter.step * operation.cutter.diameter_mm
    left = stock
    rings: Sequence[Path] = [
        *(path for part in wide.geoms for path in climbing_rings(part, WALL_MM)),
        *slots,
    ]
    around = grow(stock, radius, RING_MM)
    offset = 0.0
    while rings and not left.is_empty:
        paths = tuple(_where_needed(rings, left, stock, radius))
        if paths:
            yield paths
            left = _thick(shapely.difference(left, swept(paths, radius)))
        offset += step
        inner = shrink(wide, offset, RING_MM / 2.0)
        if not shapely.intersects(inner, around):
            break
        rings = [path for part in inner.geoms for path in climbing_rings(part, RING_MM / 2.0)]
    within = polygons(shapely.intersection(left, wide))
    if not within.is_empty:
        yield tuple(path for part in within.geoms for path in climbing_rings(part, 0.0))


def _where_needed(
    paths: Sequence[Path], left: MultiPolygon, stock: MultiPolygon, radius_mm: float
) -> Iterator[Path]:
    """Cut paths down to where the cutter still meets stock, running as they ran."""
    near = grow(left, radius_mm - HAIR_MM, RING_MM / 10.0)
    touched = grow(stock, radius_mm - OVERLAP_MM, RING_MM)
    shapely.prepare(near)
    for path in paths:
        if shapely.covers(near, path.line):
            yield _freed(path, touched)
            continue
        for piece in _pieces_of(path, near):
            yield _freed(piece, touched)


def _pieces_of(path: Path, near: MultiPolygon) -> Iterator[Path]:
    """Yield the parts of a path that lie in ``near``, running as the path does."""
    inside = shapely.line_merge(shapely.intersection(path.line, near))
    for piece in lines_of(inside):
        if piece.length_mm > HAIR_MM:
            yield replace(piece if _same_way(piece, path) else piece.reversed(), either=path.either)


def _same_way(piece: Path, path: Path) -> bool:
    """Whether a piece of a path runs the way the path does, judged by a segment of it."""
    k = (len(piece.points) - 1) // 2
    a, b = piece.points[k], piece.points[k + 1]
    ends = shapely.points([a + 0.1 * (b - a), b - 0.1 * (b - a)])
    first, last = shapely.line_locate_point(path.line, ends)
    return bool(first < last)


def _freed(path: Path, touched: MultiPolygon) -> Path:
    """Mark a path whose start meets no stock."""
    return replace(path, free=not shapely.intersects(touched, shapely.Point(path.start)))


def _thick(region: BaseGeometry) -> MultiPolygon:
    """Return ``region`` without its hairs."""
    inner = shapely.buffer(polygons(region), -HAIR_MM, join_style="mitre")
    return polygons(shapely.intersection(shapely.buffer(inner, 2.0 * HAIR_MM), region), 1e-4)
