"""Rings that clear a region: inward offsets as a tree, and what a wide step leaves between them.

Opening new ground by loops: the bit is never engaged by more than a stated angle.

Each loop is a circle, the next one a little further along the middle line of what is to be opened.
A bit of radius r on a circle of radius p about c cuts inside the circle of radius R = p + r that
it clears; where the loop before cleared to R - a in that direction, the edge is engaged by the
angle t with (R - a)^2 = p^2 + r^2 + 2 p r cos t (law of cosines).

What a wider bit left standing, and the passes that take it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, cos, pi, sin, sqrt
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.discs import LINE_MM, axis_of, grow, polygons, shrink
from flushwork.runtime.memo import memoized
from flushwork.toolpaths.orders import PocketCut
from flushwork.toolpaths.paths import Path, climbing_rings, lines_of, swept, way
from flushwork.toolpaths.track import Floats, Place2, Track

RING_MM: Final = 0.01
"""Bound of the inner rings; half of it for their offset, half for thinning their points."""

ROUND_MM: Final = 0.001
"""Bound of the inner rings' own corners: chords so short that even a small corner is known for an
arc again, which then is one line of a G-code file."""

SLOT_MM: Final = 0.003
"""A room for the axis no wider than twice this is a line: run once along its middle, the bit
stays less short of either wall than flattened curves lie off those that were drawn."""

WALL_MM: Final = 0.002
"""Bound within which the wall's points are thinned."""

OVERLAP_MM: Final = 0.03
"""Two neighbouring passes share at least this much, so that no rounding leaves a hair between."""


_ABOUT_ARM: Final = 8.0
"""The middle of an arm is sought with this much around it, in widths of what is left for the wall:
an arm is at most two of them wide, so where it is cut off no longer matters to its middle."""


@dataclass(frozen=True, slots=True, eq=False)
class ClearingRing:
    """One offset polygon: its paths, and the polygons of the next offset that lie inside it."""

    polygon: Polygon
    paths: tuple[Path, ...]
    inner: tuple[ClearingRing, ...]


@memoized
def wide_and_slots(centres: Polygon) -> tuple[MultiPolygon, tuple[Path, ...]]:
    """Part the places the axis may go into those with an area and mere lines (or points)."""
    wide = _opened(centres, SLOT_MM)
    slivers = shapely.difference(centres, _mitred(wide, LINE_MM / 10.0))
    lines, dots = _middles(polygons(slivers, LINE_MM * LINE_MM), 2.0 * LINE_MM)
    kept = [path for path in lines if path.length_mm > 4.0 * SLOT_MM]
    dots += [_middle(path) for path in lines if path.length_mm <= 4.0 * SLOT_MM]
    about = [wide, *(path.line for path in kept)]
    for dot in dots:
        if not any(shapely.dwithin(dot.line, each, 4.0 * SLOT_MM) for each in about):
            kept.append(dot)
            about.append(dot.line)
    return wide, tuple(kept)


@memoized
def bulk_of(wide: MultiPolygon, leave_mm: float) -> tuple[MultiPolygon, tuple[Path, ...]]:
    """Return where the axis goes before the finish pass: areas for rings, and lines.

    The areas keep ``leave_mm`` off the wall.  An arm too narrow for rings there is run along its
    middle, so that the finish pass has at most twice ``leave_mm`` to take on either side of it.
    """
    fat = _opened(shrink(wide, leave_mm, ROUND_MM), leave_mm)
    arms = polygons(
        shapely.difference(wide, _mitred(fat, leave_mm + LINE_MM)), leave_mm * leave_mm / 2.0
    )
    whole = [part for part in wide.geoms if not shapely.intersects(part, fat)]
    if arms.is_empty and not whole:
        return fat, ()
    near = shapely.union_all([shapely.buffer(arms, 2.0 * leave_mm), *whole])
    about = shapely.buffer(
        shapely.simplify(near, leave_mm / 2.0), _ABOUT_ARM * leave_mm, quad_segs=2
    )
    narrow = shapely.intersection(shapely.simplify(wide, WALL_MM), about)
    lines, dots = _middles(polygons(narrow), leave_mm / 2.0)
    outside = shapely.difference(shapely.MultiLineString([path.line for path in lines]), fat)
    parts = [*lines_of(shapely.intersection(outside, near)), *dots]
    paths = [
        path
        for path in parts
        if path.length_mm > 2.0 * leave_mm or not shapely.dwithin(fat, path.line, leave_mm)
    ]
    return fat, tuple(paths)


def _opened(region: BaseGeometry, half_mm: float) -> MultiPolygon:
    """Return ``region`` without what is narrower than twice ``half_mm``, its corners kept."""
    opened = _mitred(_mitred(region, -half_mm), half_mm)
    return polygons(shapely.intersection(opened, region), half_mm * half_mm)


