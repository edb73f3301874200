"""Flush milling: the proud resin (or the wood) of a region taken down to one height."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, dist, sqrt
from typing import Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.discs import grow
from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import LevelCut
from flushwork.toolpaths.track import Floats, Place2, Track

BEYOND_MM: Final = 1.0
"""The bit comes down this far off the region, where nothing stands: common practice."""

SPARE_MM: Final = 0.5
"""Passes run this much further than the disc needs.  Assumed (0.2 to 1 mm)."""

BOUND_MM: Final = 0.01
"""Bound of the outline passes are cut back to."""


def trace_flush(track: Track, operation: LevelCut) -> None:
    """Face ``operation.region`` down to the floor: passes to and fro along its longer side.

    The bit comes down beside the region and goes no further than its disc needs to cover it.
    Parts closer together than its diameter are faced as one.
    """
    bit = operation.bit
    heights = track.levels(operation)
    if not heights or operation.region.is_empty:
        return
    covered = grow(operation.region, bit.radius_mm + BEYOND_MM, BOUND_MM)
    for height in heights:
        waiting = list(covered.geoms)
        while waiting:
            here = shapely.Point(track.place)
            k = min(range(len(waiting)), key=lambda k: (waiting[k].distance(here), k))
            _face(track, operation, waiting.pop(k), height)


def _face(track: Track, operation: LevelCut, covered: Polygon, height_mm: float) -> None:
    """Face the part of the region within ``covered``, which is that part grown."""
    links = shapely.buffer(covered, BOUND_MM)
    shapely.prepare(links)
    down = False
    for line in _scan(operation, covered):
        a, b = _ends(line)
        if dist(track.place, b) < dist(track.place, a):
            a, b = b, a
        near = dist(track.place, a) <= 2.0 * operation.bit.diameter_mm
        if down and near and shapely.covers(links, shapely.LineString((track.place, a))):
            track.feed(a)
        else:
            beside = _beside(covered, a)
            track.over(beside)
            track.drop(operation.top_mm + entry.ABOVE_MM)
            track.plunge(height_mm)
            track.feed(a, height_mm)
        track.feed(b, height_mm)
        down = True
    track.lift()


def _beside(covered: Polygon, place: Place2) -> Place2:
    """Return the nearest place on the outline of ``covered``: nothing stands there."""
    link = shapely.get_coordinates(shapely.shortest_line(covered.exterior, shapely.Point(place)))
    return float(link[0, 0]), float(link[0, 1])


def _ends(line: Floats) -> tuple[Place2, Place2]:
    (x0, y0), (x1, y1) = line[0].tolist(), line[-1].tolist()
    return (x0, y0), (x1, y1)


def _scan(operation: LevelCut, covered: Polygon) -> Iterator[Floats]:
    """Yield the passes that cover the region within ``covered``, one following the other.

    The region is parted into strips a step high along the longer side of its bounding box.  A
    disc of radius r on a strip's middle covers the strip, h to either side, over sqrt(r^2 - h^2)
    each way: so far short of the strip's ends a pass may end.
    """
    bit = operation.bit
    region = shapely.intersection(operation.region, covered)
    x0, y0, x1, y1 = region.bounds
    along_x = x1 - x0 >= y1 - y0
    low, high = (y0, y1) if along_x else (x0, x1)
    count = max(1, ceil((high - low) / (bit.step * bit.diameter_mm)))
    half = (high - low) / count / 2.0
    short = sqrt(max(bit.radius_mm**2 - half * half, 0.0)) - SPARE_MM
    waiting = []
    for k in range(count):
        middle = low + (2 * k + 1) * half
        a, b = middle - half, middle + half
        strip = shapely.box(x0, a, x1, b) if along_x else shapely.box(a, y0, b, y1)
        spans = _spans(shapely.intersection(region, strip), 0 if along_x else 1, short)
        waiting.append(
            [
                np.array([(u, middle), (v, middle)] if along_x else [(middle, u), (middle, v)])
                for u, v in spans
            ]
        )
    while any(waiting):
        last: Floats | None = None
        for row in waiting:
            pick = _follows(row, last, along_x, bit.diameter_mm)
            if pick is None:
                if last is not None:
                    break
                continue
            last = row.pop(pick)
            yield last


def _spans(strip: BaseGeometry, axis: int, short_mm: float) -> list[tuple[float, float]]:
    """Return from where to where a pass runs over what lies in a strip.

    Pieces that one place of the disc would cover together are one.
    """
    spans = sorted(
        (part.bounds[axis], part.bounds[axis + 2])
        for part in shapely.get_parts(strip)
        if part.area > 0.0
    )
    merged: list[tuple[float, float]] = []
    for a, b in spans:
        if merged and a - merged[-1][1] <= 2.0 * short_mm:
            merged[-1] = (merged[-1][0], max(merged[-1][1], b))
        else:
            merged.append((a, b))
    return [
        (a + short_mm, b - short_mm) if b - a > 2.0 * short_mm else ((a + b) / 2.0, (a + b) / 2.0)
        for a, b in merged
    ]


def _follows(row: list[Floats], last: Floats | None, along_x: bool, near_mm: float) -> int | None:
    """Return which line of a row lies beside ``last``; the first where there is none yet."""
    if last is None:
        return 0 if row else None
    axis = 0 if along_x else 1
    low, high = sorted((last[0, axis], last[-1, axis]))
    for k, line in enumerate(row):
        a, b = sorted((line[0, axis], line[-1, axis]))
        if a <= high + near_mm and b >= low - near_mm:
            return k
    return None
