"""Shadow and closed sky over a map of heights: arrays and floats only."""

from __future__ import annotations

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
