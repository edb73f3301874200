"""Operations, orders and sweeps for the tests of moves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.regions import NOTHING
from flushwork.fit.reach import reach
from flushwork.shelf.items import Bit
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import CutOrder, EngraveCut, LevelCut, LineCut, Operation, PocketCut
from flushwork.toolpaths.trace import Traced, trace
from tests.gcode.text_samples import MACHINE

NO_LINES = MultiLineString()
Floats = NDArray[np.float64]


def pocket(
    bit: Bit,
    *,
    region: MultiPolygon = NOTHING,
    cleared: MultiPolygon = NOTHING,
    floor: float = -2.0,
) -> PocketCut:
    centres = reach(region, bit).centres
    return PocketCut("leaf", bit, 0.0, floor, region, centres, cleared)


def line(bit: Bit, *, lines: MultiLineString = NO_LINES, floor: float = -2.0) -> LineCut:
    return LineCut("leaf", bit, 0.0, floor, lines)


def engraving(
    bit: Bit,
    *,
    region: MultiPolygon = NOTHING,
    floor: float = -2.0,
    outline: float = 0.0,
) -> EngraveCut:
    return EngraveCut("leaf", bit, 0.0, floor, region, outline)


def level(
    bit: Bit, *, region: MultiPolygon = NOTHING, top: float = 0.0, floor: float = -2.0
) -> LevelCut:
    return LevelCut("leaf", bit, top, floor, region)


def order_of(*operations: Operation) -> CutOrder:
    return CutOrder(
        name="cut",
        job="job",
        face="front",
        setup=1,
        sequence=1,
        bit=operations[0].bit,
        machine=MACHINE,
        origin_mm=(0.0, 0.0),
        face_z_mm=0.0,
        operations=operations,
    )


def traced(*operations: Operation) -> Traced:
    return trace(order_of(*operations))


def cutting(moves: Sequence[Move], chord: float = 0.02) -> list[Floats]:
    """Return every feed and arc as points (n, 3), arcs in chords of their own."""
    found: list[Floats] = []
    for before, move in pairwise(moves):
        a = np.array([before.x_mm, before.y_mm, before.z_mm])
        b = np.array([move.x_mm, move.y_mm, move.z_mm])
        if move.kind is MoveKind.FEED:
            found.append(np.vstack((a, b)))
        elif move.kind is MoveKind.ARC:
            centre = np.array([move.centre_x_mm, move.centre_y_mm])
            radius, angle = math.hypot(*(a[:2] - centre)), math.atan2(*(a[:2] - centre)[::-1])
            count = max(8, math.ceil(radius * abs(move.turn_rad) / chord))
            t = np.linspace(0.0, 1.0, count + 1)
            turn = angle + t * move.turn_rad
            found.append(
                np.column_stack(
                    (
                        centre[0] + radius * np.cos(turn),
                        centre[1] + radius * np.sin(turn),
                        a[2] + t * (b[2] - a[2]),
                    )
                )
            )
    return found


def runs(moves: Sequence[Move], height: float) -> list[shapely.LineString]:
    """Return the ways that lie on ``height`` or below, each as long as it goes on.

    Straight down to there is a way of no length.
    """
    found: list[list[Floats]] = []
    for each in cutting(moves):
        points = each
        if np.ptp(points[:, :2], axis=0).max() == 0.0:
            points = points[[-1, -1]]
        if points[:, 2].max() > height + 1e-6:
            continue
        if found and np.array_equal(found[-1][-1][-1], points[0]):
            found[-1].append(points)
        else:
            found.append([points])
    return [shapely.LineString(np.concatenate(parts)[:, :2]) for parts in found]


def swept_at(moves: Sequence[Move], bit: Bit, height: float) -> BaseGeometry:
    """Return what a flat bit's disc covers by moves that lie on ``height`` or below."""
    lines = runs(moves, height)
    return shapely.union_all(shapely.buffer(lines, bit.radius_mm, quad_segs=32))


def straight_falls(moves: Sequence[Move], top: float) -> list[float]:
    """Return how far into what stands each fed way down goes that is steeper than a ramp.

    Ways down are taken together as long as they go on, so that a plunge in small steps, or along
    a steep helix, is one fall.  Where the axis has been at that height before it goes through air.
    """
    found: list[float] = []
    for k, points, ways in _ways_down(moves):
        excess = points[:, 2] + ways * math.tan(math.radians(5.1))
        first = last = 0
        for j in range(1, len(points) + 1):
            if j == len(points) or excess[j] > excess[first]:
                if excess[first] - excess[last] > 2e-3:
                    stands = _into_what_stands(moves[:k], points[first : last + 1], top)
                    found += [stands] if stands > 1e-3 else []
                first = last = j
            elif excess[j] < excess[last] - 1e-3:  # a ramp's last decimal is no fall
                last = j
    return found


def _ways_down(moves: Sequence[Move]) -> list[tuple[int, Floats, Floats]]:
    """Return each stretch of falling feeds: how many moves come before, places, way across."""
    found: list[tuple[int, list[Floats]]] = []
    going = False
    for k, pair in enumerate(pairwise(moves), 1):
        points = cutting(pair) if pair[1].z_mm < pair[0].z_mm else []
        if points and going:
            found[-1][1].append(points[0][1:])
        elif points:
            found.append((k, points))
        going = bool(points)
    joined = [(k, np.concatenate(parts)) for k, parts in found]
    steps = [np.hypot(*np.diff(points[:, :2], axis=0).T) for _, points in joined]
    return [
        (k, points, np.append(0.0, np.cumsum(step)))
        for (k, points), step in zip(joined, steps, strict=True)
    ]


