"""Layers laid over wood as the eye sees them from above: arrays and floats only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels.grain import scatter as scattered_noise
from flushwork.kernels.grain import smooth_noise

CUT_FLAKE = 0.22
"""Share of its flash that a flake layer keeps where it was cut or sanded (assumed, 0.1 to 0.4; a
sanded swatch beside an untouched one replaces it)."""

CUT_WITHIN_MM = 0.003
"""Flakes whose top lies this near the face were reached by its last sanding."""

THIN_MM = 1e-4
"""A thinner layer is none: float32 heights cannot tell."""

CLEAR_DEEPENS = 0.22
CLEAR_DEPTH_MM = 0.3
"""By how much a clear layer deepens what it covers, and the thickness that does most of it
(assumed, 0.1 to 0.3 and 0.1 to 1 mm; a wetted swatch beside a dry one replaces them)."""

_DARKEST = 1e-4
_LIGHTEST = 1.0 - 1e-6
_OPAQUE = 12.0


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
    scatter: NDArray[np.float32],
    inner: NDArray[np.float32],
    flake: NDArray[np.float32],
    plane_mm: float,
    sheen: float,
    first: tuple[int, int],
    step_mm: float,
    seen: NDArray[np.float32],
) -> None:
    """Look straight down on a band of cells, one value per pixel, into ``seen``.

    ``heights`` (k, n, m) are the surfaces, wood first; pixel (j, i) looks at the cells
    rows[j * samples + b], columns[i * samples + a], counted from ``first``, the row and column on
    the face of the first cell: a flake flashes whatever piece of the face is drawn.  ``wood``
    (n_px, m_px, 3) is the bare wood, ``colours`` (k, 3) of the layers, both in linear light.
    ``scatter`` (k, 3) is Kubelka and Munk's S per mm, by which a layer shows what lies below it;
    where it is not a number the layer hides 1 - exp(-t / hides) of that (Lambert and Beer).
    ``inner`` (k,) is the share of light that a glossy layer's surface throws back inside
    (J. L. Saunderson, 1942), 0 for none.  A layer whose ``hides_mm`` is infinite is clear: it
    deepens what it covers instead.  ``flake`` (k,) is how much a layer glitters; a flake layer
    whose top lies in the face ``plane_mm`` was sanded there: ``CUT_FLAKE`` of it is left.
    ``sheen`` is how much brighter whole flakes are than seen straight on: above 0 at the mirror
    angle, below 0 away from it.  ``seen`` (n_px, m_px, 5) takes red, green and blue times alpha,
    alpha, and the mean height of the top.
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
                    alpha += 1.0
                    if heights[count - 1, row, column] - heights[0, row, column] <= THIN_MM:
                        red += wood[j, i, 0]
                        green += wood[j, i, 1]
                        blue += wood[j, i, 2]
                        continue
                    r, g, bl = _column(
                        heights[:, row, column],
                        wood[j, i],
                        colours,
                        hides_mm,
                        scatter,
                        inner,
                        flake,
                        (first[0] + row, first[1] + column, step_mm),
                        plane_mm,
                        sheen,
                    )
                    red += r
                    green += g
                    blue += bl
            seen[j, i, 0] = red * share
            seen[j, i, 1] = green * share
            seen[j, i, 2] = blue * share
            seen[j, i, 3] = alpha * share
            seen[j, i, 4] = height * share


@njit(cache=True, nogil=True)
def _column(
    tops: NDArray[np.float32],
    wood: NDArray[np.float32],
    colours: NDArray[np.float32],
    hides_mm: NDArray[np.float32],
    scatter: NDArray[np.float32],
    inner: NDArray[np.float32],
    flake: NDArray[np.float32],
    cell: tuple[int, int, float],
    plane_mm: float,
    sheen: float,
) -> tuple[float, float, float]:
    """Return the linear light of one column of layers over its wood.

    ``cell`` is its row and column and the side of a cell in mm, by which flakes glitter.
    """
    red, green, blue = wood[0], wood[1], wood[2]
    for k in range(1, tops.shape[0]):
        thick = tops[k] - tops[k - 1]
        if thick <= THIN_MM:
            continue
        if math.isinf(hides_mm[k]):
            deep = 1.0 - CLEAR_DEEPENS * (1.0 - math.exp(-thick / CLEAR_DEPTH_MM))
            red, green, blue = red * deep, green * deep, blue * deep
            continue
        hidden = 1.0 - math.exp(-thick / hides_mm[k])
        if math.isnan(scatter[k, 0]):
            red += hidden * (colours[k, 0] - red)
            green += hidden * (colours[k, 1] - green)
            blue += hidden * (colours[k, 2] - blue)
        else:
            red = seen_over(colours[k, 0], scatter[k, 0] * thick, red, inner[k])
            green = seen_over(colours[k, 1], scatter[k, 1] * thick, green, inner[k])
            blue = seen_over(colours[k, 2], scatter[k, 2] * thick, blue, inner[k])
        if flake[k] > 0.0:
            shine = flake[k] * (CUT_FLAKE if abs(tops[k] - plane_mm) <= CUT_WITHIN_MM else 1.0)
            sparkle = _sparkle(cell[0], cell[1], cell[2])
            light = 1.0 + hidden * ((1.0 + shine * sparkle) * (1.0 + shine * sheen) - 1.0)
            red, green, blue = red * light, green * light, blue * light
    return red, green, blue


@njit(cache=True, nogil=True)
def seen_over(opaque: float, scattered: float, ground: float, inner: float) -> float:
    """Return what a layer of an opaque reflectance and an S times thickness shows over a ground.

    Both reflectances as seen outside; the theory holds inside, beneath the layer's surface.
    """
    shown = min(_LIGHTEST, max(_DARKEST, opaque))
    inside = shown / (1.0 - inner + inner * shown)
    ground = ground / (1.0 - inner + inner * ground)
    ratio = (1.0 - inside) ** 2 / (2.0 * inside)
    depth = scattered * math.sqrt(ratio * (ratio + 2.0))
    if depth > _OPAQUE:
        return shown
    turned = depth / math.tanh(depth) if depth > 1e-6 else 1.0
    both = (1.0 + ratio) * scattered
    seen = (scattered - ground * (both - turned)) / (both - ground * scattered + turned)
    return (1.0 - inner) * seen / (1.0 - inner * seen)


@njit(cache=True, nogil=True)
def _sparkle(row: int, column: int, step_mm: float) -> float:
    """Return how much brighter flakes are at one cell: slow swirls, and single flakes that flash.

    About 0 on the mean.
    """
    x, y = column * step_mm, row * step_mm
    swirl = smooth_noise(x / 3.1 + 0.6 * smooth_noise(y / 4.0, x / 6.0, 31), y / 2.3, 32)
    spark = scattered_noise(column, row, 33)
    spark = 0.5 * (spark - 0.5) + (0.9 if spark > 0.975 else 0.0)
    return 0.2 * swirl + 0.5 * spark
