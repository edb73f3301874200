"""A liquid laid on a tile of cells, and one that hangs from the walls of a pocket.

What a liquid in a grid of cells touches: arrays and floats only.

A floor raised or lowered under the layers that lie on it.
"""

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


Cells = NDArray[np.float32]


@njit(cache=True, nogil=True)
def apart(upper: Cells, lower: Cells, by: float) -> bool:
    """Return whether one surface lies more than ``by`` over another anywhere, (rows, columns)."""
    for j in range(upper.shape[0]):
        for i in range(upper.shape[1]):
            if upper[j, i] - lower[j, i] > by:
                return True
    return False


@njit(cache=True, nogil=True)
def level(surface: Cells, height: np.float32) -> bool:
    """Return whether a surface lies at one height everywhere."""
    for j in range(surface.shape[0]):
        for i in range(surface.shape[1]):
            if surface[j, i] != height:
                return False
    return True


@njit(cache=True, nogil=True)
def film_over(
    top: Cells, share: Cells, void: NDArray[np.bool_], below: np.float32, film: np.float32
) -> tuple[bool, Cells]:
    """Return whether any cell of a surface lies lower than ``below``, and a film on those.

    ``share`` is how much of each cell the brush takes in; ``void`` (empty for none) holds nothing.
    """
    rows, columns = top.shape
    some = void.size > 0
    laid = np.zeros((rows, columns), np.float32)
    found = False
    for j in range(rows):
        for i in range(columns):
            if top[j, i] < below and not (some and void[j, i]):
                found = True
                laid[j, i] = share[j, i] * film
    return found, laid


@njit(cache=True, nogil=True)
def _is_inner(deep: NDArray[np.bool_], j: int, i: int) -> bool:
    rows, columns = deep.shape
    for y in range(max(0, j - 1), min(rows, j + 2)):
        for x in range(max(0, i - 1), min(columns, i + 2)):
            if not deep[y, x]:
                return False
    return True


@njit(cache=True, nogil=True)
def filled(
    top: Cells,
    share: Cells,
    void: NDArray[np.bool_],
    heights: tuple[np.float32, np.float32],
    least: tuple[float, float, float],
) -> tuple[Cells, Cells, NDArray[np.float64]]:
    """Return the liquid in each cell, the part of it under the face, and its figures.

    ``top`` (rows, columns) is what it lies on, ``share`` how much of each cell it covers, ``void``
    (empty for none) what holds nothing.  ``heights`` are its own level and that of the face.
    ``least`` are the thinnest liquid that counts, how far under the face a cell is cut at all, and
    the share of a cell that counts as all of it.  The figures are those of the cells added up:
    liquid under the face, over it, share wetted; then its greatest thickness a cell in
    from the edge of the cut (0 for none).  All is 0 where no cell's liquid counts.
    """
    rows, columns = top.shape
    level_mm, plane_mm = heights
    thinnest, cut_mm, whole = least
    some = void.size > 0
    liquid = np.zeros((rows, columns), np.float32)
    under = np.zeros((rows, columns), np.float32)
    deep = np.zeros((rows, columns), np.bool_)
    figures = np.zeros(4)
    cut_below = plane_mm - np.float32(cut_mm)
    counts = False
    for j in range(rows):
        for i in range(columns):
            room = level_mm - top[j, i]
            if not room > 0.0 or share[j, i] <= 0.0 or (some and void[j, i]):
                continue
            wet = share[j, i] * room
            liquid[j, i] = wet
            counts = counts or wet > thinnest
            below = share[j, i] * max(plane_mm - top[j, i], np.float32(0.0))
            under[j, i] = min(wet, below)
            deep[j, i] = top[j, i] < cut_below and share[j, i] > whole
    if not counts:
        liquid[:] = 0.0
        return liquid, under, figures
    for j in range(rows):
        for i in range(columns):
            wet = liquid[j, i]
            if wet <= 0.0:
                continue
            figures[0] += under[j, i]
            figures[1] += wet - under[j, i]
            figures[2] += share[j, i]
            if deep[j, i] and _is_inner(deep, j, i):
                figures[3] = max(figures[3], wet)
    return liquid, under, figures


@njit(cache=True, nogil=True)
def bare_under(
    wood: Cells, around: Cells, under: Cells, thinnest: np.float32, cell_mm: float
) -> tuple[Cells, float]:
    """Return the bare wood that a liquid touches, over the area of a cell, and the sum of it.

    ``around`` (rows + 2, columns + 2) is the surface under the liquid ``under`` (rows, columns)
    with a cell more on all sides; where it lies on the ``wood`` itself, that is bare.
    """
    rows, columns = under.shape
    wet = np.zeros((rows, columns), np.float32)
    bare = np.zeros((rows, columns), np.bool_)
    found = False
    for j in range(rows):
        for i in range(columns):
            if under[j, i] > thinnest:
                wet[j, i] = under[j, i]
            if around[j + 1, i + 1] - wood[j, i] <= thinnest:
                bare[j, i] = True
                found = True
    if not found:
        return np.zeros((rows, columns), np.float32), 0.0
    area = wetted(around, wet, cell_mm)
    total = 0.0
    for j in range(rows):
        for i in range(columns):
            if bare[j, i]:
                total += area[j, i]
            else:
                area[j, i] = 0.0
    return area, total


# ---- A liquid surface that hangs from the walls of a pocket of any shape: arrays and floats only


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