def _into_what_stands(before: Sequence[Move], fall: Floats, top: float) -> float:
    """Return how far ``fall`` (n, 3) ends below the first place on it where something stands."""
    low, high = fall[:, :2].min(axis=0) - 0.01, fall[:, :2].max(axis=0) + 0.01
    near = shapely.box(*low, *high)
    been: list[tuple[float, shapely.LineString]] = []
    for points in cutting(before):
        straight = np.ptp(points[:, :2], axis=0).max() == 0.0
        line = shapely.LineString(points[:, :2])
        if shapely.intersects(near, line):
            been.append((float(points[-1 if straight else slice(None), 2].max()), line))

    def stands(step: float) -> bool:
        x, y, z = _along(fall, step)
        if z >= top:
            return False
        place = shapely.Point(x, y)
        return not any(at <= z + 2e-3 and line.distance(place) < 4e-3 for at, line in been)

    air, hit = 0.0, -1.0
    for step in np.linspace(0.0, len(fall) - 1.0, 8 * (len(fall) - 1) + 1).tolist():
        if stands(step):
            hit = step
            break
        air = step
    if hit < 0.0:
        return 0.0
    for _ in range(16):
        middle = (air + hit) / 2.0
        air, hit = (air, middle) if stands(middle) else (middle, hit)
    return float(_along(fall, air)[2] - fall[-1, 2])


def _along(fall: Floats, step: float) -> Floats:
    return np.array([np.interp(step, np.arange(len(fall)), column) for column in fall.T])


def left_standing(
    moves: Sequence[Move], target: MultiPolygon, bit: Bit, floor: float
) -> list[float]:
    """Return the areas of ``target`` not swept at the floor, hairs of under 2 microns left out."""
    left = shapely.difference(target, swept_at(moves, bit, floor))
    parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon)]
    return [part.area for part in parts if not shapely.buffer(part, -0.001).is_empty]


def over_the_line(moves: Sequence[Move], region: MultiPolygon, bit: Bit, top: float) -> float:
    """Return the area cut more than 0.0105 mm outside ``region``."""
    swept = swept_at(moves, bit, top - 1e-3)
    return float(shapely.difference(swept, shapely.buffer(region, 0.0105)).area)


def samples(moves: Sequence[Move], step: float = 0.02) -> Floats:
    """Return places (n, 3) of the tip, no further apart than ``step``, while it feeds."""
    found: list[Floats] = []
    for points in cutting(moves):
        for a, b in pairwise(points):
            count = max(1, math.ceil(float(np.linalg.norm(b - a)) / step))
            found.append(a + (b - a) * np.linspace(0.0, 1.0, count + 1)[:, None])
    return np.concatenate(found)


def heights_of(moves: Sequence[Move], bit: Bit, xs: Floats, ys: Floats) -> Floats:
    """Return the surface (rows by y) a V-bit leaves of a plane at 0, by brute force."""
    slope = math.tan(bit.angle_rad / 2.0)
    surface = np.zeros((len(ys), len(xs)))
    for x, y, z in np.unique(np.round(samples(moves, 0.05), 4), axis=0).tolist():
        if z >= 0.0:
            continue
        radius = bit.tip_mm / 2.0 - z * slope
        c0, c1 = np.searchsorted(xs, (x - radius, x + radius))
        r0, r1 = np.searchsorted(ys, (y - radius, y + radius))
        away = np.hypot(xs[None, c0:c1] - x, ys[r0:r1, None] - y)
        cone = z + np.maximum(away - bit.tip_mm / 2.0, 0.0) / slope
        part = surface[r0:r1, c0:c1]
        np.minimum(part, cone, out=part)
    return surface


def wary(moves: Sequence[Move], bit: Bit, top: float, clear: float) -> list[str]:
    """Return what is unsafe: travel below the clear height, or a fast drop onto what stands."""
    found: list[str] = []
    for k, (before, move) in enumerate(pairwise(moves), 1):
        if move.kind is not MoveKind.RAPID:
            continue
        across = k > 1 and math.dist((before.x_mm, before.y_mm), (move.x_mm, move.y_mm)) > 1e-9
        if across and min(before.z_mm, move.z_mm) < clear - 1e-9:
            found.append(f"travel at {move.z_mm}")
        if move.z_mm < min(before.z_mm, top) and not _swept_before(moves[:k], move, bit):
            found.append(f"drop to {move.z_mm} at {move.x_mm:.2f}, {move.y_mm:.2f}")
    return found


def _swept_before(moves: Sequence[Move], drop: Move, bit: Bit) -> bool:
    """Whether the bit's disc at the foot of a drop has been cut by the moves before."""
    near = [
        (a, b)
        for a, b in pairwise(moves)
        if b.z_mm <= drop.z_mm + 1e-6
        and (a.z_mm <= drop.z_mm + 1e-6 or (a.x_mm, a.y_mm) == (b.x_mm, b.y_mm))
        and math.dist((b.x_mm, b.y_mm), (drop.x_mm, drop.y_mm))
        <= 2.0 * bit.diameter_mm + math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm))
    ]
    swept = shapely.union_all([swept_at(pair, bit, drop.z_mm) for pair in near])
    place = shapely.Point(drop.x_mm, drop.y_mm)
    return bool(shapely.covers(swept, shapely.buffer(place, bit.radius_mm - 0.02)))


def with_step(bit: Bit, step: float) -> Bit:
    return replace(bit, step=step)
