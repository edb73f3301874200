"""Bits that are not flat swept over sub-samples of one tile: arrays and floats only.

Which bit moves touch which tiles: arrays and floats only.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels.sweep import (
    Run,
    along_beside,
    joints_of,
    local_run,
    nearer_to_another,
    row_span,
    steps_between,
)

CONE, BALL, HOLLOW = 0, 1, 2
"""The profiles: a V or a point, a ball, the hollow flank of a round-over."""
LOOKED_AT = 48
"""Positions of a sloping hollow flank that are looked at before the lowest is closed in on."""
GENTLE = 0.2
"""Falls of less than this per mm are ramps: the lowest position lies close to the nearest."""
CLOSING = 4
"""Steps by which a ramp's lowest position is closed in on."""
HALVINGS = 16
"""Steps by which it is closed in on, a third less each: to (2 / 3)^16 of two such positions."""

Shape = tuple[int, float, float, float]
"""A bit's profile: which one, radius, half the tip's flat, and the cotangent of half the angle (of
a round-over the radius of its flank)."""


@njit(cache=True, nogil=True)
def flank(radius: float, away: float) -> float:
    """Return how high a round-over's flank stands ``away`` from its tip: a quarter circle.

    It leaves wood with a round of that radius: upright beside the tip, level at the face.
    """
    if away <= 0.0:
        return 0.0
    if away >= radius:
        return radius
    return math.sqrt(away * (2.0 * radius - away))


@njit(cache=True, nogil=True)
def _under_tip(
    tip: float, radius: float, run: Run, u: float, v: float, within: tuple[float, float]
) -> float:
    """Return the height of the lowest position whose tip still covers a point, if there is one."""
    if tip <= abs(v):
        return math.inf
    z0, slope = run[2], run[6]
    t = u + (-1.0 if slope > 0.0 else 1.0) * math.sqrt(tip * tip - v * v)
    t = min(max(t, within[0]), within[1])
    return z0 + slope * t + flank(radius, math.hypot(v, t - u) - tip)


@njit(cache=True, nogil=True)
def _hollow_lowest(
    tip: float, radius: float, run: Run, u: float, v: float, within: tuple[float, float]
) -> float:
    """Return the lowest height of a round-over's flank over a point, from ``within`` a run."""
    z0, slope = run[2], run[6]
    low, high = within
    t = min(max(u, low), high)
    best = z0 + slope * t + flank(radius, math.hypot(v, t - u) - tip)
    if slope == 0.0:
        return best
    if abs(slope) < GENTLE:
        # of a ramp only a little: close by the nearest position, or at an end of what reaches
        for _ in range(CLOSING):
            away = math.hypot(v, t - u)
            beyond = away - tip
            if beyond <= 0.0 or beyond >= radius:
                break
            steep = (radius - beyond) / math.sqrt(beyond * (2.0 * radius - beyond))
            t = min(max(u - slope * away / steep, low), high)
            best = min(best, z0 + slope * t + flank(radius, math.hypot(v, t - u) - tip))
        t = low if slope > 0.0 else high
        best = min(best, z0 + slope * t + flank(radius, math.hypot(v, t - u) - tip))
        return min(best, _under_tip(tip, radius, run, u, v, within))
    step = (high - low) / LOOKED_AT
    nearest = t
    for k in range(LOOKED_AT + 1):
        t = low + step * k
        z = z0 + slope * t + flank(radius, math.hypot(v, t - u) - tip)
        if z < best:
            best, nearest = z, t
    left, right = max(low, nearest - step), min(high, nearest + step)
    for _ in range(HALVINGS):
        t = left + (right - left) / 3.0
        other = right - (right - left) / 3.0
        z = z0 + slope * t + flank(radius, math.hypot(v, t - u) - tip)
        beyond = z0 + slope * other + flank(radius, math.hypot(v, other - u) - tip)
        if z < beyond:
            right = other
        else:
            left = t
        best = min(best, z, beyond)
    return min(best, _under_tip(tip, radius, run, u, v, within))


