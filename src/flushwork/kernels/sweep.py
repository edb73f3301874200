"""Flat bits swept over the heights of one tile: arrays and floats only.

Every kernel works in one tile: its lower left corner at ``corner_mm``, its cells of side
``cell_mm``, the first ``live`` (columns, rows) of them on the blank.  ``segments`` is (n, 6): x0,
y0, z0, x1, y1, z1 of the bit's tip in mm; ``picks`` the segments to run here, in order.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

GONE: float = -1.0e6
"""Working height of a column in which nothing is left to cut."""

Run = tuple[float, float, float, float, float, float, float]
"""A segment in its tile's frame: x0, y0, z0, its unit vector dx, dy, its length and its slope."""

Joints = tuple[bool, bool, float, float]
"""Whether the next run takes over at a run's end, whether the last one did before its start, and
the unit vector of that one."""

_HALF_DIAGONAL = 0.7072
_TIE_MM = 1e-9


@njit(cache=True, nogil=True)
def local_run(segment: NDArray[np.float64], corner_mm: tuple[float, float]) -> Run:
    """Return a segment as a run in its tile's frame; a plunge has length 0, its lower end as z0."""
    x0, y0, z0 = segment[0] - corner_mm[0], segment[1] - corner_mm[1], segment[2]
    x1, y1, z1 = segment[3] - corner_mm[0], segment[4] - corner_mm[1], segment[5]
    length = math.hypot(x1 - x0, y1 - y0)
    if length <= 1e-9:
        return x0, y0, min(z0, z1), 1.0, 0.0, 0.0, 0.0
    return x0, y0, z0, (x1 - x0) / length, (y1 - y0) / length, length, (z1 - z0) / length


@njit(cache=True, nogil=True)
def steps_between(low: float, high: float, step: float, count: int) -> tuple[int, int]:
    """Return the first and last of ``count`` cells whose centres lie in [low, high] (mm)."""
    if low > high:
        return 0, -1
    return max(0, math.ceil(low / step - 0.5)), min(count - 1, math.floor(high / step - 0.5))


@njit(cache=True, nogil=True)
def row_span(run: Run, y: float, radius: float) -> tuple[float, float]:
    """Return the x-interval of the line at ``y`` within ``radius`` of a segment (low > high: none).

    The segment's neighbourhood is convex, so the interval is the hull of those of both end discs
    and the band between.
    """
    x0, y0, _, dx, dy, length, _ = run
    low, high = math.inf, -math.inf
    rise = y - y0
    square = radius * radius - rise * rise
    if square >= 0.0:
        half = math.sqrt(square)
        low, high = x0 - half, x0 + half
    if length <= 0.0:
        return low, high
    end = rise - dy * length
    square = radius * radius - end * end
    if square >= 0.0:
        half = math.sqrt(square)
        low = min(low, x0 + dx * length - half)
        high = max(high, x0 + dx * length + half)
    a, b = -math.inf, math.inf
    if abs(dx) > 1e-12:
        p, q = x0 - rise * dy / dx, x0 + (length - rise * dy) / dx
        a, b = min(p, q), max(p, q)
    elif rise * dy < 0.0 or rise * dy > length:
        return low, high
    if abs(dy) > 1e-12:
        p, q = x0 + (rise * dx - radius) / dy, x0 + (rise * dx + radius) / dy
        a, b = max(a, min(p, q)), min(b, max(p, q))
    elif abs(rise * dx) > radius:
        return low, high
    if a <= b:
        low, high = min(low, a), max(high, b)
    return low, high


@njit(cache=True, nogil=True)
def half_plane_share(inside: float, nx: float, ny: float) -> float:
    """Return the share of a unit square on the near side of a straight edge.

    The edge has unit normal (nx, ny) and passes ``inside`` beyond the square's centre.  Exact
    (area of a square cut by a line).
    """
    a, b = abs(nx), abs(ny)
    if a < b:
        a, b = b, a
    half, flat = 0.5 * (a + b), 0.5 * (a - b)
    if inside >= half:
        return 1.0
    if inside <= -half:
        return 0.0
    if abs(inside) <= flat or b < 1e-9:
        return min(max(0.5 + inside / a, 0.0), 1.0)
    if inside < 0.0:
        return (inside + half) ** 2 / (2.0 * a * b)
    return 1.0 - (half - inside) ** 2 / (2.0 * a * b)