def _mitred(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    return shapely.buffer(region, distance_mm, join_style="mitre", mitre_limit=10.0)


def _middle(path: Path) -> Path:
    """Return the place half way along a path that is too short to be one."""
    half = path.line.interpolate(0.5, normalized=True)
    return Path(np.array([[half.x, half.y]]), closed=False)


def _middles(narrow: MultiPolygon, spur_mm: float) -> tuple[list[Path], list[Path]]:
    """Return the middle lines of narrow areas, and the middles of those that have only a point."""
    if narrow.is_empty:
        return [], []
    axis = axis_of(narrow, spur_mm)
    lines = shapely.line_merge(shapely.union_all(shapely.linestrings(axis.points[axis.edges, :2])))
    loose = np.setdiff1d(np.arange(len(axis.points)), axis.edges)
    dots = [Path(axis.points[k : k + 1, :2], closed=False) for k in loose]
    return list(lines_of(shapely.simplify(lines, WALL_MM))), dots


@memoized
def rings_of(bulk: MultiPolygon, step_mm: float, radius_mm: float) -> tuple[ClearingRing, ...]:
    """Return the rings that clear ``bulk``, a tree per polygon, each ``step_mm`` inside the last.

    Points further than ``radius_mm`` from a ring and from the next offset would stay standing;
    they get paths of their own.
    """
    return tuple(_ring(polygon, step_mm, radius_mm) for polygon in bulk.geoms)


def _ring(polygon: Polygon, step_mm: float, radius_mm: float) -> ClearingRing:
    whole = MultiPolygon([polygon])
    inside = shrink(whole, step_mm, ROUND_MM)
    paths = list(climbing_rings(polygon, ROUND_MM))
    covers = radius_mm - OVERLAP_MM
    if step_mm > covers:
        paths = [*left_between(whole, inside, covers), *paths]
    return ClearingRing(
        polygon=polygon,
        paths=tuple(replace(path, inner=True) for path in paths),
        inner=tuple(_ring(part, step_mm, radius_mm) for part in inside.geoms),
    )


def left_between(outer: MultiPolygon, inner: MultiPolygon, covers_mm: float) -> tuple[Path, ...]:
    """Return paths over what rings around ``outer`` and all of ``inner`` leave between them."""
    left = shapely.difference(shrink(outer, covers_mm, RING_MM), grow(inner, covers_mm, RING_MM))
    parts = polygons(left, 1e-6)
    return tuple(path for part in parts.geoms for path in climbing_rings(part, 0.0))


MOST_RAD: Final = pi / 3.0
"""Greatest engagement of a loop: a third of a slot's.  Assumed (40 to 80 degrees)."""

SPUR_SHARE: Final = 0.5
"""Branches of the middle line worth less than this share of the radius are left to the rings."""


def advance_mm(loop_mm: float, radius_mm: float) -> float:
    """Return how far the next loop of radius ``loop_mm`` may lie ahead, by the law above."""
    cleared = loop_mm**2 + radius_mm**2 + 2.0 * loop_mm * radius_mm * cos(MOST_RAD)
    return loop_mm + radius_mm - sqrt(cleared)


def middle_lines(core: Polygon, radius_mm: float) -> list[Floats]:
    """Return the middle lines of an area, the longest first, as points (n, 2)."""
    axis = axis_of(MultiPolygon([core]), SPUR_SHARE * radius_mm)
    if not len(axis.edges):
        return []
    merged = shapely.line_merge(shapely.union_all(shapely.linestrings(axis.points[axis.edges, :2])))
    lines = [path.points for path in lines_of(merged)]
    return sorted(lines, key=lambda points: -float(way(points)[-1]))


def loops_along(
    line: Floats, room_mm: Callable[[Place2], float], widest_mm: float, radius_mm: float
) -> Iterator[tuple[Place2, float]]:
    """Yield centre and radius of each loop along a line, until there is no room for one.

    ``room_mm`` tells how far the axis may go from a place.  A loop grows by no more than its share
    of the advance, so that the engagement holds where the ground widens too.
    """
    along = way(line)
    place, before = 0.0, None
    least = 0.3 * radius_mm
    while place <= along[-1] + 1e-9:
        centre = (
            float(np.interp(place, along, line[:, 0])),
            float(np.interp(place, along, line[:, 1])),
        )
        loop = min(widest_mm, room_mm(centre))
        if loop < least:
            return
        step = advance_mm(loop, radius_mm)
        if before is not None and loop > before:
            loop = min(loop, before + step / 4.0)
        yield centre, loop
        before = loop
        if place >= along[-1]:
            return
        place = min(place + 0.7 * step, float(along[-1]))


def run_loops(track: Track, loops: Sequence[tuple[Place2, float]], height_mm: float) -> Path:
    """Run the loops after the first, counter-clockwise (climbing); return the way.

    The tip stands on the first loop, which is cleared.  Each loop begins and ends at its rear, so
    that the tip goes on to the next across what is cleared.
    """
    places = [track.place]
    for (before, _), (centre, loop) in pairwise(loops):
        ahead = atan2(centre[1] - before[1], centre[0] - before[0])
        rear = (centre[0] - loop * cos(ahead), centre[1] - loop * sin(ahead))
        track.feed(rear, height_mm)
        track.arc(centre, 2.0 * pi, (*rear, height_mm))
        turn = ahead + pi + np.linspace(0.0, 2.0 * pi, 24)
        places += zip(
            (centre[0] + loop * np.cos(turn)).tolist(),
            (centre[1] + loop * np.sin(turn)).tolist(),
            strict=True,
        )
    return Path(np.array(places), closed=False)


HAIR_MM: Final = 0.005
"""Stock thinner than twice this is a trace of rounding, not stock."""


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """Passes over one piece of stock: sets of paths, the outermost (the wall) last."""

    passes: tuple[tuple[Path, ...], ...]


def rest_of(
    operation: PocketCut, room: Polygon, wide: MultiPolygon, slots: Sequence[Path]
) -> tuple[Rest, ...]:
    """Return the passes that take what ``operation.cleared`` left of what ``room`` can reach.

    Each ring is followed only where it still meets stock; the walk over the rings begins at the
    wall, so that the wall is followed wherever it is new, and is cut in the opposite order.
    """
    radius = operation.bit.radius_mm
    reached = shapely.intersection(grow(room, radius, RING_MM / 2.0), operation.region)
    stock = _thick(shapely.difference(reached, operation.cleared))
    return tuple(
        Rest(tuple(reversed(passes)))
        for piece in _pieces(stock, radius)
        if (passes := list(_passes(operation, piece, wide, slots)))
    )


def _pieces(stock: MultiPolygon, radius_mm: float) -> Iterator[MultiPolygon]:
    """Gather stock that one pass may take together: within a bit's width of each other."""
    if stock.is_empty:
        return
    for patch in grow(stock, radius_mm, RING_MM).geoms:
        shapely.prepare(patch)
        yield MultiPolygon([part for part in stock.geoms if shapely.contains(patch, part)])


def _passes(
    operation: PocketCut, stock: MultiPolygon, wide: MultiPolygon, slots: Sequence[Path]
) -> Iterator[tuple[Path, ...]]:
    radius = operation.bit.radius_mm
    step = operation.bit.step * operation.bit.diameter_mm
    left = stock
    rings: Sequence[Path] = [
        *(path for part in wide.geoms for path in climbing_rings(part, WALL_MM)),
        *slots,
    ]
    around = grow(stock, radius, RING_MM)
    offset = 0.0
    while rings and not left.is_empty:
        paths = tuple(_where_needed(rings, left, stock, radius))
        if paths:
            yield paths
            left = _thick(shapely.difference(left, swept(paths, radius)))
        offset += step
        inner = shrink(wide, offset, RING_MM / 2.0)
        if not shapely.intersects(inner, around):
            break
        rings = [path for part in inner.geoms for path in climbing_rings(part, RING_MM / 2.0)]
    within = polygons(shapely.intersection(left, wide))
    if not within.is_empty:
        yield tuple(path for part in within.geoms for path in climbing_rings(part, 0.0))


def _where_needed(
    paths: Sequence[Path], left: MultiPolygon, stock: MultiPolygon, radius_mm: float
) -> Iterator[Path]:
    """Cut paths down to where the bit still meets stock, running as they ran."""
    near = grow(left, radius_mm - HAIR_MM, RING_MM / 10.0)
    touched = grow(stock, radius_mm - OVERLAP_MM, RING_MM)
    shapely.prepare(near)
    for path in paths:
        if shapely.covers(near, path.line):
            yield _freed(path, touched)
            continue
        for piece in _pieces_of(path, near):
            yield _freed(piece, touched)


def _pieces_of(path: Path, near: MultiPolygon) -> Iterator[Path]:
    """Yield the parts of a path that lie in ``near``, running as the path does."""
    inside = shapely.line_merge(shapely.intersection(path.line, near))
    for piece in lines_of(inside):
        if piece.length_mm > HAIR_MM:
            yield replace(piece if _same_way(piece, path) else piece.reversed(), either=path.either)


def _same_way(piece: Path, path: Path) -> bool:
    """Whether a piece of a path runs the way the path does, judged by a segment of it."""
    k = (len(piece.points) - 1) // 2
    a, b = piece.points[k], piece.points[k + 1]
    ends = shapely.points([a + 0.1 * (b - a), b - 0.1 * (b - a)])
    first, last = shapely.line_locate_point(path.line, ends)
    return bool(first < last)


def _freed(path: Path, touched: MultiPolygon) -> Path:
    """Mark a path whose start meets no stock."""
    return replace(path, free=not shapely.intersects(touched, shapely.Point(path.start)))


def _thick(region: BaseGeometry) -> MultiPolygon:
    """Return ``region`` without its hairs."""
    inner = shapely.buffer(polygons(region), -HAIR_MM, join_style="mitre")
    return polygons(shapely.intersection(shapely.buffer(inner, 2.0 * HAIR_MM), region), 1e-4)
