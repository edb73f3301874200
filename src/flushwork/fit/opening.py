"""What a bit reproduces of a region: the opening of the region by the bit's disc."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.regions import NOTHING
from flushwork.core.tolerances import FLATTENING_MM, SLOT_WIDTH_MM
from flushwork.fit.discs import LINE_MM, OFFSET_MM, grow, polygons, shrink, without_slivers
from flushwork.fit.medial_axis import MedialAxis, axis_of
from flushwork.fit.reach import TAPER, Reach, necks_of
from flushwork.kernels.medial import Floats
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Bit, BitKind

UNSEEN_MM: Final = FLATTENING_MM / 2.0
"""Half the width of what counts as lost at least: a disc rounds every corner of a flattened curve,
which lies up to ``FLATTENING_MM`` off the curve that was drawn."""

ROUNDING_MM: Final = 0.0008
"""What the sliver, arcs and the last decimal may add to a cut along a middle line: a slot is let
pass so much less than the tolerance, and the wall stays within it."""

SURELY_WIDE_MM: Final = 0.01
"""Where the middle line has this much more room than the bit needs, it lies among the places for
its axis: ten times the error of either.  No slot is looked for there."""

TIGHT_MM: Final = SLOT_WIDTH_MM - 2.0 * ROUNDING_MM + FLATTENING_MM / 2.0
"""A slot this much narrower than the bit passes it, as it is drawn: chords make one between
curves narrower by up to ``FLATTENING_MM``, and a ring is to pass where a straight slot does."""

DEAD_END_MM: Final = TIGHT_MM / 2.0 / TAPER
"""From this length on a middle line that ends blind belongs to a slot.  In a corner the room that
the tolerance gives is used up sooner: a corner stays round, whatever the tolerance."""

SAMPLE_MM: Final = 0.25
"""How closely the outline of what is lost is first looked at for its deepest gap."""

SAMPLES: Final = 500
"""Places first looked at along a long outline, where a whole arm is lost."""

GAP_MM: Final = 0.005
"""The deepest gap is found to this: half of the last decimal that is printed of it."""


@memoized
def reach(region: MultiPolygon, bit: Bit, axis: MedialAxis | None = None) -> Reach:
    """Return what ``bit`` makes of ``region``.

    The reached area is the opening of the region by a disc (Serra, *Image Analysis and
    Mathematical Morphology*, 1982): a corner of angle a keeps r^2 (cot(a/2) - (pi - a)/2) of
    wood.  A slot up to ``SLOT_WIDTH_MM`` narrower than the bit counts as reached: it is cut
    along its middle line.  A V-bit reaches what its tip does, without that allowance: its tip cuts
    nothing where it only touches the face.  ``axis`` is the region's medial axis, where the caller
    has it.
    """
    radius = bit.tip_mm / 2.0 if bit.kind is BitKind.V_BIT else bit.radius_mm
    if region.is_empty or radius <= LINE_MM:
        return Reach(bit, region, region, NOTHING, 0.0, 0.0, None, ())
    axis = axis_of(region) if axis is None else axis
    slack = radius if bit.kind is BitKind.V_BIT else radius - TIGHT_MM / 2.0
    if axis.points[:, 2].max(initial=0.0) < slack:
        deepest_mm, deepest = gap(region, NOTHING)
        necks = necks_of(axis, slack)
        return Reach(bit, NOTHING, NOTHING, region, region.area, deepest_mm, deepest, necks)
    wide = without_slivers(shrink(region, radius), LINE_MM)
    slots = _slots(axis, wide, slack, radius)
    centres, reached = wide, grow(wide, radius)
    if not slots.is_empty:
        centres = polygons(shapely.union(wide, grow(slots, LINE_MM)))
        along = shapely.intersection(grow(slots, radius), region)
        reached = polygons(shapely.union(reached, along))
    lost = without_slivers(polygons(shapely.difference(region, reached)), UNSEEN_MM)
    deepest_mm, deepest = gap(lost, reached)
    return Reach(
        bit=bit,
        centres=centres,
        reached=reached,
        lost=lost,
        lost_mm2=lost.area,
        deepest_mm=deepest_mm,
        deepest=deepest,
        necks=necks_of(axis, slack),
    )


@memoized
def gap(lost: MultiPolygon, reached: MultiPolygon) -> tuple[float, tuple[float, float] | None]:
    """Return the greatest distance from the outline of ``lost`` to ``reached``, and where.

    Where nothing is reached it is the greatest extent of ``lost``, however that is turned, at the
    middle of that.
    """
    if lost.is_empty:
        return 0.0, None
    if reached.is_empty:
        return _extent(lost)
    apart = max(SAMPLE_MM, lost.length / SAMPLES)
    # the outline, not the area: an area made dense is mended where that crosses itself by a hair
    ends = _pairs(shapely.segmentize(shapely.boundary(lost), apart))
    walls = shapely.STRtree(np.asarray(shapely.linestrings(_pairs(shapely.boundary(reached)))))
    away = np.stack([_away(walls, ends[:, k]) for k in (0, 1)], axis=1)
    while True:
        k = divmod(int(np.argmax(away)), 2)
        # one step along the outline brings a place nearer or farther by that step at most
        steps = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
        open_ = (away.sum(axis=1) + steps) / 2.0 > away[k] + GAP_MM
        if not open_.any():
            return float(away[k]), (float(ends[k][0]), float(ends[k][1]))
        open_[k[0]] = True
        ends, away = ends[open_], away[open_]
        middle = ends.mean(axis=1)
        ends, away = _halved(ends, middle), _halved(away, _away(walls, middle))


def _halved(ends: Floats, middle: Floats) -> Floats:
    """Return every stretch (n, 2, ...) as its two halves."""
    halves = ((ends[:, 0], middle), (middle, ends[:, 1]))
    return np.concatenate([np.stack(half, axis=1) for half in halves])


def _away(walls: shapely.STRtree, places: Floats) -> Floats:
    """Return how far each place (n, 2) is from the nearest wall."""
    _, away = walls.query_nearest(shapely.points(places), return_distance=True, all_matches=False)
    return np.asarray(away)


def _extent(region: MultiPolygon) -> tuple[float, tuple[float, float]]:
    """Return how far the two farthest places of a region are apart, and the middle between."""
    corners = shapely.get_coordinates(shapely.convex_hull(region))
    # the farthest of a few thousand corners at most, one row after the other
    away = [np.hypot(*(corners - corner).T) for corner in corners]
    ends = [int(np.argmax(row)) for row in away]
    a = int(np.argmax([row[b] for row, b in zip(away, ends, strict=True)]))
    middle = (corners[a] + corners[ends[a]]) / 2.0
    return float(away[a][ends[a]]), (float(middle[0]), float(middle[1]))


def _pairs(outline: BaseGeometry) -> Floats:
    """Return the ends (n, 2, 2) of every stretch of an outline."""
    rings = shapely.get_parts(outline)
    coordinates, owner = shapely.get_coordinates(rings, return_index=True)
    same = owner[1:] == owner[:-1]
    return np.stack((coordinates[:-1][same], coordinates[1:][same]), axis=1)


def _slots(axis: MedialAxis, wide: MultiPolygon, slack_mm: float, radius_mm: float) -> BaseGeometry:
    """Return the middle lines along which the bit just passes, outside of ``wide``.

    A line that leads from one wide place to another counts however short; a dead end only from
    ``DEAD_END_MM`` on, or every corner would have one.  A round hole the bit just
    fills has a point.
    """
    ends = axis.points[axis.edges]
    roomy = (ends[:, :, 2] >= radius_mm + SURELY_WIDE_MM).all(axis=1)
    held = (ends[:, :, 2] >= slack_mm).any(axis=1) & ~roomy
    lines = shapely.linestrings(_clipped(ends[held], slack_mm))
    merged = shapely.line_merge(shapely.union_all(lines))
    inner = shapely.buffer(wide, -OFFSET_MM, join_style="mitre")
    outside = shapely.line_merge(shapely.difference(merged, inner))
    kept = []
    shapely.prepare(wide)
    for line in shapely.get_parts(outside):
        tips = shapely.points([line.coords[0], line.coords[-1]])
        joins = bool(shapely.dwithin(wide, tips, 2.0 * OFFSET_MM).all())
        if line.length >= DEAD_END_MM or (joins and line.length > 4.0 * OFFSET_MM):
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
