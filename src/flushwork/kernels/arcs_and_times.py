"""Arcs hidden in a chain of short straight moves.

Speeds and times along a chain of moves under one limit of acceleration.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

GREATEST_RADIUS_MM = 500.0
"""Flatter arcs are as good as straight, and their centres lie far off the board."""
GREATEST_SWEEP_RAD = 1.6 * math.pi
"""A longer arc is cut in two, so that start and end never come close together."""
LEAST_CHORDS = 3
"""An arc replaces at least so many straight moves."""


@njit(cache=True)
def _centre(
    ax: float, ay: float, bx: float, by: float, cx: float, cy: float
) -> tuple[bool, float, float]:
    """Return whether three points lie on a circle, and its centre."""
    ux, uy, vx, vy = bx - ax, by - ay, cx - ax, cy - ay
    cross = 2.0 * (ux * vy - uy * vx)
    if abs(cross) < 1e-12:
        return False, 0.0, 0.0
    uu, vv = ux * ux + uy * uy, vx * vx + vy * vy
    return True, ax + (vy * uu - uy * vv) / cross, ay + (ux * vv - vx * uu) / cross


@njit(cache=True)
def _sweep(
    points: NDArray[np.float64], first: int, last: int, bound_mm: float, sagitta_mm: float
) -> tuple[float, float, float]:
    """Return (centre x, centre y, turn) of the arc from ``first`` to ``last``; turn 0 for none.

    Every point lies within ``bound_mm`` of the arc, along and upright; the middle of every chord
    lies within ``sagitta_mm`` inside it, and the chain turns one way.
    """
    middle = (first + last) // 2
    found, x, y = _centre(
        points[first, 0], points[first, 1],
        points[middle, 0], points[middle, 1],
        points[last, 0], points[last, 1],
    )  # fmt: skip
    radius = math.hypot(points[first, 0] - x, points[first, 1] - y)
    if not found or radius > GREATEST_RADIUS_MM or radius < bound_mm:
        return 0.0, 0.0, 0.0
    turn = 0.0
    for index in range(first, last):
        ax, ay = points[index, 0] - x, points[index, 1] - y
        bx, by = points[index + 1, 0] - x, points[index + 1, 1] - y
        off_mm = abs(math.hypot(bx, by) - radius)
        bow_mm = radius - math.hypot((ax + bx) / 2.0, (ay + by) / 2.0)
        step = _step(points, index, x, y)
        if off_mm > bound_mm or bow_mm > sagitta_mm or step == 0.0 or step * turn < 0.0:
            return 0.0, 0.0, 0.0
        turn += step
    if abs(turn) > GREATEST_SWEEP_RAD or not _rises_evenly(points, first, last, x, y, bound_mm):
        return 0.0, 0.0, 0.0
    return x, y, turn


@njit(cache=True)
def _rises_evenly(
    points: NDArray[np.float64], first: int, last: int, x: float, y: float, bound_mm: float
) -> bool:
    """Return whether the heights of a chain follow the turn about (x, y) within ``bound_mm``."""
    rise_mm = points[last, 2] - points[first, 2]
    low_mm, high_mm = points[first, 2], points[first, 2]
    for index in range(first, last + 1):
        low_mm = min(low_mm, points[index, 2])
        high_mm = max(high_mm, points[index, 2])
    if high_mm == low_mm:
        return True
    whole, turned = 0.0, 0.0
    for index in range(first, last):
        whole += _step(points, index, x, y)
    for index in range(first, last):
        turned += _step(points, index, x, y)
        even_mm = points[first, 2] + rise_mm * turned / whole
        if abs(points[index + 1, 2] - even_mm) > bound_mm:
            return False
    return True


@njit(cache=True)
def _step(points: NDArray[np.float64], index: int, x: float, y: float) -> float:
    """Return the turn about (x, y) from one point to the next."""
    ax, ay = points[index, 0] - x, points[index, 1] - y
    bx, by = points[index + 1, 0] - x, points[index + 1, 1] - y
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


@njit(cache=True)
def fit_arcs(
    points: NDArray[np.float64], bound_mm: float, sagitta_mm: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the pieces of a chain of points (n, 3): lines, and arcs where the chain is one.

    The first array holds the index of each piece's last point; the second, (pieces, 3), centre x,
    centre y and turn in radians, counter-clockwise positive, turn 0 for a straight piece.  Each
    arc starts and ends on a point of the chain, passes within ``bound_mm`` of the others, and bows
    out from a chord by at most ``sagitta_mm``: the chain is itself flattened from a curve.  Where
    the chain rises or falls evenly the arc is a helix.
    """
    count = len(points)
    ends = np.empty(max(count - 1, 0), np.int64)
    arcs = np.zeros((max(count - 1, 0), 3))
    pieces = 0
    first = 0
    while first < count - 1:
        best = first + 1
        x, y, turn = 0.0, 0.0, 0.0
        last = first + LEAST_CHORDS
        while last < count:
            new_x, new_y, new_turn = _sweep(points, first, last, bound_mm, sagitta_mm)
            if new_turn == 0.0:
                break
            best, x, y, turn = last, new_x, new_y, new_turn
            last += 1
        ends[pieces] = best
        arcs[pieces] = (x, y, turn)
        pieces += 1
        first = best
    return ends[:pieces], arcs[:pieces]


Floats = NDArray[np.float64]


@njit(cache=True)
def chain_times(length: Floats, top: Floats, start: Floats, acceleration: float) -> Floats:
    """Return the seconds of each move of a chain driven as fast as its limits allow.

    ``length`` (n,) in mm and above 0; ``top`` (n,) the greatest speed within each move and
    ``start`` (n + 1,) the greatest speed at each joint, both in mm/s, the ends included;
    ``acceleration`` in mm/s2, above 0.  Every move speeds up at the full acceleration, cruises,
    and slows down at the full acceleration: v^2 = u^2 + 2 a s.
    """
    count = length.size
    speed = start.copy()
    for i in range(count):
        speed[i] = min(speed[i], top[i])
        reached = math.sqrt(speed[i] * speed[i] + 2.0 * acceleration * length[i])
        speed[i + 1] = min(speed[i + 1], top[i], reached)
    for i in range(count - 1, -1, -1):
        reached = math.sqrt(speed[i + 1] * speed[i + 1] + 2.0 * acceleration * length[i])
        speed[i] = min(speed[i], reached)
    times = np.empty(count)
    for i in range(count):
        u, w = speed[i], speed[i + 1]
        peak = math.sqrt(acceleration * length[i] + (u * u + w * w) / 2.0)
        peak = max(min(peak, top[i]), u, w)
        ramps = (2.0 * peak * peak - u * u - w * w) / (2.0 * acceleration)
        cruise = max(length[i] - ramps, 0.0)
        times[i] = (2.0 * peak - u - w) / acceleration + cruise / peak
    return times
