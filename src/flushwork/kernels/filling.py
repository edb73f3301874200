"""What lies in one tile of cells once a liquid is laid on it: arrays and floats only."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels.wetting import wetted

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
    liquid under the face, over it, share wetted; then its least and greatest thickness a cell in
    from the edge of the cut (inf and 0 for none).  All is 0 where no cell's liquid counts.
    """
    rows, columns = top.shape
    level_mm, plane_mm = heights
    thinnest, cut_mm, whole = least
    some = void.size > 0
    liquid = np.zeros((rows, columns), np.float32)
    under = np.zeros((rows, columns), np.float32)
    deep = np.zeros((rows, columns), np.bool_)
    figures = np.zeros(5)
    figures[3] = np.inf
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
                figures[3] = min(figures[3], wet)
                figures[4] = max(figures[4], wet)
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