@njit(cache=True, nogil=True)
def along_beside(run: Run, x: float, y: float) -> tuple[float, float]:
    """Return how far a point lies along a run and beside it."""
    across, up = x - run[0], y - run[1]
    return across * run[3] + up * run[4], up * run[3] - across * run[4]


@njit(cache=True, nogil=True)
def flat_lowest(run: Run, u: float, v: float, radius: float) -> float:
    """Return the lowest tip height while a flat bit covers the point ``u`` along, ``v`` beside.

    Where the radius does not reach the point, the nearest position counts.
    """
    length, slope = run[5], run[6]
    nearest = min(max(u, 0.0), length)
    square = radius * radius - v * v
    if slope != 0.0 and square > 0.0:
        half = math.sqrt(square)
        low, high = max(0.0, u - half), min(length, u + half)
        if low <= high:
            nearest = low if slope > 0.0 else high
    return run[2] + slope * nearest


@njit(cache=True, nogil=True)
def flat_share(
    run: Run, u: float, v: float, radius: float, cell_mm: float
) -> tuple[float, float, float]:
    """Return the share of a cell, ``u`` along and ``v`` beside, that a flat bit's run covers.

    With it the unit vector from the run to the cell.  Past the segment's ends the edge is round:
    its mean sagitta over a cell's width, cell^2 / (24 r), is taken off the radius.
    """
    past = u - min(max(u, 0.0), run[5])
    distance = math.sqrt(past * past + v * v)
    if distance < 1e-12:
        return half_plane_share(radius / cell_mm, 1.0, 0.0), 1.0, 0.0
    if past != 0.0:
        radius -= cell_mm * cell_mm / (24.0 * radius)
    nx = (past * run[3] - v * run[4]) / distance
    ny = (past * run[4] + v * run[3]) / distance
    return half_plane_share((radius - distance) / cell_mm, nx, ny), nx, ny


@njit(cache=True, nogil=True, inline="always")
def _cut_inside(
    top: NDArray[np.float32],
    floor: NDArray[np.float32],
    floored: bool,
    run: Run,
    radius_mm: float,
    cell_mm: float,
    cells: tuple[int, int, int],
) -> tuple[float, float, int]:
    """Cut the cells (row, first, last) that the bit covers whole.

    Return the height they lost in all, the most that one lost, and its column.
    """
    j, first, last = cells
    total, best, where = 0.0, 0.0, -1
    if run[6] == 0.0 and not floored:
        z = run[2]
        for i in range(first, last + 1):
            lost = top[j, i] - z
            if lost > 0.0:
                top[j, i] = z
                total += lost
                if lost > best:
                    best, where = lost, i
        return total, best, where
    for i in range(first, last + 1):
        z = run[2]
        if run[6] != 0.0:
            u, v = along_beside(run, (i + 0.5) * cell_mm, (j + 0.5) * cell_mm)
            z = flat_lowest(run, u, v, radius_mm)
        if floored:
            z = max(z, float(floor[j, i]))
        lost = top[j, i] - z
        if lost > 0.0:
            top[j, i] = z
            total += lost
            if lost > best:
                best, where = lost, i
    return total, best, where


