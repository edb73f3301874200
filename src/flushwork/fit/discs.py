"""Discs in a region: what they reach, what they sweep, and the middle lines of the widest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, cast

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.regions import NOTHING, chords_per_quarter
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.kernels.medial import GRID_PER_MM, Floats, Ints, medial_axis, prominence_mm
from flushwork.runtime.memo import memoized

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


# ---- The medial axis of a region: its middle lines and how wide it is along them


CHORD_MM: Final = 0.002
"""Greatest error of a width read between two points of the axis."""

SPUR_MM: Final = 1.5 * FLATTENING_MM
"""A branch is a spur where the outline would move less than this without it.

Every corner of a flattened curve grows a branch worth its chord's sagitta, so the bound lies
above the bound of flattening.
"""


@dataclass(frozen=True, slots=True, eq=False)
class MedialAxis:
    """``points`` (m, 3): x, y and distance from the outline in mm; ``edges`` (k, 2) of rows.

    A disc, whose axis is one point, has that point and no edge.
    """

    points: Floats
    edges: Ints


@memoized
def axis_of(region: MultiPolygon, spur_mm: float = SPUR_MM) -> MedialAxis:
    """Return the medial axis of ``region`` without the branches worth less than ``spur_mm``."""
    thinned = shapely.simplify(region, CHORD_MM / 2.0)
    snapped = polygons(shapely.set_precision(thinned, 1.0 / GRID_PER_MM))
    parts = [_axis_of_polygon(polygon, spur_mm) for polygon in snapped.geoms]
    if not parts:
        return MedialAxis(points=np.zeros((0, 3)), edges=np.zeros((0, 2), dtype=np.int64))
    before = np.cumsum([0] + [len(part.points) for part in parts])
    return MedialAxis(
        points=np.concatenate([part.points for part in parts]),
        edges=np.concatenate(
            [part.edges + offset for part, offset in zip(parts, before, strict=False)]
        ),
    )


def _axis_of_polygon(polygon: Polygon, spur_mm: float) -> MedialAxis:
    oriented = shapely.orient_polygons(polygon)
    rings = [np.asarray(ring.coords)[:-1] for ring in (oriented.exterior, *oriented.interiors)]
    points, edges = medial_axis(rings, CHORD_MM)
    kept = edges[prominence_mm(points, edges) >= spur_mm] if spur_mm > 0.0 and len(edges) else edges
    if not len(kept):
        return MedialAxis(
            points=points[[np.argmax(points[:, 2])]] if len(points) else points, edges=kept
        )
    used, numbers = np.unique(kept, return_inverse=True)
    return MedialAxis(points=points[used], edges=numbers.reshape(-1, 2))
