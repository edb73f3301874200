"""Regions grown and shrunk by a disc, to a stated bound."""

from __future__ import annotations

from typing import Final, cast

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.offsets import chords_per_quarter
from flushwork.art.regions import NOTHING

OFFSET_MM: Final = 0.0005
"""Greatest distance of an offset outline from the true one: half a step of the G-code file's last
decimal.  The lost area of a 1.6 mm radius corner stays within 0.2 % of its closed form."""

SPECK_SHARE: Final = 0.05
"""Parts of an offset smaller than this share of the distance squared are looked at twice."""

LINE_MM: Final = 0.001
"""Half the width of the sliver that stands for a centre line among the places the axis may go."""

SHARP: Final = 50.0
"""A corner is kept to this many times the offset from its tip: sharp down to 2.3 degrees.

At 5 times, which blunts every corner under 23 degrees, the places for the axis ended so early in
a thin serif that 5 % too much counted as lost.
"""

POLYGON: Final = shapely.GeometryType.POLYGON.value


def grow(region: BaseGeometry, distance_mm: float, bound_mm: float = OFFSET_MM) -> MultiPolygon:
    """Return all points within ``distance_mm`` of ``region`` (of any kind)."""
    segments = chords_per_quarter(distance_mm, bound_mm)
    return polygons(shapely.buffer(region, distance_mm, quad_segs=segments))


def shrink(region: MultiPolygon, distance_mm: float, bound_mm: float = OFFSET_MM) -> MultiPolygon:
    """Return the points of ``region`` at least ``distance_mm`` from its outline.

    The offset of a spiky outline may hold specks that lie nearer to it; they are taken out.
    """
    segments = chords_per_quarter(distance_mm, bound_mm)
    inner = polygons(shapely.buffer(region, -distance_mm, quad_segs=segments))
    parts = shapely.get_parts(inner)
    small = shapely.area(parts) < SPECK_SHARE * distance_mm * distance_mm
    if not small.any():
        return inner
    outline = shapely.boundary(region)
    shapely.prepare(outline)
    inside = shapely.point_on_surface(parts[small])
    true = np.ones(len(parts), dtype=bool)
    true[small] = ~shapely.dwithin(outline, inside, distance_mm - 2.0 * bound_mm)
    return cast(MultiPolygon, shapely.multipolygons(parts[true])) if true.any() else NOTHING


def polygons(geometry: BaseGeometry, least_mm2: float = 0.0) -> MultiPolygon:
    """Return the polygons of any geometry that are larger than ``least_mm2``."""
    parts = shapely.get_parts(shapely.get_parts(geometry))
    flat = parts[shapely.get_type_id(parts) == POLYGON]
    kept = flat[shapely.area(flat) > least_mm2]
    return cast(MultiPolygon, shapely.multipolygons(kept)) if len(kept) else NOTHING


def without_slivers(region: MultiPolygon, half_mm: float) -> MultiPolygon:
    """Return ``region`` without what is thinner than twice ``half_mm``, its corners kept sharp.

    A tip that was blunt before grows no sharper: nothing is added to the region.
    """
    thick = polygons(region, half_mm * half_mm)
    inner = shapely.buffer(thick, -half_mm, join_style="mitre", mitre_limit=SHARP)
    outer = shapely.buffer(inner, half_mm, join_style="mitre", mitre_limit=SHARP)
    return polygons(shapely.intersection(outer, thick), half_mm * half_mm)
