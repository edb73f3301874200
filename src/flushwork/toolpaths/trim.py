"""Trimming: around the outline that is kept, tabs left to hold it."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from typing import Final

import numpy as np
import shapely

from flushwork.fit.discs import grow
from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import TrimCut
from flushwork.toolpaths.paths import begun_at, climbing_rings, way
from flushwork.toolpaths.tabs import Bridges, lap, middles
from flushwork.toolpaths.track import Floats, Place2, Track

LEAD_MM: Final = 2.0
"""The cutter comes down this far off the part, in the waste.  Common practice, no source."""

AROUND_MM: Final = 0.002
"""Bound of the path around corners."""

TAB_SLOPE: Final = 1.0
"""Tabs rise and fall at 45 degrees; a cutter that cannot plunge takes its ramp.  Assumed."""


def trace_trim(track: Track, operation: TrimCut) -> None:
    """Cut around ``operation.region`` from outside, holes in it first, down to the floor.

    Climb cutting: with a spindle turning clockwise the part is on the cutter's right, so the path
    runs clockwise around it.  Each depth winds down along the path and the last is followed once
    more on the floor.  Tabs stay standing on the outside.
    """
    cutter = operation.cutter
    heights = track.levels(operation)
    if not heights or operation.region.is_empty:
        return
    around = grow(operation.region, cutter.radius_mm, AROUND_MM)
    rings = [
        path.points[::-1] for part in around.geoms for path in climbing_rings(part, AROUND_MM / 2.0)
    ]
    for ring in sorted(rings, key=lambda ring: shapely.Polygon(ring).area):
        outer = not shapely.LinearRing(ring).is_ccw
        bridges = _bridges(operation, ring, operation.tabs if outer else 0)
        start = _start(bridges)
        moved = tuple(middle - start for middle in bridges.middles_mm)
        turned = begun_at(ring, start)
        _around(
            track,
            operation,
            turned,
            heights,
            Bridges(moved, bridges.flat_mm, bridges.top_mm, bridges.slope, bridges.way_mm),
        )


def _bridges(operation: TrimCut, ring: Floats, count: int) -> Bridges:
    """Place the tabs; the axis stays up a diameter longer than the wood that shall remain."""
    cutter = operation.cutter
    flat = operation.tab_mm + cutter.diameter_mm
    return Bridges(
        middles_mm=middles(ring, count, flat) if operation.tab_height_mm > 0.0 else (),
        flat_mm=flat,
        top_mm=min(operation.floor_mm + operation.tab_height_mm, operation.top_mm),
        slope=TAB_SLOPE if cutter.plunges else entry.RAMP,
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


def _around(
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
    """Return a place off the part beside the start of ``ring``, on the cutter's left."""
    (x0, y0), (x1, y1) = ring[0].tolist(), ring[1].tolist()
    length = hypot(x1 - x0, y1 - y0)
    lead = min(LEAD_MM, 0.2 * float(np.sqrt(shapely.Polygon(ring).area)))
    return x0 - (y1 - y0) / length * lead, y0 + (x1 - x0) / length * lead
