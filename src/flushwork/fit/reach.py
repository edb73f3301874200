"""What a bit reproduces of a region, the opening by its disc, and where it cannot pass."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from math import hypot, radians, tan
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Drawn
from flushwork.art.regions import NOTHING
from flushwork.core.tolerances import FLATTENING_MM, SLOT_WIDTH_MM, VISIBLE_MM
from flushwork.fit.discs import (
    LINE_MM,
    OFFSET_MM,
    MedialAxis,
    axis_of,
    grow,
    polygons,
    shrink,
    without_slivers,
)
from flushwork.kernels.medial import Floats
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Bit, BitKind


@dataclass(frozen=True, slots=True)
class Neck:
    """A place the bit cannot pass: where, how wide the artwork is there."""

    x_mm: float
    y_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Reach:
    """What one bit makes of one region.

    ``centres`` is where the bit's axis may go (a slot exactly one bit wide is a sliver at
    most ``SLOT_WIDTH_MM`` wide); ``reached`` what it then cuts; ``lost`` the rest of the region.
    ``deepest_mm`` is the greatest distance from a point of ``lost`` to ``reached``, at ``deepest``.
    """

    bit: Bit
    centres: MultiPolygon
    reached: MultiPolygon
    lost: MultiPolygon
    lost_mm2: float
    deepest_mm: float
    deepest: tuple[float, float] | None
    necks: tuple[Neck, ...]

    @property
    def passes(self) -> bool:
        """Whether the bit goes everywhere (corners may stay round)."""
        return not self.necks and not self.centres.is_empty


@dataclass(frozen=True, slots=True)
class Fit:
    """The bits for one inlay, widest first, and the reason in one sentence.

    ``bits`` is empty where no owned bit can cut it.  ``narrowest_needed`` reproduces all that
    any owned bit can.  ``reaches`` holds every owned flat (or, for V engraving, V-bit) bit that was
    tried.  ``floor`` is what a flat bit clears of an engraving's flat floor before the V-bit.
    """

    drawn: Drawn
    bits: tuple[Bit, ...]
    narrowest_needed: Bit | None
    reaches: tuple[Reach, ...]
    reason: str
    floor: Reach | None = None

    def reach(self, bit: Bit) -> Reach | None:
        """Return the reach of one bit, if it was tried."""
        return next((reach for reach in self.reaches if reach.bit == bit), None)


TAPER: Final = tan(radians(2.5))
"""A stretch as long as the disc's radius whose walls close by less than 5 degrees makes an arm.

Assumed (3 to 10 degrees would serve): the tip of a leaf or star is a corner that stays round, a
slot that hardly narrows is a slot the bit cannot enter.
"""

WIDENS_MM: Final = VISIBLE_MM / 2.0
"""An arm that gets wider again by this much (in radius) is an arm however short it is."""


@dataclass(slots=True)
class _Narrow:
    """A connected part of the axis where the disc does not fit."""

    links: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    entrances: list[tuple[int, int]] = field(default_factory=list)


def necks_of(axis: MedialAxis, radius_mm: float) -> tuple[Neck, ...]:
    """Return the places where a disc of ``radius_mm`` cannot pass along ``axis``.

    One neck each for: a part of the region the disc fits nowhere in (at its widest), a passage
    between places where it fits (at its narrowest), an arm it cannot enter (at its narrowest).
    A corner that narrows evenly to a point is none of these.
    """
    fits = axis.points[:, 2] >= radius_mm
    found: list[int] = []
    for part in _narrow_parts(axis, fits):
        if len(part.entrances) == 0:
            found.append(max(part.links, key=lambda k: (axis.points[k, 2], -k)))
        elif len(part.entrances) == 1:
            found.extend(_arm(axis, part, radius_mm))
        else:
            found.append(min(_passage(part), key=lambda k: (axis.points[k, 2], k)))
    loose = np.setdiff1d(np.flatnonzero(~fits), axis.edges)
    rows = [*found, *loose.tolist()]
    return tuple(
        Neck(x_mm=x, y_mm=y, width_mm=2.0 * radius) for x, y, radius in axis.points[rows].tolist()
    )


def _narrow_parts(
    axis: MedialAxis, fits: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> list[_Narrow]:
    """Gather the edges that do not fit into connected parts, each with its ways in."""
    links: dict[int, list[int]] = defaultdict(list)
    entrances: list[tuple[int, int]] = []
    for a, b in axis.edges.tolist():
        if fits[a] and fits[b]:
            continue
        if fits[a] or fits[b]:
            entrances.append((a, b) if fits[a] else (b, a))
            links[b if fits[a] else a] += ()
        else:
            links[a].append(b)
            links[b].append(a)
    part_of: dict[int, _Narrow] = {}
    parts: list[_Narrow] = []
    for start in links:
        if start in part_of:
            continue
        part = _Narrow()
        parts.append(part)
        part_of[start] = part
        waiting = [start]
        while waiting:
            node = waiting.pop()
            part.links[node] = links[node]
            for other in links[node]:
                if other not in part_of:
                    part_of[other] = part
                    waiting.append(other)
    for outside, inside in entrances:
        part_of[inside].entrances.append((outside, inside))
    return parts


def _passage(part: _Narrow) -> Iterable[int]:
    """Return the points of ``part`` on ways between its entrances, its dead ends taken off."""
    degree = {node: len(others) for node, others in part.links.items()}
    for _, inside in part.entrances:
        degree[inside] += 1
    dead = [node for node, count in degree.items() if count < 2]
    while dead:
        node = dead.pop()
        if node not in degree:
            continue
        del degree[node]
        for other in part.links[node]:
            if other in degree:
                degree[other] -= 1
                if degree[other] < 2:
                    dead.append(other)
    return degree


def _arm(axis: MedialAxis, part: _Narrow, radius_mm: float) -> Iterator[int]:
    """Yield the narrowest point on the way into ``part`` if it is an arm and no mere corner."""
    outside, inside = part.entrances[0]
    heap = [(_apart(axis, outside, inside), inside, outside)]
    before: dict[int, int] = {}
    away: dict[int, float] = {outside: 0.0}
    end: int | None = None
    while heap:
        so_far, node, parent = heappop(heap)
        if node in before:
            continue
        before[node], away[node] = parent, so_far
        if _widens_or_stays(axis, node, before, away, radius_mm):
            end = node
        for other in part.links[node]:
            if other not in before:
                heappush(heap, (so_far + _apart(axis, node, other), other, node))
    if end is not None:
        yield min(_way_in(end, before), key=lambda k: (axis.points[k, 2], away[k]))


def _widens_or_stays(
    axis: MedialAxis, node: int, before: dict[int, int], away: dict[int, float], radius_mm: float
) -> bool:
    """Whether the arm is wider at ``node`` than before it, or about as wide for a stretch."""
    radius = axis.points[node, 2]
    for earlier in _way_in(before[node], before):
        stretch = away[node] - away[earlier]
        closes = axis.points[earlier, 2] - radius
        if closes < -WIDENS_MM or (stretch >= radius_mm and closes < stretch * TAPER):
            return True
    return False


def _way_in(node: int, before: dict[int, int]) -> Iterator[int]:
    """Yield ``node`` and the points before it, back to the one outside."""
    yield node
    while node in before:
        node = before[node]
        yield node


def _apart(axis: MedialAxis, a: int, b: int) -> float:
    (x0, y0, _), (x1, y1, _) = axis.points[a], axis.points[b]
    return hypot(float(x1 - x0), float(y1 - y0))


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
