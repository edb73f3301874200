"""What keeps two pieces apart: outlines grown by half of a gap, and where one bars another.

A piece may touch another where the one, mirrored through its zero and swept along the other's edge,
bounds what it may not enter: the Minkowski sum of the two (M. de Berg et al., Computational
Geometry, 3rd ed. 2008, section 13.3, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

HAIR_MM: Final = 0.001
"""Each piece is taken for so much smaller, so that one that just fits finds its place."""
GRID_MM: Final = 1e-6
"""Sums of outlines are united on a grid: corners that all but coincide are else, at times, lost."""
_FEWER: Final = 0.002
"""Outlines are followed within this share of their size, always outside of them."""
_LEAST_FEWER_MM: Final = 0.02
_MITRE: Final = 1.6
"""Corners are grown to points no longer than so many half gaps, to keep outlines of few corners."""


def grown_outline(outline: Polygon, by_mm: float) -> Polygon:
    """Return an outline grown, of few corners, holes filled; never inside of what it stands for."""
    solid = Polygon(outline.exterior)
    west, south, east, north = solid.bounds
    bound_mm = max(_LEAST_FEWER_MM, _FEWER * max(east - west, north - south))
    few = shapely.simplify(solid, bound_mm)
    off_mm = 0.0 if few.symmetric_difference(solid).area < 1e-9 else shapely.hausdorff_distance(
        shapely.segmentize(solid.exterior, bound_mm), few.exterior
    )  # fmt: skip
    far_mm = by_mm + off_mm
    grown: BaseGeometry = few.buffer(far_mm, join_style="mitre", mitre_limit=_MITRE)
    rounded = few.buffer(far_mm, quad_segs=8)
    if rounded.difference(grown).area > 1e-6:
        # a corner too sharp for a mitre is cut off nearer than the gap
        grown = grown.union(few.buffer(far_mm / math.cos(math.pi / 32.0), quad_segs=8))
    return Polygon(max(shapely.get_parts([grown]), key=lambda part: part.area).exterior)


def what_is_left(room: BaseGeometry, bars: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return what is left of a room."""
    barred = shapely.union_all(bars, grid_size=GRID_MM) if len(bars) > 1 else bars[0]
    left = shapely.get_parts(room.difference(barred, grid_size=GRID_MM)).tolist()
    # a hair's breadth may be left as a line, which is no room
    return MultiPolygon([part for part in left if isinstance(part, Polygon)])


def convex_parts(shape: Polygon) -> list[NDArray[np.float64]]:
    """Return a polygon as convex parts: triangles, joined as long as they stay convex."""
    hull = shape.convex_hull
    if hull.area - shape.area < 1e-9 * hull.area:
        return [shapely.get_coordinates(hull)[:-1]]
    parts = list(shapely.get_parts(shapely.constrained_delaunay_triangles(shape)))
    joined = True
    while joined:
        joined = False
        for first in range(len(parts)):
            for second in range(len(parts) - 1, first, -1):
                if parts[first].intersection(parts[second]).length == 0.0:
                    continue
                whole = shapely.union_all([parts[first], parts[second]])
                if whole.convex_hull.area - whole.area < 1e-9 * whole.area:
                    parts[first] = whole.convex_hull
                    del parts[second]
                    joined = True
    return [shapely.get_coordinates(part)[:-1] for part in parts]


def barred_places(
    lying: tuple[NDArray[np.float64], ...], coming: tuple[NDArray[np.float64], ...]
) -> BaseGeometry:
    """Return the Minkowski sum of one shape and another mirrored through its zero."""
    sums = [
        shapely.MultiPoint((own[:, None, :] - other[None, :, :]).reshape(-1, 2)).convex_hull
        for own in lying
        for other in coming
    ]
    return shapely.union_all(sums, grid_size=GRID_MM) if len(sums) > 1 else sums[0]
