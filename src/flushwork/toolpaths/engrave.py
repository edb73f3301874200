"""V engraving: the tip as deep as the walls allow, so that they meet the outline.

The flat floor of an engraving, cleared with the V-bit's own tip.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import tan

import numpy as np
import shapely
from shapely import LineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.choice import engraved_half_width, v_bit_step_mm
from flushwork.fit.discs import axis_of, polygons, shrink
from flushwork.toolpaths import entry
from flushwork.toolpaths.lines import join_edges
from flushwork.toolpaths.orders import EngraveCut
from flushwork.toolpaths.paths import Path, climbing_rings, lines_of, pop_nearest
from flushwork.toolpaths.rings import RING_MM, WALL_MM
from flushwork.toolpaths.track import Floats, Track


def floor_rings(operation: EngraveCut, floor: MultiPolygon) -> list[Path]:
    """Return the lines that flatten ``floor`` inside its outline, from the outline inward.

    Two lines of a V-bit s apart leave a ridge (s - tip) / (2 tan(angle / 2)) high between them, and
    one 1 / sin(a / 2) as high where lines turn a corner of angle a.
    What ``operation.cleared`` holds is flat already.
    """
    bit = operation.bit
    step = v_bit_step_mm(bit)
    stock = floor
    if not operation.cleared.is_empty:
        stock = polygons(shapely.difference(floor, shapely.buffer(operation.cleared, -step)))
    if stock.is_empty:
        return []
    found: list[Path] = []
    shapely.prepare(stock)
    inner = shrink(floor, step, RING_MM)
    offset = step
    while not inner.is_empty:
        for part in inner.geoms:
            for path in climbing_rings(part, RING_MM / 2.0):
                if shapely.covers(stock, path.line):
                    found.append(path)
                else:
                    found.extend(lines_of(shapely.intersection(path.line, stock)))
        offset += step
        inner = shrink(floor, offset, RING_MM)
    return found


LEVEL_ENDS_MM = 0.05
"""Ends of a walk closer in height than this serve equally well to begin at."""


def trace_engraving(track: Track, operation: EngraveCut) -> None:
    """Engrave ``operation.region`` with a V-bit.

    Along the medial axis the tip goes as deep as brings the flanks to the nearest walls (width =
    tip + 2 depth tan(angle / 2)), and out of the wood in every corner. No deeper than the floor:
    where the region is wider than the V-bit is there, the floor's outline is followed and the floor
    between cleared in lines close enough to leave it flat. Taken in the V-bit's depth of pass;
    ``again`` follows all walls once more at full depth, which shears off the fuzz that the first
    pass bends over.
    """
    bit = operation.bit
    heights = track.levels(operation)
    if not heights or operation.region.is_empty or bit.angle_rad <= 0.0:
        return
    outline = operation.outline_mm
    widest = engraved_half_width(bit, outline - operation.floor_mm)
    floor = shrink(operation.region, widest, WALL_MM)
    points, edges, dots = _tip_path(operation, outline, widest, heights)
    above = operation.top_mm
    for height in heights:
        rings = [path for part in floor.geoms for path in climbing_rings(part, WALL_MM)]
        if height == heights[-1]:
            rings += floor_rings(operation, floor)
        paths = [
            *_walks(points, edges, above, height),
            *_dots(points[dots], above, height),
            *(_at(path, height) for path in rings),
        ]
        _cut(track, operation, paths, above, shapely.buffer(floor, WALL_MM))
        above = height
    if operation.again:
        walls = [
            *_walks(points, edges, operation.top_mm, heights[-1]),
            *_dots(points[dots], operation.top_mm, heights[-1]),
            *(
                _at(path, heights[-1])
                for part in floor.geoms
                for path in climbing_rings(part, WALL_MM)
            ),
        ]
        _cut(track, operation, walls, operation.top_mm, shapely.buffer(floor, WALL_MM))


def _tip_path(
    operation: EngraveCut, outline_mm: float, widest_mm: float, heights: Sequence[float]
) -> tuple[Floats, np.ndarray[tuple[int, int], np.dtype[np.int64]], Floats]:
    """Return the tip's places (n, 3), the edges between them, and the places that stand alone.

    Edges end where the depth reaches a height of a pass, the floor, or the outline's height.
    """
    bit = operation.bit
    slope = tan(bit.angle_rad / 2.0)
    axis = axis_of(operation.region)
    least = bit.tip_mm / 2.0
    z = outline_mm - (axis.points[:, 2] - least) / slope
    points = np.column_stack((axis.points[:, :2], z))
    loose = np.setdiff1d(np.arange(len(points)), axis.edges)
    kept = (axis.points[loose, 2] <= widest_mm) & (axis.points[loose, 2] >= least)
    edges = axis.edges
    for height in (outline_mm, *heights):
        points, edges = _split_at(points, edges, height)
    middle = points[edges][:, :, 2].mean(axis=1)
    inside = (middle <= outline_mm) & (middle >= operation.floor_mm)
    return points, edges[inside], loose[kept]


def _split_at(
    points: Floats, edges: np.ndarray[tuple[int, int], np.dtype[np.int64]], height_mm: float
) -> tuple[Floats, np.ndarray[tuple[int, int], np.dtype[np.int64]]]:
    """Put a point into every edge that passes ``height_mm``."""
    first, last = points[edges[:, 0]], points[edges[:, 1]]
    crosses = (first[:, 2] - height_mm) * (last[:, 2] - height_mm) < 0.0
    a, b = first[crosses], last[crosses]
    share = (height_mm - a[:, 2]) / (b[:, 2] - a[:, 2])
    new = a + share[:, None] * (b - a)
    new[:, 2] = height_mm
    numbers = len(points) + np.arange(len(new))
    cut = edges[crosses]
    parts = (
        edges[~crosses],
        np.column_stack((cut[:, 0], numbers)),
        np.column_stack((numbers, cut[:, 1])),
    )
    return np.concatenate((points, new)), np.concatenate(parts)


def _walks(
    points: Floats,
    edges: np.ndarray[tuple[int, int], np.dtype[np.int64]],
    above_mm: float,
    height_mm: float,
) -> Iterator[Path]:
    """Yield walks over the edges that lie under ``above_mm``, none deeper than ``height_mm``."""
    under = points[edges][:, :, 2].mean(axis=1) < above_mm
    chosen = edges[under]
    bounded = points.copy()
    bounded[:, 2] = np.maximum(points[:, 2], height_mm)
    ends = [(int(a), int(b)) for a, b in chosen.tolist()]
    for places, closed in join_edges(list(bounded[chosen]), ends):
        rise = places[-1, 2] - places[0, 2]
        if closed:
            yield Path(places, closed=True)
        else:
            yield Path(
                places[::-1] if rise > 0.0 else places,
                closed=False,
                either=abs(rise) < LEVEL_ENDS_MM,
            )


def _dots(places: Floats, above_mm: float, height_mm: float) -> Iterator[Path]:
    """Yield the places where the V-bit just goes down and up: the middles of discs."""
    for place in places:
        if place[2] < above_mm:
            yield Path(np.array([[place[0], place[1], max(place[2], height_mm)]]), closed=False)


def _at(path: Path, height_mm: float) -> Path:
    level = np.full((len(path.points), 1), height_mm)
    return Path(np.hstack((path.points, level)), closed=path.closed, either=path.either)


def _cut(
    track: Track,
    operation: EngraveCut,
    paths: Sequence[Path],
    above_mm: float,
    floor: BaseGeometry,
) -> None:
    """Run paths with heights of their own, the nearest next.

    The tip stays down where one begins as the last ended, or at its height across ``floor``.
    """
    shapely.prepare(floor)
    waiting = list(paths)
    down = False
    while waiting:
        path = pop_nearest(waiting, track.place)
        x, y, z = path.points[0].tolist()
        link = LineString((track.place, (x, y)))
        level = abs(track.z_mm - z) < WALL_MM and bool(shapely.covers(floor, link))
        if not (down and (level or link.length < WALL_MM)):
            track.over((x, y))
            track.drop(above_mm + entry.ABOVE_MM)
            _go_in(track, operation, path, above_mm)
        track.feed((x, y), z)
        track.follow(path.points[1:])
        down = True
    track.lift()


def _go_in(track: Track, operation: EngraveCut, path: Path, above_mm: float) -> None:
    """Get the tip down to the start of ``path``: straight, or along it and back."""
    z = float(path.points[0, 2])
    if operation.bit.plunges or len(path.points) < 2:
        track.plunge(z)
        return
    track.plunge(max(z, above_mm))
    there = [path.points[0].tolist()]
    for x, y, lowest in path.points[1:].tolist():
        if track.z_mm <= there[-1][2] + WALL_MM:
            break
        run = float(np.hypot(x - track.place[0], y - track.place[1]))
        track.feed((x, y), max(lowest, track.z_mm - run * entry.RAMP))
        there.append([x, y, lowest])
    track.follow(np.array(there[::-1]))
