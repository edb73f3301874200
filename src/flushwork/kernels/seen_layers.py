"""A board as the eye sees it from above: layers over wood, shadow, closed sky."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels import thin_layers

# ---- Shadow and closed sky over a map of heights: arrays and floats only
#
# The figure of a sawn board as fields over a grid: arrays and floats only.


Heights = NDArray[np.float32]


@njit(cache=True, nogil=True)
def cast_shadow(
    heights: Heights, across_px: NDArray[np.int64], up_px: NDArray[np.int64], fall: Heights
) -> Heights:
    """Return by how much ground towards the light overtops each place, (rows, columns), 0 or more.

    Step k looks at the place ``across_px[k]``, ``up_px[k]`` away, over which the light has fallen
    by ``fall[k]``.  Past the edge the ground goes on as it ends.
    """
    rows, columns = heights.shape
    over = np.zeros_like(heights)
    for k in range(len(fall)):
        for j in range(rows):
            there = min(max(j + up_px[k], 0), rows - 1)
            for i in range(columns):
                at = min(max(i + across_px[k], 0), columns - 1)
                higher = heights[there, at] - heights[j, i] - fall[k]
                over[j, i] = max(over[j, i], higher)
    return over


@njit(cache=True, nogil=True)
def mean_around(heights: Heights, radius: int) -> Heights:
    """Return the mean over a square of 2 ``radius`` + 1 places about each place, (rows, columns).

    Past the edge the ground goes on as it ends.  Sums run along each axis, so the radius costs
    nothing.
    """
    rows, columns = heights.shape
    size = 2 * radius + 1
    along = np.empty_like(heights)
    for j in range(rows):
        total = 0.0
        for i in range(-radius, radius + 1):
            total += heights[j, min(max(i, 0), columns - 1)]
        for i in range(columns):
            along[j, i] = total / size
            total += heights[j, min(i + radius + 1, columns - 1)]
            total -= heights[j, max(i - radius, 0)]
    mean = np.empty_like(heights)
    sums = np.zeros(columns)
    for j in range(-radius, radius + 1):
        for i in range(columns):
            sums[i] += along[min(max(j, 0), rows - 1), i]
    for j in range(rows):
        first, last = max(j - radius, 0), min(j + radius + 1, rows - 1)
        for i in range(columns):
            mean[j, i] = sums[i] / size
            sums[i] += along[last, i] - along[first, i]
    return mean


@njit(cache=True, nogil=True)
def scatter(column: int, row: int, seed: int) -> float:
    """Return a number from 0 to 1 that depends on a lattice point as if by chance."""
    mixed = (column * 0x9E3779B1 + row * 0x85EBCA77 + seed * 0xC2B2AE3D) & 0xFFFFFFFF
    mixed = ((mixed ^ (mixed >> 15)) * 0x2C1B3C6D) & 0xFFFFFFFF
    mixed = ((mixed ^ (mixed >> 12)) * 0x297A2D39) & 0xFFFFFFFF
    return (mixed ^ (mixed >> 15)) / 4294967296.0


@njit(cache=True, nogil=True)
def smooth_noise(x: float, y: float, seed: int) -> float:
    """Return a smooth field from -1 to 1 with features about one unit across.

    Lattice values, joined by the cubic 3 t^2 - 2 t^3.
    """
    column, row = math.floor(x), math.floor(y)
    a, b = x - column, y - row
    a, b = a * a * (3.0 - 2.0 * a), b * b * (3.0 - 2.0 * b)
    below = scatter(column, row, seed) * (1.0 - a) + scatter(column + 1, row, seed) * a
    above = scatter(column, row + 1, seed) * (1.0 - a) + scatter(column + 1, row + 1, seed) * a
    return 2.0 * (below * (1.0 - b) + above * b) - 1.0


@njit(cache=True, nogil=True)
def board_figure(
    along_mm: NDArray[np.float64],
    across_mm: NDArray[np.float64],
    depth_mm: float,
    flat_sawn: bool,
    step_mm: float,
    seed: int,
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return how dark the growth rings and how bright the fibres are, each (n, m).

    ``along_mm`` and ``across_mm`` (n, m) are places on the board along and across its grain;
    ``depth_mm`` how far into the board the face lies; finer than ``step_mm`` nothing is drawn.
    Rings are cones about a pith below the board (a tree tapers): cut along the pith they show as
    arches on a flat-sawn face and as near straight lines on a quarter-sawn one.  Ring darkness runs
    from 0 to 1, fibres from -1 to 1.
    """
    rings = np.empty(along_mm.shape, np.float32)
    fibres = np.empty(along_mm.shape, np.float32)
    fine = min(1.0, 0.25 / step_mm)
    for j in range(along_mm.shape[0]):
        for i in range(along_mm.shape[1]):
            u, v = along_mm[j, i], across_mm[j, i]
            sway = 5.0 * smooth_noise(u / 140.0, v / 220.0, seed + 1)
            warp = 2.1 * smooth_noise(u / 85.0, v / 30.0, seed + 2)
            warp += 0.35 * smooth_noise(u / 30.0, v / 6.0, seed + 3)
            side = v - 78.0 + sway + 0.03 * u
            if flat_sawn:
                pith = 14.0 + 0.13 * (u + 30.0) + depth_mm + warp
                radius = math.sqrt(side * side * 0.6 + pith * pith) + 0.5 * warp
            else:
                radius = 160.0 + side + 0.3 * warp
            ring = radius / 3.3 + 0.45 * smooth_noise(radius / 8.0, 0.5, seed + 4)
            whole = math.floor(ring)
            part = ring - whole
            late = part**5
            if part > 0.9:
                late *= (1.0 - part) / 0.1
            strength = 0.3 + 0.7 * scatter(whole, 7, seed)
            rings[j, i] = 0.95 * late * strength + 0.1 * part
            streak = smooth_noise(u / 9.0, v / 0.21, seed + 5) * fine
            streak += 0.9 * smooth_noise(u / 26.0, v / 0.7, seed + 6)
            cloud = smooth_noise(u / 60.0, v / 34.0, seed + 8)
            pore = smooth_noise(u / 1.5, v / 0.15, seed + 9)
            dash = max(0.0, pore - 0.45) * fine * (0.5 + part)
            fibres[j, i] = min(max(0.42 * streak + 0.45 * cloud - 1.5 * dash, -1.0), 1.0)
    return rings, fibres


# ---- Layers laid over wood as the eye sees them from above: arrays and floats only


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
    spark = scatter(column, row, 33)
    spark = 0.5 * (spark - 0.5) + (0.9 if spark > 0.975 else 0.0)
    return 0.2 * swirl + 0.5 * spark