@njit(cache=True, nogil=True)
def joints_of(
    segments: NDArray[np.float64],
    joined: NDArray[np.bool_],
    picks: NDArray[np.int64],
    n: int,
    shares: bool,
) -> Joints:
    """Return how the run of pick ``n`` joins those before and after it.

    A run that rises cuts deeper before its end than the next one does there, and one that falls
    deeper after its start than the last one did: these keep what lies past that end.  Where cells
    are cut by shares (``shares``) the bit counts at its nearest position even where it does not
    reach the middle of a cell, so that the other run may not slope away from the joint either.
    """
    pick = picks[n]
    here = segments[pick]
    goes_on = joined[pick] and here[5] <= here[2]
    goes_on = goes_on and n + 1 < picks.size and picks[n + 1] == pick + 1
    if goes_on and shares:
        goes_on = segments[pick + 1, 5] <= segments[pick + 1, 2]
    came_on = n > 0 and picks[n - 1] == pick - 1 and joined[pick - 1] and here[5] >= here[2]
    if came_on and shares:
        came_on = segments[pick - 1, 5] >= segments[pick - 1, 2]
    if not came_on:
        return goes_on, False, 0.0, 0.0
    before = segments[pick - 1]
    dx, dy = before[3] - before[0], before[4] - before[1]
    length = math.hypot(dx, dy)
    return goes_on, True, dx / length, dy / length


@njit(cache=True, nogil=True)
def nearer_to_another(run: Run, joints: Joints, u: float, v: float) -> bool:
    """Whether a point, ``u`` along and ``v`` beside a run, lies nearer to a run that joins it.

    Past the end it is the next one's, which begins there.  Before the start it is the last one's,
    except in the wedge outside of a bend, which lies past the end of that.  What lies on the line
    between both is nobody's to leave: rounding would let each leave it to the other.
    """
    goes_on, came_on, dx, dy = joints
    if goes_on and u > run[5] + _TIE_MM:
        return True
    if not came_on or u >= 0.0:
        return False
    return (u * run[3] - v * run[4]) * dx + (u * run[4] + v * run[3]) * dy <= -_TIE_MM


@njit(cache=True, nogil=True)
def _own_share(
    run: Run, joints: Joints, place: tuple[float, float], radius: float, cell_mm: float
) -> tuple[float, float, float]:
    """Return ``flat_share`` of a cell, 0 where it is left to a run that joins this one."""
    u, v = place
    if nearer_to_another(run, joints, u, v):
        return 0.0, 1.0, 0.0
    return flat_share(run, u, v, radius, cell_mm)


@njit(cache=True, nogil=True, inline="always")
def _cut_edge(
    base: NDArray[np.float32],
    work: NDArray[np.float32],
    sides: NDArray[np.float32],
    facing: NDArray[np.float32],
    floor: NDArray[np.float32],
    floored: bool,
    run: Run,
    joints: Joints,
    radius_mm: float,
    cell_mm: float,
    cells: tuple[int, int, int],
) -> tuple[float, float, int]:
    """Cut the cells (row, first, last) at the bit's edge, each by the share covered.

    What lies nearer to a run that joins this one is left to that one.
    ``sides`` (2, k, n, n) are the surfaces as cut from the side a cell was first reached from and
    from the opposite one; ``facing`` (3, n, n) that first direction and the lowest tip height.
    Return as ``_cut_inside`` does.
    """
    j, first, final = cells
    last = base.shape[0] - 1
    lowest = min(run[2], run[2] + run[6] * run[5])
    total, best, where = 0.0, 0.0, -1
    for i in range(first, final + 1):
        now = work[last, j, i]
        if now <= lowest:
            continue
        u, v = along_beside(run, (i + 0.5) * cell_mm, (j + 0.5) * cell_mm)
        share, nx, ny = _own_share(run, joints, (u, v), radius_mm, cell_mm)
        if share <= 0.0:
            continue
        z = flat_lowest(run, u, v, radius_mm)
        if floored:
            z = max(z, float(floor[j, i]))
        turned = facing[0, j, i] * nx + facing[1, j, i] * ny
        side = 1 if turned < -0.5 else 0
        if facing[0, j, i] == 0.0 and facing[1, j, i] == 0.0:
            facing[0, j, i], facing[1, j, i] = nx, ny
        facing[2, j, i] = min(facing[2, j, i], np.float32(z))
        for k in range(last + 1):
            old = base[k, j, i]
            if z < old:
                cut = np.float32(old - share * (old - z))
                if cut < sides[side, k, j, i]:
                    sides[side, k, j, i] = cut
                    both = max(sides[0, k, j, i] + sides[1, k, j, i] - old, facing[2, j, i])
                    work[k, j, i] = min(work[k, j, i], both)
        lost = float(now - work[last, j, i])
        total += lost
        if lost > best:
            best, where = lost, i
    return total, best, where


