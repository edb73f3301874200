"""Offsets, strokes and openings with a stated bound.

An offset by d replaces each circular arc by chords; with n chords in a quarter turn they stay
within d (1 - cos(pi / (4 n))) of it, so n = pi / (4 acos(1 - tolerance / d)) keeps the bound
(sagitta of a chord; elementary).  The chords lie on the inside of the arc: an outward offset is
too small by at most the bound, never too large; an inward offset, which is the complement of an
outward one, is too large by at most the bound, never too small.

Outlines thinned: points that short edges can do without are left out, straight edges stay.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.regions import many
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.kernels.outlines import Points

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


CENTRE_SHARE: Final = 0.15
"""Share of a tolerance for flattening a line that is to be widened: fine, since the offset doubles
the points at every bend, and thinning takes out again what nobody needs."""

_OFFSET_SHARE: Final = 0.2
"""Share of its tolerance that widening takes for chords at bends; thinning may take the rest."""

Ends = Literal["round", "flat", "square"]
Joins = Literal["round", "mitre", "bevel"]


def chords_per_quarter(distance_mm: float, tolerance_mm: float = FLATTENING_MM) -> int:
    """Return the chords in a quarter turn that keep an offset within ``tolerance_mm``."""
    if abs(distance_mm) <= tolerance_mm:
        return 1
    return max(1, math.ceil(math.pi / (4.0 * math.acos(1.0 - tolerance_mm / abs(distance_mm)))))


def offset(
    region: BaseGeometry, distance_mm: float, tolerance_mm: float = FLATTENING_MM
) -> MultiPolygon:
    """Return the region grown (or, below 0, shrunk) by a disc of ``distance_mm``."""
    if distance_mm == 0.0:
        return many(region)
    return many(
        shapely.buffer(region, distance_mm, quad_segs=chords_per_quarter(distance_mm, tolerance_mm))
    )


def stroked(
    lines: Sequence[BaseGeometry],
    width_mm: float,
    *,
    ends: Ends = "round",
    joins: Joins = "round",
    tolerance_mm: float = FLATTENING_MM,
    mitre: float = 4.0,
) -> MultiPolygon:
    """Return the region that lines of ``width_mm`` cover.

    ``mitre`` is the greatest length of a mitred corner in widths; a sharper one is cut off there.
    Points at bends that the tolerance allows to leave out are left out.
    """
    half_mm = width_mm / 2.0
    offset_mm = _OFFSET_SHARE * tolerance_mm
    covered = shapely.buffer(
        list(lines),
        half_mm,
        quad_segs=chords_per_quarter(half_mm, offset_mm),
        cap_style=ends,
        join_style=joins,
        mitre_limit=mitre,
    )
    return thinned(many(shapely.union_all(covered)), tolerance_mm - offset_mm)
