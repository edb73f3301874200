"""Opening new ground by loops: the cutter is never engaged by more than a stated angle.

Each loop is a circle, the next one a little further along the middle line of what is to be opened.
A cutter of radius r on a circle of radius p about c cuts inside the circle of radius R = p + r that
it clears; where the loop before cleared to R - a in that direction, the edge is engaged by the
angle t with (R - a)^2 = p^2 + r^2 + 2 p r cos t (law of cosines).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from math import atan2, cos, pi, sin, sqrt
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from flushwork.fit.axis import axis_of
from flushwork.toolpaths.paths import Path, lines_of, way
from flushwork.toolpaths.track import Floats, Place2, Track

MOST_RAD: Final = pi / 3.0
"""Greatest engagement of a loop: a third of a slot's.  Assumed (40 to 80 degrees)."""

SPUR_SHARE: Final = 0.5
"""Branches of the middle line worth less than this share of the radius are left to the rings."""


def advance_mm(loop_mm: float, radius_mm: float, most_rad: float = MOST_RAD) -> float:
    """Return how far the next loop of radius ``loop_mm`` may lie ahead, by the law above."""
    cleared = loop_mm**2 + radius_mm**2 + 2.0 * loop_mm * radius_mm * cos(most_rad)
    return loop_mm + radius_mm - sqrt(cleared)


def middle_lines(core: Polygon, radius_mm: float) -> list[Floats]:
    """Return the middle lines of an area, the longest first, as points (n, 2)."""
    axis = axis_of(MultiPolygon([core]), SPUR_SHARE * radius_mm)
    if not len(axis.edges):
        return []
    merged = shapely.line_merge(shapely.union_all(shapely.linestrings(axis.points[axis.edges, :2])))
    lines = [path.points for path in lines_of(merged)]
    return sorted(lines, key=lambda points: -float(way(points)[-1]))


def loops_along(
    line: Floats, room_mm: Callable[[Place2], float], widest_mm: float, radius_mm: float
) -> Iterator[tuple[Place2, float]]:
    """Yield centre and radius of each loop along a line, until there is no room for one.

    ``room_mm`` tells how far the axis may go from a place.  A loop grows by no more than its share
    of the advance, so that the engagement holds where the ground widens too.
    """
    along = way(line)
    place, before = 0.0, None
    least = 0.3 * radius_mm
    while place <= along[-1] + 1e-9:
        centre = (
            float(np.interp(place, along, line[:, 0])),
            float(np.interp(place, along, line[:, 1])),
        )
        loop = min(widest_mm, room_mm(centre))
        if loop < least:
            return
        step = advance_mm(loop, radius_mm)
        if before is not None and loop > before:
            loop = min(loop, before + step / 4.0)
        yield centre, loop
        before = loop
        if place >= along[-1]:
            return
        place = min(place + 0.7 * step, float(along[-1]))


def run_loops(track: Track, loops: Sequence[tuple[Place2, float]], height_mm: float) -> Path:
    """Run the loops after the first, counter-clockwise (climbing); return the way.

    The tip stands on the first loop, which is cleared.  Each loop begins and ends at its rear, so
    that the tip goes on to the next across what is cleared.
    """
    places = [track.place]
    for (before, _), (centre, loop) in pairwise(loops):
        ahead = atan2(centre[1] - before[1], centre[0] - before[0])
        rear = (centre[0] - loop * cos(ahead), centre[1] - loop * sin(ahead))
        track.feed(rear, height_mm)
        track.arc(centre, 2.0 * pi, (*rear, height_mm))
        turn = ahead + pi + np.linspace(0.0, 2.0 * pi, 24)
        places += zip(
            (centre[0] + loop * np.cos(turn)).tolist(),
            (centre[1] + loop * np.sin(turn)).tolist(),
            strict=True,
        )
    return Path(np.array(places), closed=False)
