"""The medial axis of a region: its middle lines and how wide it is along them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from flushwork.core.tolerances import FLATTENING_MM
from flushwork.fit.discs import polygons
from flushwork.kernels.medial import GRID_PER_MM, Floats, Ints, medial_axis, prominence_mm
from flushwork.runtime.memo import memoized

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
