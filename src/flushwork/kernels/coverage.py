"""Exact-area coverage of a cell grid by polygons: arrays and floats only.

What was cut of each cell against what was meant: arrays and floats only.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True, nogil=True)
def _row(line: NDArray[np.float64], xa: float, xb: float, share: float) -> None:
    """Enter one edge piece of one row, from ``xa`` to ``xb`` in cells, worth ``share`` of a row.

    A running sum over ``line`` then gives each cell the area to the right of the edge.
    """
    columns = line.size - 1
    low, high = min(xa, xb), max(xa, xb)
    run = high - low
    if high <= 0.0:
        line[0] += share
        return
    if low >= columns:
        return
    if run < 1e-12:
        column = min(int(low), columns - 1)
        line[column] += share * (column + 1.0 - low)
        line[column + 1] += share * (low - column)
        return
    if low < 0.0:
        line[0] += share * (-low / run)
        low = 0.0
    high = min(high, float(columns))
    column = int(low)
    while column < columns and column < high:
        a, b = max(low, float(column)), min(high, column + 1.0)
        part = share * (b - a) / run
        past = 0.5 * (a + b) - column
        line[column] += part * (1.0 - past)
        line[column + 1] += part * past
        column += 1


@njit(cache=True, nogil=True)
def coverage(
    edges: NDArray[np.float64],
    left_mm: float,
    bottom_mm: float,
    cell_mm: float,
    columns: int,
    rows: int,
) -> NDArray[np.float32]:
    """Return the share of each cell that lies inside the polygons, (rows, columns), 0 to 1.

    ``edges`` is (n, 4): x0, y0, x1, y1 in mm, outer rings counter-clockwise and holes clockwise,
    so that the interior lies to the left.  Exact for polygons that do not overlap: each edge adds
    the trapezium to its right (the trapezium formula of the area, cell by cell).
    """
    sums = np.zeros((rows, columns + 1), np.float64)
    for n in range(edges.shape[0]):
        x0 = (edges[n, 0] - left_mm) / cell_mm
        y0 = (edges[n, 1] - bottom_mm) / cell_mm
        x1 = (edges[n, 2] - left_mm) / cell_mm
        y1 = (edges[n, 3] - bottom_mm) / cell_mm
        sign = -1.0
        if y1 < y0:
            x0, y0, x1, y1 = x1, y1, x0, y0
            sign = 1.0
        if y1 <= 0.0 or y0 >= rows or y1 == y0:
            continue
        slope = (x1 - x0) / (y1 - y0)
        first = max(0, math.floor(y0))
        last = min(rows, math.ceil(y1))
        for row in range(first, last):
            ya, yb = max(y0, float(row)), min(y1, row + 1.0)
            if yb > ya:
                _row(sums[row], x0 + slope * (ya - y0), x0 + slope * (yb - y0), sign * (yb - ya))
    shares = np.empty((rows, columns), np.float32)
    for row in range(rows):
        total = 0.0
        for column in range(columns):
            total += sums[row, column]
            shares[row, column] = min(max(total, 0.0), 1.0)
    return shares


Cells = NDArray[np.float32]


@njit(cache=True, nogil=True)
def off_meant(
    wood: Cells, meant: Cells, watched: Cells, plane: np.float32, depth: np.float32, edge: float
) -> tuple[Cells, Cells, tuple[float, float], tuple[int, int]]:
    """Return what is missed and what is cut beyond in each cell, the sums and the greatest cells.

    ``wood`` (rows, columns) stands under the face's ``plane``; cut ``depth`` deep a cell is gone.
    ``meant`` is the share of each cell that shall go, ``watched`` the share that is looked at;
    less than ``edge`` off is none.  Cells are named by their number in reading order, -1 for none.
    """
    rows, columns = wood.shape
    missed = np.zeros((rows, columns), np.float32)
    beyond = np.zeros((rows, columns), np.float32)
    sums = [0.0, 0.0]
    most = [np.float32(0.0), np.float32(0.0)]
    cells = [-1, -1]
    for j in range(rows):
        for i in range(columns):
            gone = min(max((plane - wood[j, i]) / depth, np.float32(0.0)), np.float32(1.0))
            off = meant[j, i] - gone
            if off > edge:
                missed[j, i] = off
                sums[0] += off
                if off > most[0]:
                    most[0], cells[0] = off, j * columns + i
            elif off < -edge and watched[j, i] > 0.0:
                over = -off * watched[j, i]
                beyond[j, i] = over
                sums[1] += over
                if over > most[1]:
                    most[1], cells[1] = over, j * columns + i
    return missed, beyond, (sums[0], sums[1]), (cells[0], cells[1])


@njit(cache=True, nogil=True)
def shift_of(gone: Cells, meant: Cells, reach: int) -> tuple[float, float]:
    """Return how many cells (right, up) a map (rows, columns) lies off the one that was meant.

    Every edge tells of the shift across itself, however far it lies from the others: what a
    shifted map gains and loses is -s . grad, and two sums over the map, each against the slope of
    ``meant`` taken ``reach`` cells to either side, tell s.  A shift of more than ``reach`` cells is
    told as about that many.  A direction that no edge tells of is 0.
    """
    rows, columns = meant.shape
    dx = dy = xx = xy = yx = yy = 0.0
    for j in range(rows):
        near, far = max(j - reach, 0), min(j + reach, rows - 1)
        down, up = max(j - 1, 0), min(j + 1, rows - 1)
        for i in range(columns):
            wide_x = meant[j, min(i + reach, columns - 1)] - meant[j, max(i - reach, 0)]
            wide_y = meant[far, i] - meant[near, i]
            if wide_x == 0.0 and wide_y == 0.0:
                continue
            off = gone[j, i] - meant[j, i]
            slope_x = (meant[j, min(i + 1, columns - 1)] - meant[j, max(i - 1, 0)]) / 2.0
            slope_y = (meant[up, i] - meant[down, i]) / 2.0
            dx -= off * wide_x
            dy -= off * wide_y
            xx += slope_x * wide_x
            xy += slope_y * wide_x
            yx += slope_x * wide_y
            yy += slope_y * wide_y
    whole = xx * yy - xy * yx
    if whole <= 1e-6 * (xx + yy) * (xx + yy):
        return (dx / xx if xx > yy else 0.0), (dy / yy if yy >= xx and yy > 0.0 else 0.0)
    return (dx * yy - dy * xy) / whole, (dy * xx - dx * yx) / whole


@njit(cache=True, nogil=True)
def gone_within(top: Cells, near: Cells, plane: np.float32, depth: np.float32) -> Cells:
    """Return the share of each cell near a place that has gone down to a floor ``depth`` deep."""
    rows, columns = top.shape
    gone = np.zeros((rows, columns), np.float32)
    for j in range(rows):
        for i in range(columns):
            if near[j, i] > 0.0 and top[j, i] < plane:
                gone[j, i] = min((plane - top[j, i]) / depth, np.float32(1.0)) * near[j, i]
    return gone
