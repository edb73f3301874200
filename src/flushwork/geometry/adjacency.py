"""How regions lie to each other: shared edges, and the least wood between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from flushwork.geometry.offsets import chords_per_quarter
from flushwork.geometry.regions import NO_LINES, many_lines

SNAP_MM: Final = 0.02
"""Edges this near each other are one edge.  One curve drawn for two neighbours is flattened twice,
each time within ``FLATTENING_MM`` (0.01 mm together), and drawing files round to hundredths of a
unit, another 0.003 mm each; the rest is room.  A fifth of what an eye resolves, and the run-out of
a good collet."""

LEAST_EDGE_MM: Final = 10.0 * SNAP_MM
"""Edges that run together for less than this only cross or touch: two edges crossing at more than
15 degrees lie within ``SNAP_MM`` of each other for less."""

_REACH_MM: Final = 1.2 * SNAP_MM
"""Loose ends this near an earlier edge were parted from it by the snapping itself."""


def near(shape: BaseGeometry, distance_mm: float = SNAP_MM) -> BaseGeometry:
    """Return everything within ``distance_mm`` of a shape, to a tenth of that."""
    quarter = chords_per_quarter(distance_mm, distance_mm / 10.0)
    grown: BaseGeometry = shapely.buffer(shape, distance_mm, quad_segs=quarter)
    return grown


def shared_edges(first: MultiPolygon, second: MultiPolygon) -> MultiLineString:
    """Return the edges of ``first`` that run along edges of ``second``."""
    if shapely.distance(first, second) > SNAP_MM:
        return NO_LINES
    common = first.boundary.intersection(near(second.boundary))
    return long_enough(merged(many_lines(common)))


def long_enough(lines: MultiLineString) -> MultiLineString:
    """Return the lines without mere touches and crossings."""
    return MultiLineString([line for line in lines.geoms if line.length >= LEAST_EDGE_MM])


def merged(lines: BaseGeometry) -> MultiLineString:
    """Return lines joined end to end wherever just two of them meet."""
    return many_lines(shapely.line_merge(many_lines(lines)))


def each_once(edges: Sequence[BaseGeometry]) -> MultiLineString:
    """Return edges with what several of them have in common taken once.

    Earlier edges win.  Where a later edge leaves an earlier one within ``SNAP_MM`` of it, its end
    is led onto the earlier edge, so that the network stays connected.
    """
    kept: list[LineString] = []
    for edge in edges:
        lines = many_lines(shapely.line_merge(many_lines(edge)))
        if not kept:
            kept += lines.geoms
            continue
        earlier = MultiLineString(kept)
        rest = merged(lines.difference(near(earlier)))
        kept += [_led_onto(line, earlier) for line in rest.geoms if line.length > SNAP_MM]
    # noding parts the earlier edges where a later one was led onto them
    return merged(shapely.union_all([MultiLineString(kept)])) if kept else NO_LINES


def _led_onto(line: LineString, earlier: MultiLineString) -> LineString:
    """Return a line whose loose ends are led onto the earlier edges beside them."""
    if line.is_closed:
        return line
    coords = list(line.coords)
    first, last = (shapely.shortest_line(Point(end), earlier) for end in (coords[0], coords[-1]))
    if first.length <= _REACH_MM:
        coords.insert(0, first.coords[-1])
    if last.length <= _REACH_MM:
        coords.append(last.coords[-1])
    return LineString(coords)


def least_gap(first: BaseGeometry, second: BaseGeometry) -> tuple[float, float, float]:
    """Return the least wood between two regions in mm, and the middle of that place.

    Regions that touch or overlap have 0 between them, at a place they share.  Raises ValueError
    where one of them is empty.
    """
    if first.is_empty or second.is_empty:
        raise ValueError("an empty region lies nowhere")
    common = first.intersection(second)
    if not common.is_empty:
        place = shapely.point_on_surface(common)
        return 0.0, float(place.x), float(place.y)
    (x1, y1), (x2, y2) = shapely.shortest_line(first, second).coords
    return math.hypot(x2 - x1, y2 - y1), (x1 + x2) / 2.0, (y1 + y2) / 2.0
