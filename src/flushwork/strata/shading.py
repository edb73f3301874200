"""Light and shadow over a face's heights, so that recesses and holes read in a picture."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.shadow import cast_shadow, mean_around

Heights = NDArray[np.float32]

_TOWARD: Final = (-0.6, 0.8)
"""Direction towards the light in the face's plane: upper left."""

_CLIMB: Final = 1.1
"""How steeply the light falls: height per distance."""

_DEEPEST_MM: Final = 6.0


def shade(top_mm: Heights, mm_per_px: float, plane_mm: float) -> Heights:
    """Return how brightly each pixel of a height map is lit, about 1 on the flat face.

    ``top_mm`` (rows, columns), row 0 nearest.  Three terms: how far the surface leans to the light,
    the shadow that higher ground casts, and how much of the sky it closes off.
    """
    heights = np.clip(top_mm, plane_mm - _DEEPEST_MM, plane_mm + 1.0).astype(np.float32)
    lit = np.float32(1.0) + np.float32(0.16) * _lean(heights, mm_per_px)
    lit *= np.float32(1.0) - np.float32(0.55) * _cast(heights, mm_per_px)
    lit *= np.float32(1.0) - np.float32(0.5) * _closed(heights, mm_per_px)
    rows, columns = heights.shape
    # a lamp on one side: the light falls off gently across the board
    fall = np.add.outer(np.linspace(-0.02, 0.02, rows), np.linspace(0.02, -0.02, columns))
    return lit * (1.0 + fall).astype(np.float32)


def slopes(top_mm: Heights, mm_per_px: float) -> tuple[Heights, Heights]:
    """Return how much a height map rises per mm along its columns and along its rows."""
    padded = np.pad(top_mm, 1, mode="edge")
    across = (padded[1:-1, 2:] - padded[1:-1, :-2]) / np.float32(2.0 * mm_per_px)
    up = (padded[2:, 1:-1] - padded[:-2, 1:-1]) / np.float32(2.0 * mm_per_px)
    return across, up


def _lean(heights: Heights, mm_per_px: float) -> Heights:
    across, up = slopes(heights, mm_per_px)
    lean: Heights = np.tanh(np.float32(-0.8) * (across * _TOWARD[0] + up * _TOWARD[1]))
    return lean


def _cast(heights: Heights, mm_per_px: float) -> Heights:
    """Return how deep each pixel lies in the shadow of what stands towards the light, 0 to 1."""
    reach = _DEEPEST_MM / _CLIMB
    steps = max(1, min(14, math.ceil(reach / mm_per_px)))
    away = reach * (np.arange(1, steps + 1) / steps) ** 1.5
    across, up = (np.rint(away * axis / mm_per_px).astype(np.int64) for axis in _TOWARD)
    over = cast_shadow(heights, across, up, (away * _CLIMB).astype(np.float32))
    cast: Heights = np.clip(over / np.float32(0.6), np.float32(0.0), np.float32(1.0))
    return cast


def _closed(heights: Heights, mm_per_px: float) -> Heights:
    """Return how much of the sky is closed off by higher ground around, 0 to 1."""
    closed = np.zeros_like(heights)
    for radius_mm in (0.6, 1.8):
        around = mean_around(heights, max(1, round(radius_mm / mm_per_px)))
        closed += np.clip((around - heights) / np.float32(2.0 * radius_mm), 0.0, 0.5)
    return np.clip(closed, np.float32(0.0), np.float32(1.0))
