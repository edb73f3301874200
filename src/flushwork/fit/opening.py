"""What a cutter reproduces of a region: the opening of the region by the cutter's disc."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.axis import Axis, axis_of
from flushwork.fit.discs import EMPTY, OFFSET_MM, grow, polygons, shrink
from flushwork.fit.necks import necks_of
from flushwork.fit.reach import Reach
from flushwork.kernels.burn import Floats
from flushwork.memory import remembered
from flushwork.shelf.items import Cutter, CutterKind
from flushwork.tolerances import FLATTENING_MM, SLOT_WIDTH_MM, VISIBLE_MM

LINE_MM: Final = 0.001
"""Half the width of the sliver that stands for a centre line among the places the axis may go."""

UNSEEN_MM: Final = FLATTENING_MM / 2.0
"""Half the width of what counts as lost at least: a disc rounds every corner of a flattened curve,
which lies up to ``FLATTENING_MM`` off the curve that was drawn."""

ROUNDING_MM: Final = 0.0008
"""What the sliver, arcs and the last decimal may add to a cut along a middle line: a slot is let
pass so much less than the tolerance, and the wall stays within it."""

SAMPLE_MM: Final = 0.25
"""How closely the outline of what is lost is looked at for its deepest gap."""

SAMPLES: Final = 500
"""Places looked at along a long outline, where a whole arm is lost and the gap is no fine point."""


@remembered
def reach(region: MultiPolygon, cutter: Cutter, axis: Axis | None = None) -> Reach:
    """Return what ``cutter`` makes of ``region``.

    The reached area is the opening of the region by a disc (Serra, *Image Analysis and
    Mathematical Morphology*, 1982): a corner of angle a keeps r^2 (cot(a/2) - (pi - a)/2) of
    wood.  A slot up to ``SLOT_WIDTH_MM`` narrower than the cutter counts as reached: it is cut
    along its middle line.  A vee reaches what its tip does, without that allowance: its tip cuts
    nothing where it only touches the face.  ``axis`` is the region's medial axis, where the caller
    has it.
    """
    radius = cutter.tip_mm / 2.0 if cutter.kind is CutterKind.VEE else cutter.radius_mm
    if region.is_empty or radius <= LINE_MM:
        return Reach(cutter, region, region, EMPTY, 0.0, 0.0, None, ())
    axis = axis_of(region) if axis is None else axis
    tight = SLOT_WIDTH_MM / 2.0 - ROUNDING_MM
    slack = radius if cutter.kind is CutterKind.VEE else radius - tight
    if axis.points[:, 2].max(initial=0.0) < slack:
        deepest_mm, deepest = gap(region, EMPTY)
        necks = necks_of(axis, slack)
        return Reach(cutter, EMPTY, EMPTY, region, region.area, deepest_mm, deepest, necks)
    wide = _without_slivers(shrink(region, radius), LINE_MM)
    slots = _slots(axis, wide, slack)
    centres, reached = wide, grow(wide, radius)
    if not slots.is_empty:
        centres = polygons(shapely.union(wide, grow(slots, LINE_MM)))
        along = shapely.intersection(grow(slots, radius), region)
        reached = polygons(shapely.union(reached, along))
    lost = _without_slivers(polygons(shapely.difference(region, reached)), UNSEEN_MM)
    deepest_mm, deepest = gap(lost, reached)
    return Reach(
        cutter=cutter,
        centres=centres,
        reached=reached,
        lost=lost,
        lost_mm2=lost.area,
        deepest_mm=deepest_mm,
        deepest=deepest,
        necks=necks_of(axis, slack),
    )


@remembered
def gap(lost: MultiPolygon, reached: MultiPolygon) -> tuple[float, tuple[float, float] | None]:
    """Return the greatest distance from the outline of ``lost`` to ``reached``, and where.

    Where nothing is reached it is the diagonal of the bounding box, at the middle of that.
    """
    if lost.is_empty:
        return 0.0, None
    if reached.is_empty:
        x0, y0, x1, y1 = lost.bounds
        return float(np.hypot(x1 - x0, y1 - y0)), ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    apart = max(SAMPLE_MM, lost.length / SAMPLES)
    places = shapely.get_coordinates(shapely.segmentize(lost, apart))
    walls = _walls(reached)
    _, away = shapely.STRtree(walls).query_nearest(
        shapely.points(places), return_distance=True, all_matches=False
    )
    k = int(np.argmax(away))
    return float(away[k]), (float(places[k, 0]), float(places[k, 1]))


def _walls(region: MultiPolygon) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """Return the outline as single segments."""
    rings = shapely.get_rings(shapely.get_parts(region))
    coordinates, owner = shapely.get_coordinates(rings, return_index=True)
    same = owner[1:] == owner[:-1]
    pairs = np.stack((coordinates[:-1][same], coordinates[1:][same]), axis=1)
    return np.asarray(shapely.linestrings(pairs))


def _without_slivers(region: MultiPolygon, half_mm: float) -> MultiPolygon:
    """Return ``region`` without what is thinner than twice ``half_mm``, its corners kept sharp."""
    thick = polygons(region, half_mm * half_mm)
    inner = shapely.buffer(thick, -half_mm, join_style="mitre")
    outer = shapely.buffer(inner, half_mm, join_style="mitre")
    return polygons(outer, half_mm * half_mm)


def _slots(axis: Axis, wide: MultiPolygon, slack_mm: float) -> BaseGeometry:
    """Return the middle lines along which the cutter just passes, outside of ``wide``.

    A line that leads from one wide place to another counts however short; a dead end counts from
    a visible length on, or every rounded corner would have one.  A round hole the cutter just
    fills has a point.
    """
    ends = axis.points[axis.edges]
    held = (ends[:, :, 2] >= slack_mm).any(axis=1)
    lines = shapely.linestrings(_clipped(ends[held], slack_mm))
    merged = shapely.line_merge(shapely.union_all(lines))
    inner = shapely.buffer(wide, -OFFSET_MM, join_style="mitre")
    outside = shapely.line_merge(shapely.difference(merged, inner))
    kept = []
    shapely.prepare(wide)
    for line in shapely.get_parts(outside):
        tips = shapely.points([line.coords[0], line.coords[-1]])
        joins = bool(shapely.dwithin(wide, tips, 2.0 * OFFSET_MM).all())
        if line.length >= VISIBLE_MM or (joins and line.length > 4.0 * OFFSET_MM):
            kept.append(line)
    loose = np.setdiff1d(np.flatnonzero(axis.points[:, 2] >= slack_mm), axis.edges)
    dots = np.asarray(shapely.points(axis.points[loose, :2]))
    dots = dots[~shapely.dwithin(wide, dots, OFFSET_MM)]
    return shapely.union_all([*kept, *dots])


def _clipped(ends: Floats, least_mm: float) -> Floats:
    """Cut edges (k, 2, 3) back to where their radius is ``least_mm``; return (k, 2, 2)."""
    first, last = ends[:, 0], ends[:, 1]
    rise = last[:, 2] - first[:, 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(rise == 0.0, 0.0, (least_mm - first[:, 2]) / rise)
    at = first + np.clip(t, 0.0, 1.0)[:, None] * (last - first)
    a = np.where((first[:, 2] < least_mm)[:, None], at, first)
    b = np.where((last[:, 2] < least_mm)[:, None], at, last)
    return np.stack((a[:, :2], b[:, :2]), axis=1)
