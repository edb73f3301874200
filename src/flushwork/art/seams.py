"""Seam lines: fine lines along the edges of inlays.

How regions lie to each other: shared edges, and the least wood between them.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Shapes
from flushwork.art.faults import Faults, listed, refusal
from flushwork.art.regions import NO_LINES, chords_per_quarter, many, many_lines, stroked
from flushwork.core.findings import Source
from flushwork.job.records import Seam

SNAP_MM: Final = 0.02
"""Edges this near each other are one edge.  One curve drawn for two neighbours is flattened twice,
each time within ``FLATTENING_MM`` (0.01 mm together), and drawing files round to hundredths of a
unit, another 0.003 mm each; the rest is room.  A fifth of what an eye resolves, and the run-out of
a good collet."""

LEAST_EDGE_MM: Final = 10.0 * SNAP_MM
"""Edges that run together for less than this only cross or touch: two edges crossing at more than
15 degrees lie within ``SNAP_MM`` of each other for less."""

_SAME_MM: Final = 1e-6
"""Marks this near each other on an edge are one: the grid that outlines are rounded to."""


def near(shape: BaseGeometry) -> BaseGeometry:
    """Return everything within ``SNAP_MM`` of a shape, to a tenth of that."""
    quarter = chords_per_quarter(SNAP_MM, SNAP_MM / 10.0)
    grown: BaseGeometry = shapely.buffer(shape, SNAP_MM, quad_segs=quarter)
    return grown


def parted(edges: MultiLineString, other: BaseGeometry) -> tuple[MultiLineString, MultiLineString]:
    """Part edges into what runs along another set of edges, and the rest.

    Edges are split at their own corners, at crossings, and beside the corners of ``other``; a
    piece runs along ``other`` if all of it lies within ``SNAP_MM``.  So an edge that leaves
    another at a small angle is parted at the corner, not where the gap has grown to ``SNAP_MM``.
    """
    close = near(other)
    corners = np.asarray(shapely.points(shapely.get_coordinates(other)), dtype=np.object_)
    along: list[LineString] = []
    rest: list[LineString] = []
    for line in edges.geoms:
        if not shapely.intersects(close, line):
            rest.append(line)
            continue
        pieces = _split(line, corners[shapely.dwithin(corners, line, SNAP_MM)], other)
        covered = shapely.covers(close, pieces)
        along += list(pieces[covered])
        rest += list(pieces[~covered])
    return merged(MultiLineString(along)), merged(MultiLineString(rest))


def _split(
    line: LineString, beside: NDArray[np.object_], other: BaseGeometry
) -> NDArray[np.object_]:
    """Return the straight pieces of a line between its corners, crossings and points beside it."""
    corners = shapely.get_coordinates(line)
    own = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    crossings = shapely.points(shapely.get_coordinates(line.intersection(other)))
    marks = np.concatenate([beside, crossings])
    between = shapely.line_locate_point(line, marks)
    between = between[np.abs(between[:, None] - own[None, :]).min(axis=1) > _SAME_MM]
    order = np.argsort(np.concatenate([own, between]), kind="stable")
    places = np.concatenate(
        [corners, shapely.get_coordinates(shapely.line_interpolate_point(line, between))]
    )[order]
    steps = np.hypot(*np.diff(places, axis=0).T)
    pairs = np.stack([places[:-1], places[1:]], axis=1)[steps > 0.0]
    pieces: NDArray[np.object_] = shapely.linestrings(pairs)
    return pieces


def shared_edges(first: MultiPolygon, second: MultiPolygon) -> MultiLineString:
    """Return the edges of ``first`` that run along edges of ``second``."""
    if shapely.distance(first, second) > SNAP_MM:
        return NO_LINES
    along, _ = parted(many_lines(first.boundary), second.boundary)
    return long_enough(along)


def long_enough(lines: MultiLineString) -> MultiLineString:
    """Return the lines without mere touches and crossings."""
    return MultiLineString([line for line in lines.geoms if line.length >= LEAST_EDGE_MM])


def merged(lines: BaseGeometry) -> MultiLineString:
    """Return lines joined end to end wherever just two of them meet."""
    return many_lines(shapely.line_merge(many_lines(lines)))


def each_once(edges: Sequence[BaseGeometry]) -> MultiLineString:
    """Return edges with what several of them have in common taken once.

    Earlier edges win.  Where a later edge leaves an earlier one beside it, its end is led onto the
    earlier edge, so that the network stays connected.
    """
    kept: list[LineString] = []
    for edge in edges:
        lines = many_lines(shapely.line_merge(many_lines(edge)))
        if not kept:
            kept += lines.geoms
            continue
        earlier = MultiLineString(kept)
        _, rest = parted(lines, earlier)
        kept += [_led_onto(line, earlier) for line in rest.geoms if line.length > SNAP_MM]
    # noding parts the earlier edges where a later one was led onto them
    return merged(shapely.union_all([MultiLineString(kept)])) if kept else NO_LINES


def _led_onto(line: LineString, earlier: MultiLineString) -> LineString:
    """Return a line whose loose ends are led onto the earlier edges beside them."""
    if line.is_closed:
        return line
    coords = list(line.coords)
    first, last = (shapely.shortest_line(Point(end), earlier) for end in (coords[0], coords[-1]))
    if first.length <= SNAP_MM:
        coords.insert(0, first.coords[-1])
    if last.length <= SNAP_MM:
        coords.append(last.coords[-1])
    return LineString(coords)


def draw_seam(
    seam: Seam, regions: Mapping[str, MultiPolygon], visible: MultiPolygon, source: Source
) -> Shapes:
    """Return a seam line: its centre lines, each edge once, and the region it covers.

    ``regions`` holds the inlays of the face by name; edges outside ``visible``, or along its own
    boundary, are left out.  The region is what a round bit makes along the lines (round outer
    corners and ends), cut off flat at the boundary of ``visible``.

    Raises JobRefusedError where an inlay is not there or has no area, or no edge is left.
    """
    _check(seam, regions, source)
    along = [regions[name] for name in seam.along]
    if seam.shared_only:
        edges = each_once([shared_edges(a, b) for a, b in itertools.combinations(along, 2)])
    else:
        edges = each_once([region.boundary for region in along])
    lines = _in_sight(edges, visible)
    if lines.is_empty:
        what = "share no edge" if seam.shared_only and edges.is_empty else "have no edge in sight"
        raise refusal(
            source,
            "seam-without-edge",
            f"{listed(seam.along)} {what}, so the seam line has nowhere to run",
            "name inlays that touch; with `edges: all` the line runs around each of them",
        )
    region = stroked(list(lines.geoms), seam.width_mm)
    return Shapes(region=many(region.intersection(visible)), strokes=lines)


def _check(seam: Seam, regions: Mapping[str, MultiPolygon], source: Source) -> None:
    faults = Faults()
    for name in seam.along:
        if name not in regions:
            faults.add(
                source,
                "seam-along-unknown",
                f"the seam line runs along '{name}', which is no inlay of this face; "
                f"there are {listed(regions) or 'none'}",
                "correct the name, or move the seam line to the other face",
            )
        elif regions[name].is_empty:
            faults.add(
                source,
                "seam-along-bare-line",
                f"the seam line runs along '{name}', which is a line without a width",
                "give that line a width",
            )
    faults.refuse()


def _in_sight(edges: MultiLineString, visible: MultiPolygon) -> MultiLineString:
    """Return the edges inside ``visible``; what runs along its boundary has nothing beyond it."""
    inside = merged(edges.intersection(visible))
    if inside.is_empty:
        return inside
    _, rest = parted(inside, visible.boundary)
    return merged(shapely.union_all([rest]))
