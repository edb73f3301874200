"""One tile of layers over wood made ready for a screen: arrays and floats only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from flushwork.kernels.seen_layers import (
    CUT_FLAKE,
    THIN_MM,
    Inks,
    hidden_share,
    lay_over,
)

FREE_GLOSS = 1.0
CUT_GLOSS = 0.25
"""How a top left as it was poured mirrors a lamp, and one that was cut or sanded (assumed, 0.1 to
0.4; a sanded swatch beside an untouched one replaces it)."""

GLOSSY_FROM_MM = 0.02
"""A thinner film, as of sealer, keeps the sheen of what it lies on (assumed, 0.01 to 0.05 mm)."""


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
    inks: Inks,
    colour: NDArray[np.uint8],
    shine: NDArray[np.uint8],
) -> None:
    """Write what each pixel shows into ``colour`` and ``shine``, (rows, columns, 4).

    ``tops`` (k + 1, rows, columns) are the surfaces, wood first; ``free`` (k, rows, columns) where
    those of the layers are as they were poured; ``void`` the share of each pixel that is a hole.
    ``inks`` hold the wood's own colour first.

    A layer shows what lies below it as in the still pictures (``seen_layers``).  It takes the flash
    of what it hides and gives its own.  The screen lays a pixel over the figure of the wood by one
    share for all colours.  Over wood of the wood's own colour that is exact: the share is the
    mean of what the three bands let through, or as much less as keeps every band's own light above
    nothing.
    """
    count = free.shape[0]
    thick, hidden = np.full(count, np.float32(-1.0)), np.zeros(count, np.float32)
    ink = np.zeros(4, np.uint8)
    _ink(thick, inks, hidden, ink)
    for row in range(tops.shape[1]):
        for column in range(tops.shape[2]):
            new = False
            for at in range(count):
                here = tops[at + 1, row, column] - tops[at, row, column]
                if here != thick[at]:
                    thick[at], new = here, True
            if new:  # mostly a pixel is as the one beside it
                _ink(thick, inks, hidden, ink)
            colour[row, column] = ink
            cover, flash, glossy = np.float32(0.0), np.float32(0.0), np.float32(0.0)
            for at in range(count):
                if thick[at] <= np.float32(THIN_MM):
                    continue
                whole = free[at, row, column]
                if math.isinf(inks.hides_mm[at + 1]):
                    cover = min(np.float32(1.0), cover + thick[at])
                else:
                    cover = np.float32(0.0)
                    own = 0.0 if not inks.flake[at + 1] else 1.0 if whole else CUT_FLAKE
                    flash += hidden[at] * (np.float32(own) - flash)
                if thick[at] > GLOSSY_FROM_MM:
                    glossy = np.float32(FREE_GLOSS if whole else CUT_GLOSS)
            shine[row, column, 0] = _byte(flash)
            shine[row, column, 1] = _byte(cover)
            shine[row, column, 2] = _byte(void[row, column])
            shine[row, column, 3] = _byte(glossy)


@njit(cache=True, nogil=True)
def _ink(
    thick: NDArray[np.float32],
    inks: Inks,
    hidden: NDArray[np.float32],
    ink: NDArray[np.uint8],
) -> None:
    """Write the colour of a pile of layers into ``ink``, what each hides into ``hidden``."""
    seen, dark = np.empty(3), np.zeros(3)
    seen[:] = inks.colours[0]
    for at in range(len(thick)):
        if thick[at] <= np.float32(THIN_MM):
            continue
        hidden[at] = hidden_share(thick[at], inks.hides_mm[at + 1])
        for light in (seen, dark):
            lay_over(light, inks, at + 1, thick[at])
    through = _through(seen, dark, inks.colours[0])
    for band in range(3):
        ink[band] = _byte(math.sqrt(max(0.0, seen[band] - through * inks.colours[0, band])))
    ink[3] = _byte(1.0 - through)


@njit(cache=True, nogil=True)
def _through(
    seen: NDArray[np.float64], dark: NDArray[np.float64], ground: NDArray[np.float32]
) -> float:
    """Return the share of the wood that a pixel's layers let through, one for all bands.

    ``seen`` is what they show over the ``ground``, ``dark`` what over black.
    """
    mean, most = 0.0, 1.0
    for band in range(3):
        if ground[band] > 0.0:
            mean += (seen[band] - dark[band]) / ground[band] / 3.0
            most = min(most, seen[band] / ground[band])
    return max(0.0, min(mean, most))


@njit(cache=True, nogil=True)
def _byte(share: float | np.float32) -> int:
    """Return a share from 0 to 1 as a byte."""
    return int(min(share * 255.0 + 0.5, 255.0))
