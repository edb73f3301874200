"""A liquid surface that hangs from the walls of a pocket of any shape: arrays and floats only."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

_OVER_RELAXED = 1.7
_NEAREST = 0.1


@njit(cache=True, nogil=True)
def number_cells(wet: NDArray[np.bool_]) -> NDArray[np.int32]:
    """Return the running number of each wet cell of a map (rows, columns), -1 elsewhere."""
    numbers = np.full(wet.shape, -1, np.int32)
    count = 0
    for row in range(wet.shape[0]):
        for column in range(wet.shape[1]):
            if wet[row, column]:
                numbers[row, column] = count
                count += 1
    return numbers


@njit(cache=True, nogil=True)
def neighbours_of(numbers: NDArray[np.int32], count: int) -> NDArray[np.int32]:
    """Return the numbers of each cell's four neighbours, (count, 4): west, east, south, north."""
    found = np.full((count, 4), -1, np.int32)
    rows, columns = numbers.shape
    for row in range(rows):
        for column in range(columns):
            cell = numbers[row, column]
            if cell < 0:
                continue
            if column > 0:
                found[cell, 0] = numbers[row, column - 1]
            if column + 1 < columns:
                found[cell, 1] = numbers[row, column + 1]
            if row > 0:
                found[cell, 2] = numbers[row - 1, column]
            if row + 1 < rows:
                found[cell, 3] = numbers[row + 1, column]
    return found


@njit(cache=True, nogil=True)
def pockets_of(neighbours: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return which pocket each cell belongs to, (n,), counted from 0: cells that touch are one."""
    count = neighbours.shape[0]
    pockets = np.full(count, -1, np.int32)
    waiting = np.empty(count, np.int32)
    found = 0
    for first in range(count):
        if pockets[first] >= 0:
            continue
        pockets[first] = found
        waiting[0] = first
        left = 1
        while left > 0:
            left -= 1
            cell = waiting[left]
            for side in range(4):
                other = neighbours[cell, side]
                if other >= 0 and pockets[other] < 0:
                    pockets[other] = found
                    waiting[left] = other
                    left += 1
        found += 1
    return pockets


@njit(cache=True, nogil=True)
def hang(
    neighbours: NDArray[np.int32],
    share: NDArray[np.float64],
    screen: float,
    tolerance: float,
    most: int,
) -> NDArray[np.float64]:
    """Return the sag of a surface pinned to the walls of its pocket, per cell, to any scale.

    Solves u_xx + u_yy - screen u = -1 with u = 0 at the walls, the linear form of the equation of
    Young and Laplace: ``screen`` is the cell's side over the capillary length, squared.  ``share``
    (n,) is how much of each cell lies inside the pocket; cells less than half inside stay at 0 and
    the wall stands where their shares say (Shortley and Weller's differences at a cut cell).
    Successive over-relaxation until no cell moves by ``tolerance`` of the greatest sag, at most
    ``most`` times.
    """
    count = neighbours.shape[0]
    sag = np.zeros(count, np.float64)
    reach = np.ones(4, np.float64)
    for _ in range(most):
        moved = greatest = 0.0
        for cell in range(count):
            if share[cell] < 0.5:
                continue
            for side in range(4):
                other = neighbours[cell, side]
                if other >= 0 and share[other] >= 0.5:
                    reach[side] = 1.0
                else:
                    beyond = share[other] if other >= 0 else 0.0
                    reach[side] = max(_NEAREST, share[cell] - 0.5 + beyond)
            pull = screen
            fed = 1.0
            for axis in range(2):
                both = reach[2 * axis] + reach[2 * axis + 1]
                for side in range(2 * axis, 2 * axis + 2):
                    weight = 2.0 / (both * reach[side])
                    pull += weight
                    other = neighbours[cell, side]
                    if other >= 0:
                        fed += weight * sag[other]
            step = _OVER_RELAXED * (fed / pull - sag[cell])
            sag[cell] += step
            moved = max(moved, abs(step))
            greatest = max(greatest, sag[cell])
        if moved <= tolerance * greatest:
            break
    return sag
