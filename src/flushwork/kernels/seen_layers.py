"""Layers laid over wood as the eye sees them from above: arrays and floats only."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels import thin_layers
from flushwork.kernels.picture_fields import scatter as scattered_noise
from flushwork.kernels.picture_fields import smooth_noise

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

_OPAQUE = 12.0
"""Over so much optical depth nothing of the ground is seen, and the hyperbolic form overflows."""


class Inks(NamedTuple):
    """How the k layers of a stack show, the wood first.

    ``colours`` (k, 3) are opaque ones in linear light, ``scatter`` (k, 3) Kubelka and Munk's S per
    mm, by which a layer shows what lies below it; ``inner`` (k,) is the share of light that a
    glossy layer's surface throws back inside (J. L. Saunderson, 1942), 0 for none.  A layer whose
    ``hides_mm`` (k,) is infinite is clear: it deepens what it covers instead; any other hides
    1 - 1/e of a flash below at that thickness.  ``flake`` (k,) is how much a layer glitters.
    """

    colours: NDArray[np.float32]
    hides_mm: NDArray[np.float32]
    scatter: NDArray[np.float32]
    inner: NDArray[np.float32]
    flake: NDArray[np.float32]


_ratio = njit(cache=True, nogil=True)(thin_layers.absorption_ratio)
_reflectance = njit(cache=True, nogil=True)(thin_layers.layer_reflectance)
_beneath = njit(cache=True, nogil=True)(thin_layers.beneath)
_above = njit(cache=True, nogil=True)(thin_layers.above)


@njit(cache=True, nogil=True)
def see_layers(
    heights: NDArray[np.float32],
    void: NDArray[np.bool_],
    rows: NDArray[np.int64],
    columns: NDArray[np.int64],
    samples: int,
    wood: NDArray[np.float32],
    inks: Inks,
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
    (n_px, m_px, 3) is the bare wood in linear light.  A flake layer whose top lies in the face
    ``plane_mm`` was sanded there: ``CUT_FLAKE`` of its glitter is left.
    ``sheen`` is how much brighter whole flakes are than seen straight on: above 0 at the mirror
    angle, below 0 away from it.  ``seen`` (n_px, m_px, 5) takes red, green and blue times alpha,
    alpha, and the mean height of the top.
    """
    count = heights.shape[0]
    share = 1.0 / (samples * samples)
    light = np.empty(3)
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
                    light[:] = wood[j, i]
                    _column(
                        light,
                        heights[:, row, column],
                        inks,
                        (first[0] + row, first[1] + column, step_mm),
                        plane_mm,
                        sheen,
                    )
                    red += light[0]
                    green += light[1]
                    blue += light[2]
            seen[j, i, 0] = red * share
            seen[j, i, 1] = green * share
            seen[j, i, 2] = blue * share
            seen[j, i, 3] = alpha * share
            seen[j, i, 4] = height * share


@njit(cache=True, nogil=True, inline="always")
def _column(
    light: NDArray[np.float64],
    tops: NDArray[np.float32],
    inks: Inks,
    cell: tuple[int, int, float],
    plane_mm: float,
    sheen: float,
) -> None:
    """Lay the layers of one column over the linear ``light`` of its wood.

    ``cell`` is its row and column and the side of a cell in mm, by which flakes glitter.
    """
    for k in range(1, tops.shape[0]):
        thick = tops[k] - tops[k - 1]
        if thick <= THIN_MM:
            continue
        lay_over(light, inks, k, thick)
        if inks.flake[k] > 0.0:
            cut = abs(tops[k] - plane_mm) <= CUT_WITHIN_MM
            shine = inks.flake[k] * (CUT_FLAKE if cut else 1.0)
            sparkle = _sparkle(cell[0], cell[1], cell[2])
            glint = (1.0 + shine * sparkle) * (1.0 + shine * sheen) - 1.0
            light *= 1.0 + hidden_share(thick, inks.hides_mm[k]) * glint


@njit(cache=True, nogil=True)
def lay_over(light: NDArray[np.float64], inks: Inks, k: int, thick_mm: float) -> None:
    """Turn the linear ``light`` (3,) of what lies below layer ``k`` into that on it."""
    if math.isinf(inks.hides_mm[k]):
        light *= 1.0 - CLEAR_DEEPENS * (1.0 - math.exp(-thick_mm / CLEAR_DEPTH_MM))
        return
    for band in range(3):
        scattered = inks.scatter[k, band] * thick_mm
        light[band] = seen_over(inks.colours[k, band], scattered, light[band], inks.inner[k])


@njit(cache=True, nogil=True)
def hidden_share(thick_mm: float, hides_mm: float) -> float:
    """Return the share of a flash below that a layer hides, and gives of its own; a clear one 0."""
    return 1.0 - math.exp(-thick_mm / hides_mm)


@njit(cache=True, nogil=True)
def seen_over(opaque: float, scattered: float, ground: float, inner: float) -> float:
    """Return what a layer of an opaque reflectance and an S times thickness shows over a ground.

    Both reflectances as seen outside; the theory holds inside, beneath the layer's surface.
    """
    ratio = _ratio(_beneath(opaque, inner))
    if scattered * math.sqrt(ratio * (ratio + 2.0)) > _OPAQUE:
        return opaque
    seen = _reflectance(ratio, 1.0, scattered, _beneath(ground, inner))
    return float(_above(seen, inner))


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
