"""Levelling: the proud resin (or the wood) of a region taken down to one height."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, dist
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from flushwork.fit.discs import grow
from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import Operation
from flushwork.toolpaths.paths import lines_of
from flushwork.toolpaths.track import Floats, Place2, Track

BEYOND_MM: Final = 1.0
"""Passes begin and end this far off the region, where nothing stands: common practice."""

BOUND_MM: Final = 0.01
"""Bound of the outline passes are cut back to."""


def trace_level(track: Track, operation: Operation) -> None:
    """Face ``operation.region`` down to the floor: passes to and fro along its longer side.

    Passes run past the region by the cutter's radius and a little, so the cutter comes down beside
    it and every point of it is covered.  Parts closer together than that are faced as one.
    """
    cutter = operation.cutter
    heights = track.levels(operation)
    if not heights or operation.region.is_empty:
        return
    covered = grow(operation.region, cutter.radius_mm + BEYOND_MM, BOUND_MM)
    step = cutter.step * cutter.diameter_mm
    for height in heights:
        waiting = list(covered.geoms)
        while waiting:
            here = shapely.Point(track.place)
            k = min(range(len(waiting)), key=lambda k: (waiting[k].distance(here), k))
            _face(track, operation, waiting.pop(k), step, height)


def _face(
    track: Track, operation: Operation, covered: Polygon, step_mm: float, height_mm: float
) -> None:
    links = shapely.buffer(covered, BOUND_MM)
    shapely.prepare(links)
    down = False
    for line in _scan(covered, step_mm):
        a, b = _ends(line)
        if dist(track.place, b) < dist(track.place, a):
            a, b = b, a
        near = dist(track.place, a) <= 2.0 * operation.cutter.diameter_mm
        if down and near and shapely.covers(links, shapely.LineString((track.place, a))):
            track.feed(a)
        else:
            track.over(a)
            track.drop(operation.top_mm + entry.ABOVE_MM)
            track.plunge(height_mm)
        track.feed(b, height_mm)
        down = True
    track.lift()


def _ends(line: Floats) -> tuple[Place2, Place2]:
    (x0, y0), (x1, y1) = line[0].tolist(), line[-1].tolist()
    return (x0, y0), (x1, y1)


def _scan(covered: Polygon, step_mm: float) -> Iterator[Floats]:
    """Yield the passes over ``covered`` so that one follows the other, arm by arm.

    Lines stand no further apart than ``step_mm`` and lie along the longer side of the bounding
    box.  A point of the region lies within half a step of a line that is cut back further out.
    """
    x0, y0, x1, y1 = covered.bounds
    along_x = x1 - x0 >= y1 - y0
    low, high = (y0, y1) if along_x else (x0, x1)
    count = max(1, ceil((high - low) / step_mm))
    offsets = low + (np.arange(count) + 0.5) * (high - low) / count
    rows = [
        shapely.LineString(
            ((x0 - 1.0, v), (x1 + 1.0, v)) if along_x else ((v, y0 - 1.0), (v, y1 + 1.0))
        )
        for v in offsets.tolist()
    ]
    waiting = [
        [path.points for path in lines_of(shapely.intersection(row, covered))] for row in rows
    ]
    while any(waiting):
        last: Floats | None = None
        for row in waiting:
            pick = _follows(row, last, along_x)
            if pick is None:
                if last is not None:
                    break
                continue
            last = row.pop(pick)
            yield last


def _follows(row: list[Floats], last: Floats | None, along_x: bool) -> int | None:
    """Return which line of a row lies beside ``last``; the first where there is none yet."""
    if last is None:
        return 0 if row else None
    axis = 0 if along_x else 1
    low, high = sorted((last[0, axis], last[-1, axis]))
    for k, line in enumerate(row):
        a, b = sorted((line[0, axis], line[-1, axis]))
        if a <= high and b >= low:
            return k
    return None
