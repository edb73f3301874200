"""A floor raised or lowered under the layers that lie on it."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def move_floor(
    heights: NDArray[np.float32],
    mask: NDArray[np.bool_],
    from_mm: np.float32,
    by_mm: np.float32,
    same_mm: np.float32,
    thin_mm: np.float32,
) -> tuple[NDArray[np.float32], int]:
    """Return surfaces (layers, rows, columns) whose lowest is moved, and in how many cells it is.

    In the cells of ``mask`` (rows, columns) where the lowest surface lies within ``same_mm`` of
    ``from_mm`` it is moved by ``by_mm``, and with it every layer above that lies no more than
    ``thin_mm`` thick on what has moved.  Surfaces stay in order.
    """
    moved = heights.copy()
    layers, rows, columns = heights.shape
    count = 0
    for row in range(rows):
        for column in range(columns):
            if not mask[row, column]:
                continue
            if abs(heights[0, row, column] - from_mm) >= same_mm:
                continue
            count += 1
            moved[0, row, column] += by_mm
            thin = True
            for layer in range(1, layers):
                thick = heights[layer, row, column] - heights[layer - 1, row, column]
                thin = thin and thick < thin_mm
                if thin:
                    moved[layer, row, column] += by_mm
                below = moved[layer - 1, row, column]
                moved[layer, row, column] = max(moved[layer, row, column], below)
    return moved, count