@njit(cache=True, nogil=True)
def _cover_lower(work: NDArray[np.float32], live: tuple[int, int]) -> None:
    """Bring every surface down to the one above it, where there is material."""
    last = work.shape[0] - 1
    for k in range(last - 1, -1, -1):
        for j in range(live[1]):
            for i in range(live[0]):
                above = work[k + 1, j, i]
                if work[last, j, i] > 0.5 * GONE and above < work[k, j, i]:
                    work[k, j, i] = above


@njit(cache=True, nogil=True)
def sweep_flat(
    base: NDArray[np.float32],
    work: NDArray[np.float32],
    floor: NDArray[np.float32],
    floored: bool,
    segments: NDArray[np.float64],
    joined: NDArray[np.bool_],
    picks: NDArray[np.int64],
    radius_mm: float,
    cell_mm: float,
    corner_mm: tuple[float, float],
    live: tuple[int, int],
    removed_mm3: NDArray[np.float64],
    bite_mm: NDArray[np.float64],
    bite_cell: NDArray[np.int64],
) -> None:
    """Sweep a flat bit over one tile, in place.

    ``base`` (k, n, n) are the surfaces before the G-code file, wood first; ``work`` starts as their
    copy, with ``GONE`` in its last surface where no material is.  Each surface ends at the least
    over the moves of base - share * (base - z), so that passes along the same wall do not deepen
    the cells at its edge; what is cut from opposite sides of a cell adds up.  With ``floored`` no
    move counts below ``floor`` (n, n).  Per pick:
    ``removed_mm3`` off the top surface, ``bite_mm`` the greatest height taken and ``bite_cell``
    its flat index.
    """
    top = work[work.shape[0] - 1]
    outer = radius_mm + _HALF_DIAGONAL * cell_mm
    inner = radius_mm - _HALF_DIAGONAL * cell_mm
    sides = np.empty((2, base.shape[0], base.shape[1], base.shape[2]), np.float32)
    sides[0] = base
    sides[1] = base
    facing = np.zeros((3, top.shape[0], top.shape[1]), np.float32)
    facing[2] = -GONE
    for n in range(picks.size):
        run = local_run(segments[picks[n]], corner_mm)
        joints = joints_of(segments, joined, picks, n, True)
        end = run[1] + run[4] * run[5]
        first, final = steps_between(
            min(run[1], end) - outer, max(run[1], end) + outer, cell_mm, live[1]
        )
        removed_mm3[n], bite_mm[n], bite_cell[n] = 0.0, 0.0, -1
        for j in range(first, final + 1):
            y = (j + 0.5) * cell_mm
            low, high = row_span(run, y, outer)
            ia, ib = steps_between(low, high, cell_mm, live[0])
            fa, fb = ib + 1, ib
            if inner > 0.0:
                low, high = row_span(run, y, inner)
                a, b = steps_between(low, high, cell_mm, live[0])
                if a <= b:
                    fa, fb = a, b
            for part in range(3):
                if part == 0:
                    lost, most, where = _cut_inside(
                        top, floor, floored, run, radius_mm, cell_mm, (j, fa, fb)
                    )
                else:
                    cells = (j, ia, fa - 1) if part == 1 else (j, fb + 1, ib)
                    lost, most, where = _cut_edge(
                        base, work, sides, facing, floor, floored,
                        run, joints, radius_mm, cell_mm, cells,
                    )  # fmt: skip
                removed_mm3[n] += lost * cell_mm * cell_mm
                if most > bite_mm[n]:
                    bite_mm[n], bite_cell[n] = most, j * work.shape[2] + where
    _cover_lower(work, live)
