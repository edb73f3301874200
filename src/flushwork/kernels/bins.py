"""Which cutter moves touch which tiles: arrays and floats only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True, nogil=True)
def _near(segment: NDArray[np.float64], x: float, y: float, reach: float) -> bool:
    """Whether a segment (x0, y0, z0, x1, y1, z1) passes (x, y) within ``reach``."""
    ax, ay = segment[0], segment[1]
    dx, dy = segment[3] - ax, segment[4] - ay
    square = dx * dx + dy * dy
    t = 0.0
    if square > 0.0:
        t = min(max(((x - ax) * dx + (y - ay) * dy) / square, 0.0), 1.0)
    return math.hypot(ax + t * dx - x, ay + t * dy - y) <= reach


@njit(cache=True, nogil=True)
def bin_segments(
    segments: NDArray[np.float64],
    tops: NDArray[np.float32],
    radius_mm: float,
    tile_mm: float,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the segments that may cut in each tile, as (starts, picks) in compressed rows.

    ``segments`` is (n, 6): x0, y0, z0, x1, y1, z1 in mm; ``tops`` (rows, columns) the greatest
    height in each tile.  Tile t = row * columns + column owns picks[starts[t]:starts[t + 1]], in
    the order of the moves.  A segment that stays at or above a tile's top is left out, which is
    what makes levelling over untouched wood nearly free.
    """
    rows, columns = tops.shape
    reach = radius_mm + 0.7072 * tile_mm
    starts = np.zeros(rows * columns + 1, np.int64)
    picks = np.empty(0, np.int64)
    for turn in range(2):
        heads = starts.copy()
        for n in range(segments.shape[0]):
            low = min(segments[n, 2], segments[n, 5])
            west = min(segments[n, 0], segments[n, 3]) - radius_mm
            east = max(segments[n, 0], segments[n, 3]) + radius_mm
            south = min(segments[n, 1], segments[n, 4]) - radius_mm
            north = max(segments[n, 1], segments[n, 4]) + radius_mm
            for row in range(
                max(0, math.floor(south / tile_mm)),
                min(rows, math.floor(north / tile_mm) + 1),
            ):
                for column in range(
                    max(0, math.floor(west / tile_mm)),
                    min(columns, math.floor(east / tile_mm) + 1),
                ):
                    if low >= tops[row, column] or not _near(
                        segments[n], (column + 0.5) * tile_mm, (row + 0.5) * tile_mm, reach
                    ):
                        continue
                    tile = row * columns + column
                    if turn == 0:
                        starts[tile + 1] += 1
                    else:
                        picks[heads[tile]] = n
                        heads[tile] += 1
        if turn == 0:
            starts = np.cumsum(starts)
            picks = np.empty(starts[-1], np.int64)
    return starts, picks
