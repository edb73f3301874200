"""Shadow and closed sky over a map of heights: arrays and floats only.

The figure of a sawn board as fields over a grid: arrays and floats only.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Heights = NDArray[np.float32]


@njit(cache=True, nogil=True)
def cast_shadow(
    heights: Heights, across_px: NDArray[np.int64], up_px: NDArray[np.int64], fall: Heights
) -> Heights:
    """Return by how much ground towards the light overtops each place, (rows, columns), 0 or more.

    Step k looks at the place ``across_px[k]``, ``up_px[k]`` away, over which the light has fallen
    by ``fall[k]``.  Past the edge the ground goes on as it ends.
    """
    rows, columns = heights.shape
    over = np.zeros_like(heights)
    for k in range(len(fall)):
        for j in range(rows):
            there = min(max(j + up_px[k], 0), rows - 1)
            for i in range(columns):
                at = min(max(i + across_px[k], 0), columns - 1)
                higher = heights[there, at] - heights[j, i] - fall[k]
                over[j, i] = max(over[j, i], higher)
    return over


@njit(cache=True, nogil=True)
def mean_around(heights: Heights, radius: int) -> Heights:
    """Return the mean over a square of 2 ``radius`` + 1 places about each place, (rows, columns).

    Past the edge the ground goes on as it ends.  Sums run along each axis, so the radius costs
    nothing.
    """
    rows, columns = heights.shape
    size = 2 * radius + 1
    along = np.empty_like(heights)
    for j in range(rows):
        total = 0.0
        for i in range(-radius, radius + 1):
            total += heights[j, min(max(i, 0), columns - 1)]
        for i in range(columns):
            along[j, i] = total / size
            total += heights[j, min(i + radius + 1, columns - 1)]
            total -= heights[j, max(i - radius, 0)]
    mean = np.empty_like(heights)
    sums = np.zeros(columns)
    for j in range(-radius, radius + 1):
        for i in range(columns):
            sums[i] += along[min(max(j, 0), rows - 1), i]
    for j in range(rows):
        first, last = max(j - radius, 0), min(j + radius + 1, rows - 1)
        for i in range(columns):
            mean[j, i] = sums[i] / size
            sums[i] += along[last, i] - along[first, i]
    return mean


@njit(cache=True, nogil=True)
def scatter(column: int, row: int, seed: int) -> float:
    """Return a number from 0 to 1 that depends on a lattice point as if by chance."""
    mixed = (column * 0x9E3779B1 + row * 0x85EBCA77 + seed * 0xC2B2AE3D) & 0xFFFFFFFF
    mixed = ((mixed ^ (mixed >> 15)) * 0x2C1B3C6D) & 0xFFFFFFFF
    mixed = ((mixed ^ (mixed >> 12)) * 0x297A2D39) & 0xFFFFFFFF
    return (mixed ^ (mixed >> 15)) / 4294967296.0


@njit(cache=True, nogil=True)
def smooth_noise(x: float, y: float, seed: int) -> float:
    """Return a smooth field from -1 to 1 with features about one unit across.

    Lattice values, joined by the cubic 3 t^2 - 2 t^3.
    """
    column, row = math.floor(x), math.floor(y)
    a, b = x - column, y - row
    a, b = a * a * (3.0 - 2.0 * a), b * b * (3.0 - 2.0 * b)
    below = scatter(column, row, seed) * (1.0 - a) + scatter(column + 1, row, seed) * a
    above = scatter(column, row + 1, seed) * (1.0 - a) + scatter(column + 1, row + 1, seed) * a
    return 2.0 * (below * (1.0 - b) + above * b) - 1.0


@njit(cache=True, nogil=True)
def board_figure(
    along_mm: NDArray[np.float64],
    across_mm: NDArray[np.float64],
    depth_mm: float,
    flat_sawn: bool,
    step_mm: float,
    seed: int,
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return how dark the growth rings and how bright the fibres are, each (n, m).

    ``along_mm`` and ``across_mm`` (n, m) are places on the board along and across its grain;
    ``depth_mm`` how far into the board the face lies; finer than ``step_mm`` nothing is drawn.
    Rings are cones about a pith below the board (a tree tapers): cut along the pith they show as
    arches on a flat-sawn face and as near straight lines on a quarter-sawn one.  Ring darkness runs
    from 0 to 1, fibres from -1 to 1.
    """
    rings = np.empty(along_mm.shape, np.float32)
    fibres = np.empty(along_mm.shape, np.float32)
    fine = min(1.0, 0.25 / step_mm)
    for j in range(along_mm.shape[0]):
        for i in range(along_mm.shape[1]):
            u, v = along_mm[j, i], across_mm[j, i]
            sway = 5.0 * smooth_noise(u / 140.0, v / 220.0, seed + 1)
            warp = 2.1 * smooth_noise(u / 85.0, v / 30.0, seed + 2)
            warp += 0.35 * smooth_noise(u / 30.0, v / 6.0, seed + 3)
            side = v - 78.0 + sway + 0.03 * u
            if flat_sawn:
                pith = 14.0 + 0.13 * (u + 30.0) + depth_mm + warp
                radius = math.sqrt(side * side * 0.6 + pith * pith) + 0.5 * warp
            else:
                radius = 160.0 + side + 0.3 * warp
            ring = radius / 3.3 + 0.45 * smooth_noise(radius / 8.0, 0.5, seed + 4)
            whole = math.floor(ring)
            part = ring - whole
            late = part**5
            if part > 0.9:
                late *= (1.0 - part) / 0.1
            strength = 0.3 + 0.7 * scatter(whole, 7, seed)
            rings[j, i] = 0.95 * late * strength + 0.1 * part
            streak = smooth_noise(u / 9.0, v / 0.21, seed + 5) * fine
            streak += 0.9 * smooth_noise(u / 26.0, v / 0.7, seed + 6)
            cloud = smooth_noise(u / 60.0, v / 34.0, seed + 8)
            pore = smooth_noise(u / 1.5, v / 0.15, seed + 9)
            dash = max(0.0, pore - 0.45) * fine * (0.5 + part)
            fibres[j, i] = min(max(0.42 * streak + 0.45 * cloud - 1.5 * dash, -1.0), 1.0)
    return rings, fibres
