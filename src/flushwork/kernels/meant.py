"""What was cut of each cell against what was meant: arrays and floats only."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

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
def middle_of(share: Cells) -> tuple[float, float, float]:
    """Return the sum of a map (rows, columns), and its middle as column and row (0 for none)."""
    whole = along = up = 0.0
    for j in range(share.shape[0]):
        line = 0.0
        for i in range(share.shape[1]):
            line += share[j, i]
            along += share[j, i] * i
        whole += line
        up += line * j
    if whole <= 0.0:
        return 0.0, 0.0, 0.0
    return whole, along / whole, up / whole


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
