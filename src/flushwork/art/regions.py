"""From closed outlines to regions: valid polygons without dust, and their offsets."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.core.tolerances import FLATTENING_MM
from flushwork.kernels.outlines import Points, winding_numbers
from flushwork.runtime.memo import memoized

GRID_DECIMALS: Final = 6
"""Outlines are rounded to a millionth of a mm, so that edges drawn alike coincide exactly; a
five-thousandth of ``FLATTENING_MM``."""

DUST_MM2: Final = 1e-6
"""Areas below this are rounding, not artwork: a square a thousandth of a mm wide."""

CROSSING_MM2: Final = 1e-4
"""A loop smaller than this (a square of 0.01 mm) is the rounding of a drawing file, not a path
that crosses itself; twice ``FLATTENING_MM`` squared, what two flattened curves may overlap by."""

NOTHING: Final = MultiPolygon()
NO_LINES: Final = MultiLineString()


def many(shape: BaseGeometry) -> MultiPolygon:
    """Return the area of any geometry: lines, points and dust left out, rings oriented."""
    parts: list[Polygon] = []
    for part in shapely.get_parts(shapely.get_parts([shape])):
        if isinstance(part, Polygon) and part.area > DUST_MM2:
            holes = [ring for ring in part.interiors if Polygon(ring).area > DUST_MM2]
            parts.append(Polygon(part.exterior, holes))
    return MultiPolygon([shapely.orient_polygons(part) for part in parts])


def many_lines(shape: BaseGeometry) -> MultiLineString:
    """Return the lines of any geometry."""
    parts = shapely.get_parts(shapely.get_parts([shape]))
    return MultiLineString(
        [
            LineString(part)
            for part in parts
            if part.length > 0.0 and part.geom_type in ("LineString", "LinearRing")
        ]
    )


def united(regions: Sequence[BaseGeometry]) -> MultiPolygon:
    """Return everything that lies in any of the regions."""
    return _united(tuple(regions)) if len(regions) else NOTHING


@memoized
def _united(regions: tuple[BaseGeometry, ...]) -> MultiPolygon:
    return many(shapely.union_all(regions))


@memoized
def apart_mm(one: BaseGeometry, other: BaseGeometry) -> float:
    """Return how far apart two regions are, in mm."""
    return float(one.distance(other))


def on_grid(points: Points) -> Points:
    """Return points rounded to the grid, repeated ones in a row left out."""
    rounded: Points = np.round(points, GRID_DECIMALS) + 0.0
    keep = np.ones(len(rounded), dtype=bool)
    keep[1:] = np.any(rounded[1:] != rounded[:-1], axis=1)
    return rounded[keep]


def _closed(points: Points) -> Points | None:
    """Return the outline on the grid and closed; None where it has no area to enclose."""
    ring = on_grid(points)
    if len(ring) and np.any(ring[0] != ring[-1]):
        ring = np.concatenate([ring, ring[:1]])
    return ring if len(ring) >= 4 else None


def _faces(rings: Sequence[Points]) -> tuple[list[Polygon], NDArray[np.int64], list[LineString]]:
    """Cut the plane along outlines: faces, a winding number each, and the noded lines."""
    noded = shapely.union_all([LineString(ring) for ring in rings])
    pieces = [part for part in shapely.get_parts(noded) if isinstance(part, LineString)]
    faces = [
        face
        for face in shapely.get_parts(shapely.polygonize(pieces))
        if isinstance(face, Polygon) and face.area > 0.0
    ]
    starts = np.concatenate([ring[:-1] for ring in rings])
    ends = np.concatenate([ring[1:] for ring in rings])
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    return faces, winding_numbers(inside, starts, ends), pieces


def filled(outlines: Sequence[Points], *, even_odd: bool = False) -> MultiPolygon:
    """Return the region that closed outlines fill, by the nonzero rule or the even-odd rule.

    ``outlines`` are (n, 2) each, closed where they are not (SVG 2, section 13.4.2, fill-rule).
    """
    rings = [ring for ring in map(_closed, outlines) if ring is not None]
    if not rings:
        return NOTHING
    if len(rings) == 1:
        simple = Polygon(rings[0])
        if simple.is_valid:
            return many(simple)
    faces, windings, _ = _faces(rings)
    kept = [
        face
        for face, winding in zip(faces, windings, strict=True)
        if (winding % 2 if even_odd else winding)
    ]
    return united(kept)


def crossing(outline: Points) -> tuple[float, float] | None:
    """Return a place where a closed outline crosses itself, or None.

    An outline that only touches itself does not cross: it winds 0 or 1 times, one way, about
    every point.  Loops below ``CROSSING_MM2`` do not count.
    """
    ring = _closed(outline)
    if ring is None or shapely.is_simple(LineString(ring)):
        return None
    faces, windings, pieces = _faces([ring])
    areas = np.array([face.area for face in faces])
    forward = float(areas[windings > 0].sum()) >= float(areas[windings < 0].sum())
    wanted = 1 if forward else -1
    bad = (windings != 0) & (windings != wanted) & (areas > CROSSING_MM2)
    if not bad.any():
        return None
    ends = Counter(place for piece in pieces for place in (piece.coords[0], piece.coords[-1]))
    nodes = [place for place, count in ends.items() if count > 2] or list(ends)
    face = faces[int(np.flatnonzero(bad)[0])]
    distances = shapely.distance(shapely.points(nodes), face.exterior)
    x, y = nodes[int(np.argmin(distances))][:2]
    return float(x), float(y)


# ---- Offsets, strokes and openings with a stated bound
#
# An offset by d replaces each circular arc by chords; with n chords in a quarter turn they stay
# within d (1 - cos(pi / (4 n))) of it, so n = pi / (4 acos(1 - tolerance / d)) keeps the bound
# (sagitta of a chord; elementary). The chords lie on the inside of the arc: an outward offset is
# too small by at most the bound, never too large; an inward offset, which is the complement of an
# outward one, is too large by at most the bound, never too small.
#
# Outlines thinned: points that short edges can do without are left out, straight edges stay.


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


def _mitred(line: BaseGeometry, half_mm: float, limit: float) -> list[Polygon]:
    """Return what mitres add to the bevelled corners of a line."""
    points = shapely.get_coordinates(line)
    if len(points) < 3:
        return []
    if line.is_closed:
        points = np.concatenate([points, points[1:2]])
    ways = np.diff(points, axis=0)
    ways /= np.hypot(*ways.T)[:, None]
    turns = ways[:-1, 0] * ways[1:, 1] - ways[:-1, 1] * ways[1:, 0]
    # the mitre is 1 / sin(angle / 2) widths long, and the angle is what the turn leaves of a half
    halves = np.sqrt(np.maximum((1.0 + (ways[:-1] * ways[1:]).sum(axis=1)) / 2.0, 0.0))
    found: list[Polygon] = []
    for index in np.flatnonzero((halves * limit >= 1.0) & (np.abs(turns) > _SEEN_TURN)):
        side = -np.sign(turns[index]) * half_mm
        outer = [side * np.array([-way[1], way[0]]) for way in ways[index : index + 2]]
        tip = (outer[0] + outer[1]) / (2.0 * halves[index] ** 2)
        corner = points[index + 1]
        found.append(Polygon([corner, corner + outer[0], corner + tip, corner + outer[1]]))
    return found


_SEEN_TURN: Final = 0.02
"""A turn of a degree or less is a chord of a curve: its mitre adds a ten-thousandth of a width."""


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

    ``mitre`` is the greatest length of a mitred corner in widths; a sharper one is bevelled (SVG 2,
    section 13.5.5).
    Points at bends that the tolerance allows to leave out are left out.
    """
    half_mm = width_mm / 2.0
    offset_mm = _OFFSET_SHARE * tolerance_mm
    covered = shapely.buffer(
        list(lines),
        half_mm,
        quad_segs=chords_per_quarter(half_mm, offset_mm),
        cap_style=ends,
        join_style="bevel" if joins == "mitre" else joins,
    )
    if joins == "mitre":
        corners = [corner for each in lines for corner in _mitred(each, half_mm, mitre)]
        covered = np.concatenate([covered, np.array([*corners, None], dtype=object)[:-1]])
    return thinned(many(shapely.union_all(covered)), tolerance_mm - offset_mm)
