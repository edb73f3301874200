"""Outlines thinned: points that short edges can do without are left out, straight edges stay."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.kernels.flatten import Points

STRAIGHT_MM: Final = 1.0
"""An edge this long was drawn straight or nearly so, and keeps both its ends: thinning must not
turn it."""

_LEAST: Final = 4
"""Points of the smallest outline, the first one named again at its end."""


def thinned(region: MultiPolygon, bound_mm: float) -> MultiPolygon:
    """Return a region with fewer points, each outline within ``bound_mm`` of what it was.

    Where thinning would make outlines cross, the region is returned as it is.
    """
    parts = [
        Polygon(_ring(part.exterior, bound_mm), [_ring(hole, bound_mm) for hole in part.interiors])
        for part in region.geoms
    ]
    fewer = MultiPolygon(parts)
    return fewer if fewer.is_valid else region


def _ring(ring: BaseGeometry, bound_mm: float) -> Points:
    """Thin a closed outline between its straight edges (Douglas and Peucker, 1973)."""
    points = shapely.get_coordinates(ring)
    straight = np.flatnonzero(np.hypot(*np.diff(points, axis=0).T) >= STRAIGHT_MM)
    if len(straight):
        # begin with a straight edge, so that no run of short ones goes over the seam
        begun = np.roll(points[:-1], -int(straight[0]), axis=0)
        closed = np.concatenate([begun, begun[:1]])
        ends = [0, *(straight - straight[0] + 1), len(closed)]
        few = np.concatenate([_few(closed[a:b], bound_mm) for a, b in pairwise(ends)])
    else:
        few = _few(points, bound_mm)
    return few if len(few) >= _LEAST else points


def _few(run: Points, bound_mm: float) -> Points:
    if len(run) < _LEAST:
        return run
    return shapely.get_coordinates(shapely.simplify(LineString(run), bound_mm))