@njit(cache=True, nogil=True)
def shaped_lowest(shape: Shape, run: Run, u: float, v: float) -> float:
    """Return the lowest height a bit's surface reaches over a point, infinite if never.

    The point lies ``u`` along and ``v`` beside the run.  At distance d from its axis a ball stands
    at z + r - sqrt(r^2 - d^2), a V-bit at z + max(0, d - tip) * cotangent; both end at the radius.
    Either is convex in the position along the run, so the stationary position, clamped, is the
    minimum.  A round-over's flank is not: on a level run its nearest position is the lowest, on a
    sloping one many are looked at.
    """
    kind, radius, tip, steep = shape
    z0, length, slope = run[2], run[5], run[6]
    square = radius * radius - v * v
    if square < 0.0:
        return math.inf
    half = math.sqrt(square)
    low, high = max(0.0, u - half), min(length, u + half)
    if low > high:
        return math.inf
    if kind == HOLLOW:
        return _hollow_lowest(tip, steep, run, u, v, (low, high))
    ball = kind == BALL
    shift = 0.0
    if slope != 0.0 and ball:
        shift = -slope * half / math.sqrt(1.0 + slope * slope)
    elif slope != 0.0:
        down = -1.0 if slope > 0.0 else 1.0
        shift = down * half
        if abs(slope) < steep:
            shift = -slope * abs(v) / math.sqrt(steep * steep - slope * slope)
        if v * v + shift * shift < tip * tip:
            shift = down * math.sqrt(tip * tip - v * v)
    t = min(max(u + shift, low), high)
    across = v * v + (t - u) * (t - u)
    if ball:
        return z0 + slope * t + radius - math.sqrt(max(0.0, radius * radius - across))
    return z0 + slope * t + max(0.0, math.sqrt(across) - tip) * steep


@njit(cache=True, nogil=True)
def shaped_reach(shape: Shape, depth: float) -> float:
    """Return a bit's radius ``depth`` above its tip."""
    kind, radius, tip, steep = shape
    if kind == CONE:
        return min(radius, tip + depth / steep)
    if kind == HOLLOW:
        if depth >= steep:
            return radius
        return tip + steep - math.sqrt(steep * steep - depth * depth)
    return math.sqrt(depth * (2.0 * radius - depth)) if depth < radius else radius


