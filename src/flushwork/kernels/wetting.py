"""What a liquid in a grid of cells touches: arrays and floats only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True, nogil=True)
def share_cut(liquid: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return how much of each cell is cut, (rows, columns), from the liquid that stands in it.

    A cell at a wall holds as much less liquid than its fullest neighbour as the wall takes of it.
    """
    rows, columns = liquid.shape
    share = np.zeros((rows, columns), np.float32)
    for j in range(rows):
        for i in range(columns):
            here = liquid[j, i]
            if here <= 0.0:
                continue
            fullest = here
            for y in range(max(0, j - 1), min(rows, j + 2)):
                for x in range(max(0, i - 1), min(columns, i + 2)):
                    fullest = max(fullest, liquid[y, x])
            share[j, i] = here / max(fullest, np.float32(1e-9))
    return share


@njit(cache=True, nogil=True)
def wetted(
    top: NDArray[np.float32], liquid: NDArray[np.float32], cell_mm: float
) -> NDArray[np.float32]:
    """Return the area of floor and wall that each wet cell's liquid touches, over the cell's area.

    ``top`` (rows + 2, columns + 2) is the surface under ``liquid`` (rows, columns) with a cell
    more all around.  A step to a dry cell counts in full, one between two wet cells to each half.
    """
    rows, columns = liquid.shape
    floor = share_cut(liquid)
    area = np.zeros((rows, columns), np.float32)
    for j in range(rows):
        for i in range(columns):
            if liquid[j, i] <= 0.0:
                continue
            middle = top[j + 1, i + 1]
            along = across = 0.0
            for step in (-1, 1):
                wet = 0 <= j + step < rows and liquid[j + step, i] > 0.0
                along += (0.5 if wet else 1.0) * abs(top[j + 1 + step, i + 1] - middle)
                wet = 0 <= i + step < columns and liquid[j, i + step] > 0.0
                across += (0.5 if wet else 1.0) * abs(top[j + 1, i + 1 + step] - middle)
            walls = (along * along + across * across) / (cell_mm * cell_mm)
            area[j, i] = math.sqrt(floor[j, i] * floor[j, i] + walls)
    return area
