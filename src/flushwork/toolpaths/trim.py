"""Trimming: around the outline that is kept, tabs left to hold it.

Tabs: the bridges that hold a part in its blank, and the heights that leave them standing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, radians
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon

from flushwork.fit.discs import grow
from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import TrimCut
from flushwork.toolpaths.paths import begun_at, climbing_rings, way
from flushwork.toolpaths.track import Floats, Place2, Track

STRAIGHT_RAD: Final = radians(0.5)
"""Segments that turn less than this are one straight part."""


@dataclass(frozen=True, slots=True)
class Bridges:
    """Tabs on a closed path: the middle of each along the way, and one profile for all.

    The axis stays at ``top_mm`` or above for ``flat_mm`` of way and goes down on either side with
    ``slope`` (mm per mm).  ``way_mm`` is the length of the path.
    """

    middles_mm: tuple[float, ...]
    flat_mm: float
    top_mm: float
    slope: float
    way_mm: float

    def lowest(self, along: Floats) -> Floats:
        """Return the lowest height of the axis at places (n,) along the path."""
        height = np.full(along.shape, -np.inf)
        for middle in self.middles_mm:
            off = np.abs((along - middle + self.way_mm / 2.0) % self.way_mm - self.way_mm / 2.0)
            beyond = np.maximum(off - self.flat_mm / 2.0, 0.0)
            height = np.maximum(height, self.top_mm - beyond * self.slope)
        return height

    def breaks(self, floor_mm: float) -> Floats:
        """Return the places along the path where the profile bends above ``floor_mm``."""
        half = self.flat_mm / 2.0
        foot = half + max(0.0, self.top_mm - floor_mm) / self.slope
        return np.array([m + d for m in self.middles_mm for d in (-foot, -half, half, foot)])


def middles(ring: Floats, count: int, width_mm: float) -> tuple[float, ...]:
    """Return where ``count`` tabs ``width_mm`` wide sit along a closed ring (n, 2), in mm of way.

    They are spread evenly, each moved to the nearest straight part long enough for it; where there
    is none free (a round outline) it stays where it falls.
    """
    along = way(ring)
    total = float(along[-1])
    free = [
        (a + width_mm / 2.0, b - width_mm / 2.0)
        for a, b in _straight_parts(ring, along)
        if b - a >= width_mm
    ]
    chosen: list[float] = []
    for k in range(count):
        wanted = (k + 0.5) * total / count
        places = sorted(
            (min(max(wanted, low), high) for low, high in free),
            key=lambda place: _around(place, wanted, total),
        )
        apart = (
            place
            for place in places
            if all(_around(place, other, total) > 2.0 * width_mm for other in chosen)
        )
        chosen.append(next(apart, wanted))
    return tuple(chosen)


def lap(ring: Floats, bridges: Bridges, from_mm: float, to_mm: float) -> Floats:
    """Return one lap of ``ring`` that falls evenly between two heights and climbs over the tabs."""
    along = way(ring)
    total = float(along[-1])
    breaks = bridges.breaks(min(from_mm, to_mm)) % total
    s = np.unique(np.concatenate((along, breaks)))
    fall = from_mm + (to_mm - from_mm) * s / total
    bound = bridges.lowest(s)
    over = bound > fall
    k = np.flatnonzero(over[1:] != over[:-1])
    with np.errstate(invalid="ignore", divide="ignore"):
        before, after = bound[k] - fall[k], bound[k + 1] - fall[k + 1]
        crossing = s[k] + (s[k + 1] - s[k]) * before / (before - after)
    s = np.unique(np.concatenate((s, crossing[np.isfinite(crossing)])))
    z = np.maximum(from_mm + (to_mm - from_mm) * s / total, bridges.lowest(s))
    return np.column_stack((_at(ring, along, s), z))


def _at(ring: Floats, along: Floats, places: Floats) -> Floats:
    return np.column_stack(
        (np.interp(places, along, ring[:, 0]), np.interp(places, along, ring[:, 1]))
    )


def _straight_parts(ring: Floats, along: Floats) -> Iterator[tuple[float, float]]:
    """Yield from where to where along the way the ring runs straight."""
    steps = np.diff(ring, axis=0)
    heading = np.arctan2(steps[:, 1], steps[:, 0])
    turn = np.abs((np.diff(heading) + np.pi) % (2.0 * np.pi) - np.pi)
    bends = np.flatnonzero(turn > STRAIGHT_RAD) + 1
    marks = np.concatenate(([0], bends, [len(ring) - 1]))
    yield from pairwise(along[marks].tolist())


def _around(a: float, b: float, total: float) -> float:
    """Return how far two places on a closed way are apart."""
    off = abs(a - b) % total
    return min(off, total - off)


LEAD_MM: Final = 2.0
"""The bit comes down this far off the part, in the waste.  Common practice, no source."""

AROUND_MM: Final = 0.002
"""Bound of the path around corners."""

TAB_SLOPE: Final = 1.0
"""Tabs rise and fall at 45 degrees; a bit that cannot plunge takes its ramp.  Assumed."""


def trace_trim(track: Track, operation: TrimCut) -> None:
    """Cut around ``operation.region`` from outside, holes in it first, down to the floor.

    Climb cutting: with a spindle turning clockwise the part is on the bit's right, so the path
    runs clockwise around it.  Each depth winds down along the path and the last is followed once
    more on the floor.  Tabs stay standing on the outside.
    """
    bit = operation.bit
    heights = track.levels(operation)
    if not heights or operation.region.is_empty:
        return
    for ring in _rings(operation.region, bit.radius_mm):
        outer = not shapely.LinearRing(ring).is_ccw
        bridges = _bridges(operation, ring, operation.tabs if outer else 0)
        start = _start(bridges)
        moved = tuple(middle - start for middle in bridges.middles_mm)
        turned = begun_at(ring, start)
        _trim_around(
            track,
            operation,
            turned,
            heights,
            Bridges(moved, bridges.flat_mm, bridges.top_mm, bridges.slope, bridges.way_mm),
        )


def _rings(region: MultiPolygon, radius_mm: float) -> list[Floats]:
    """Return the way around each part, in the order of the parts, around its holes first."""
    grown = [grow(MultiPolygon([part]), radius_mm, AROUND_MM) for part in region.geoms]
    together = grow(region, radius_mm, AROUND_MM)
    if sum(len(each.geoms) for each in grown) != len(together.geoms):
        # the bit does not pass between two of them
        grown = [together]
    rings: list[Floats] = []
    for around in grown:
        own = [
            path.points[::-1]
            for part in around.geoms
            for path in climbing_rings(part, AROUND_MM / 2.0)
        ]
        rings += sorted(own, key=lambda ring: shapely.Polygon(ring).area)
    return rings


def _bridges(operation: TrimCut, ring: Floats, count: int) -> Bridges:
    """Place the tabs; the axis stays up a diameter longer than the wood that shall remain."""
    bit = operation.bit
    flat = operation.tab_mm + bit.diameter_mm
    return Bridges(
        middles_mm=middles(ring, count, flat) if operation.tab_height_mm > 0.0 else (),
        flat_mm=flat,
        top_mm=min(operation.floor_mm + operation.tab_height_mm, operation.top_mm),
        slope=TAB_SLOPE if bit.plunges else entry.RAMP,
        way_mm=float(way(ring)[-1]),
    )


def _start(bridges: Bridges) -> float:
    """Return a place midway in the widest gap between tabs."""
    if not bridges.middles_mm:
        return 0.0
    marks = sorted(middle % bridges.way_mm for middle in bridges.middles_mm)
    gaps = np.diff([*marks, marks[0] + bridges.way_mm])
    k = int(np.argmax(gaps))
    return float((marks[k] + gaps[k] / 2.0) % bridges.way_mm)


def _trim_around(
    track: Track,
    operation: TrimCut,
    ring: Floats,
    heights: Sequence[float],
    bridges: Bridges,
) -> None:
    track.over(_off(ring))
    track.drop(operation.top_mm + entry.ABOVE_MM)
    track.plunge(operation.top_mm)
    height = operation.top_mm
    laps = max(1, int(np.ceil((height - heights[0]) / (bridges.way_mm * entry.RAMP))))
    for below in heights:
        for k in range(laps):
            part = (below - height) / laps
            track.follow(lap(ring, bridges, height + k * part, height + (k + 1) * part))
        height = below
    track.follow(lap(ring, bridges, height, height))
    track.lift()


def _off(ring: Floats) -> Place2:
    """Return a place off the part beside the start of ``ring``, on the bit's left."""
    (x0, y0), (x1, y1) = ring[0].tolist(), ring[1].tolist()
    length = hypot(x1 - x0, y1 - y0)
    lead = min(LEAD_MM, 0.2 * float(np.sqrt(shapely.Polygon(ring).area)))
    return x0 - (y1 - y0) / length * lead, y0 + (x1 - x0) / length * lead
