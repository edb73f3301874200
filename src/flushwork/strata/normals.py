"""Which way a height map leans: slopes and normals."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Light = NDArray[np.float32]


def slopes(top_mm: Light, mm_per_px: float) -> tuple[Light, Light]:
    """Return how much a height map rises per mm along its columns and along its rows."""
    padded = np.pad(top_mm, 1, mode="edge")
    across = (padded[1:-1, 2:] - padded[1:-1, :-2]) / np.float32(2.0 * mm_per_px)
    up = (padded[2:, 1:-1] - padded[:-2, 1:-1]) / np.float32(2.0 * mm_per_px)
    return across, up


def normals(top_mm: Light, mm_per_px: float) -> Light:
    """Return the unit normals of a height map, (rows, columns, 3): x, y and away from the face."""
    across, up = slopes(top_mm, mm_per_px)
    lean = np.stack([-across, -up, np.ones_like(across)], axis=-1)
    unit: Light = lean / np.linalg.norm(lean, axis=-1, keepdims=True)
    return unit
