"""Layers laid over wood as the eye sees them from above: arrays and floats only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels.grain import scatter, smooth_noise


@njit(cache=True, nogil=True)
def see_layers(
    heights: NDArray[np.float32],
    void: NDArray[np.bool_],
    rows: NDArray[np.int64],
    columns: NDArray[np.int64],
    samples: int,
    wood: NDArray[np.float32],
    colours: NDArray[np.float32],
    hides_mm: NDArray[np.float32],
    flake: NDArray[np.float32],
    step_mm: float,
    seen: NDArray[np.float32],
) -> None:
    """Look straight down on a band of cells, one value per pixel, into ``seen``.

    ``heights`` (k, n, m) are the surfaces, wood first; pixel (j, i) looks at the cells
    rows[j * samples + b], columns[i * samples + a].  ``wood`` (n_px, m_px, 3) is the bare wood,
    ``colours`` (k, 3) of the layers, both in linear light; a layer hides 1 - exp(-t / hides) of
    what lies below it (Lambert and Beer).  A layer whose ``hides_mm`` is infinite is clear: it
    deepens what it covers instead.  ``flake`` (k,) is how much a layer glitters.  ``seen``
    (n_px, m_px, 5) takes red, green and blue times alpha, alpha, and the mean height of the top.
    """
    count = heights.shape[0]
    share = 1.0 / (samples * samples)
    for j in range(seen.shape[0]):
        for i in range(seen.shape[1]):
            red = green = blue = alpha = height = 0.0
            for b in range(samples):
                row = rows[j * samples + b]
                for a in range(samples):
                    column = columns[i * samples + a]
                    height += heights[count - 1, row, column]
                    if void[row, column]:
                        continue
                    r, g, bl = wood[j, i, 0], wood[j, i, 1], wood[j, i, 2]
                    for k in range(1, count):
                        thick = heights[k, row, column] - heights[k - 1, row, column]
                        if thick <= 1e-4:
                            continue
                        if math.isinf(hides_mm[k]):
                            deep = 1.0 - 0.22 * (1.0 - math.exp(-thick / 0.3))
                            r, g, bl = r * deep, g * deep, bl * deep
                            continue
                        hidden = 1.0 - math.exp(-thick / hides_mm[k])
                        light = 1.0
                        if flake[k] > 0.0:
                            light = _glitter(row, column, step_mm, flake[k])
                        r += hidden * (colours[k, 0] * light - r)
                        g += hidden * (colours[k, 1] * light - g)
                        bl += hidden * (colours[k, 2] * light - bl)
                    red += r
                    green += g
                    blue += bl
                    alpha += 1.0
            seen[j, i, 0] = red * share
            seen[j, i, 1] = green * share
            seen[j, i, 2] = blue * share
            seen[j, i, 3] = alpha * share
            seen[j, i, 4] = height * share


@njit(cache=True, nogil=True)
def _glitter(row: int, column: int, step_mm: float, amount: float) -> float:
    """Return how bright flakes are at one cell: slow swirls, and a sparkle of single flakes."""
    x, y = column * step_mm, row * step_mm
    swirl = smooth_noise(x / 3.1 + 0.6 * smooth_noise(y / 4.0, x / 6.0, 31), y / 2.3, 32)
    spark = scatter(column, row, 33)
    spark = 0.5 * (spark - 0.5) + (0.9 if spark > 0.975 else 0.0)
    return 1.0 + amount * (0.2 * swirl + 0.5 * spark)