@njit(cache=True, nogil=True)
def sweep_shaped(
    shape: Shape,
    fine: NDArray[np.float32],
    floor: NDArray[np.float32],
    floored: bool,
    segments: NDArray[np.float64],
    joined: NDArray[np.bool_],
    picks: NDArray[np.int64],
    cell_mm: float,
    samples: int,
    corner_mm: tuple[float, float],
    live: tuple[int, int],
    highest_mm: float,
    removed_mm3: NDArray[np.float64],
    bite_mm: NDArray[np.float64],
    bite_cell: NDArray[np.int64],
) -> None:
    """Sweep a shaped bit over one tile's top surface, in place.

    ``fine`` (n * samples, n * samples) starts as the top surface, ``samples`` squared points to a
    cell, very low where no material is; ``highest_mm`` is its greatest height.  The other
    arguments and the report per pick are those of ``sweep.sweep_flat``.
    """
    side = fine.shape[1] // samples
    step = cell_mm / samples
    for n in range(picks.size):
        removed_mm3[n], bite_mm[n], bite_cell[n] = 0.0, 0.0, -1
        depth = highest_mm - min(segments[picks[n], 2], segments[picks[n], 5])
        if depth <= 0.0:
            continue
        run = local_run(segments[picks[n]], corner_mm)
        joints = joints_of(segments, joined, picks, n, False)
        reach = shaped_reach(shape, depth)
        end = run[1] + run[4] * run[5]
        first, final = steps_between(
            min(run[1], end) - reach, max(run[1], end) + reach, step, live[1] * samples
        )
        for j in range(first, final + 1):
            y = (j + 0.5) * step
            low, high = row_span(run, y, reach)
            ia, ib = steps_between(low, high, step, live[0] * samples)
            total, best, where = 0.0, 0.0, -1
            for i in range(ia, ib + 1):
                u, v = along_beside(run, (i + 0.5) * step, y)
                if nearer_to_another(run, joints, u, v):
                    continue
                z = shaped_lowest(shape, run, u, v)
                if floored:
                    z = max(z, float(floor[j // samples, i // samples]))
                lost = fine[j, i] - z
                if lost > 0.0:
                    fine[j, i] = z
                    total += lost
                    if lost > best:
                        best, where = lost, i // samples
            removed_mm3[n] += total * step * step
            if best > bite_mm[n]:
                bite_mm[n], bite_cell[n] = best, (j // samples) * side + where


@njit(cache=True, nogil=True)
def settle(
    base: NDArray[np.float32],
    fine: NDArray[np.float32],
    samples: int,
    live: tuple[int, int],
    lowest: float,
) -> NDArray[np.float32]:
    """Return the surfaces after a sub-sampled sweep: the mean over each cell of min(base, fine).

    Cells whose samples lie below ``lowest`` held no material and stay as they were.
    """
    done = base.copy()
    share = 1.0 / (samples * samples)
    for j in range(live[1]):
        for i in range(live[0]):
            cell = fine[j * samples : (j + 1) * samples, i * samples : (i + 1) * samples]
            deepest = cell.min()
            if deepest < lowest:
                continue
            for k in range(base.shape[0]):
                old = base[k, j, i]
                if deepest < old:
                    done[k, j, i] = np.minimum(cell, old).sum() * share
    return done


@njit(cache=True, nogil=True)
def _near(segment: NDArray[np.float64], x: float, y: float, reach: float) -> bool:
    """Whether a segment (x0, y0, z0, x1, y1, z1) passes (x, y) within ``reach``."""
    ax, ay = segment[0], segment[1]
    dx, dy = segment[3] - ax, segment[4] - ay
    square = dx * dx + dy * dy
    t = 0.0
    if square > 0.0:
        t = min(max(((x - ax) * dx + (y - ay) * dy) / square, 0.0), 1.0)
    return math.hypot(ax + t * dx - x, ay + t * dy - y) <= reach


@njit(cache=True, nogil=True)
def bin_segments(
    segments: NDArray[np.float64],
    tops: NDArray[np.float32],
    radius_mm: float,
    tile_mm: float,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the segments that may cut in each tile, as (starts, picks) in compressed rows.

    ``segments`` is (n, 6): x0, y0, z0, x1, y1, z1 in mm; ``tops`` (rows, columns) the greatest
    height in each tile.  Tile t = row * columns + column owns picks[starts[t]:starts[t + 1]], in
    the order of the moves.  A segment that stays at or above a tile's top is left out, which is
    what makes flush milling over untouched wood nearly free.
    """
    rows, columns = tops.shape
    reach = radius_mm + 0.7072 * tile_mm
    starts = np.zeros(rows * columns + 1, np.int64)
    picks = np.empty(0, np.int64)
    for turn in range(2):
        heads = starts.copy()
        for n in range(segments.shape[0]):
            low = min(segments[n, 2], segments[n, 5])
            west = min(segments[n, 0], segments[n, 3]) - radius_mm
            east = max(segments[n, 0], segments[n, 3]) + radius_mm
            south = min(segments[n, 1], segments[n, 4]) - radius_mm
            north = max(segments[n, 1], segments[n, 4]) + radius_mm
            for row in range(
                max(0, math.floor(south / tile_mm)),
                min(rows, math.floor(north / tile_mm) + 1),
            ):
                for column in range(
                    max(0, math.floor(west / tile_mm)),
                    min(columns, math.floor(east / tile_mm) + 1),
                ):
                    if low >= tops[row, column] or not _near(
                        segments[n], (column + 0.5) * tile_mm, (row + 0.5) * tile_mm, reach
                    ):
                        continue
                    tile = row * columns + column
                    if turn == 0:
                        starts[tile + 1] += 1
                    else:
                        picks[heads[tile]] = n
                        heads[tile] += 1
        if turn == 0:
            starts = np.cumsum(starts)
            picks = np.empty(starts[-1], np.int64)
    return starts, picks
