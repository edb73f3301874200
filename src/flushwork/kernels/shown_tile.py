"""One tile of layers over wood made ready for a screen: arrays and floats only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels.seen_layers import CUT_FLAKE, THIN_MM


@njit(cache=True, nogil=True)
def coarse_tops(heights: NDArray[np.float32], factor: int) -> NDArray[np.float32]:
    """Return the mean of every ``factor`` x ``factor`` cells, (rows, columns)."""
    rows, columns = heights.shape[0] // factor, heights.shape[1] // factor
    mean = np.empty((rows, columns), np.float32)
    share = 1.0 / factor**2
    for row in range(rows):
        for column in range(columns):
            total = 0.0
            for up in range(factor):
                for across in range(factor):
                    total += heights[row * factor + up, column * factor + across]
            mean[row, column] = np.float32(total * share)
    return mean


@njit(cache=True, nogil=True)
def still_free(
    top: NDArray[np.float32],
    old: NDArray[np.float32],
    was: NDArray[np.bool_],
    moved_mm: float,
) -> NDArray[np.bool_]:
    """Return where a layer's surface is as it was poured: risen since ``old``, or left alone."""
    free = np.empty(top.shape, np.bool_)
    moved = np.float32(moved_mm)
    for row in range(top.shape[0]):
        for column in range(top.shape[1]):
            now, then = top[row, column], old[row, column]
            free[row, column] = now > then + moved or (was[row, column] and now >= then - moved)
    return free


@njit(cache=True, nogil=True)
def show_layers(
    tops: NDArray[np.float32],
    free: NDArray[np.bool_],
    void: NDArray[np.float32],
    colours: NDArray[np.float32],
    hides_mm: NDArray[np.float32],
    flake: NDArray[np.bool_],
    clear: tuple[float, float],
    gloss: tuple[float, float, float],
    colour: NDArray[np.uint8],
    shine: NDArray[np.uint8],
) -> None:
    """Write what each pixel shows into ``colour`` and ``shine``, (rows, columns, 4).

    ``tops`` (k + 1, rows, columns) are the surfaces, wood first; ``free`` (k, rows, columns) where
    those of the layers are as they were poured; ``void`` the share of each pixel that is a hole.
    ``colours`` (k, 3) in linear light, ``hides_mm`` infinite for a clear layer.  ``clear`` is by
    how much a clear layer deepens, and the thickness in mm by which it does; ``gloss`` that of a
    free top, that of a cut one, and the thickness in mm from which a layer has one of its own.

    Resin hides 1 - exp(-t / hides) of what it covers (Lambert and Beer).
    """
    thin = np.float32(THIN_MM)
    for row in range(tops.shape[1]):
        for column in range(tops.shape[2]):
            through, cover = np.float32(1.0), np.float32(0.0)
            red, green, blue = np.float32(0.0), np.float32(0.0), np.float32(0.0)
            flash, glossy = np.float32(0.0), np.float32(0.0)
            for at in range(free.shape[0]):
                thick = tops[at + 1, row, column] - tops[at, row, column]
                if thick <= thin:
                    continue
                whole = free[at, row, column]
                if math.isinf(hides_mm[at]):
                    hidden = np.float32(1.0 - math.exp(-thick / np.float32(clear[1])))
                    deep = np.float32(1.0 - clear[0] * hidden)
                    through *= deep
                    red, green, blue = red * deep, green * deep, blue * deep
                    cover = min(np.float32(1.0), cover + thick)
                else:
                    hidden = np.float32(1.0 - math.exp(-thick / hides_mm[at]))
                    through *= np.float32(1.0) - hidden
                    red += hidden * (colours[at, 0] - red)
                    green += hidden * (colours[at, 1] - green)
                    blue += hidden * (colours[at, 2] - blue)
                    cover = np.float32(0.0)
                    own = 0.0 if not flake[at] else 1.0 if whole else CUT_FLAKE
                    flash += hidden * (np.float32(own) - flash)
                if thick > gloss[2]:
                    glossy = np.float32(gloss[0] if whole else gloss[1])
            colour[row, column, 0] = _byte(math.sqrt(red))
            colour[row, column, 1] = _byte(math.sqrt(green))
            colour[row, column, 2] = _byte(math.sqrt(blue))
            colour[row, column, 3] = _byte(np.float32(1.0) - through)
            shine[row, column, 0] = _byte(flash)
            shine[row, column, 1] = _byte(cover)
            shine[row, column, 2] = _byte(void[row, column])
            shine[row, column, 3] = _byte(glossy)


@njit(cache=True, nogil=True)
def _byte(share: float | np.float32) -> int:
    """Return a share from 0 to 1 as a byte."""
    return int(min(share * 255.0 + 0.5, 255.0))
