"""A face of the bare board as pixels: what the page shows where nothing has been cut."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import FaceName
from flushwork.strata.look import WoodLook, bare_wood
from flushwork.strata.steps import BoardSpec


@lru_cache(maxsize=4)
def bare_face(spec: BoardSpec, face: FaceName, wood: WoodLook, px_mm: float) -> NDArray[np.uint8]:
    """Return a face of the bare board, (rows, columns, 3): the square root of its linear light."""
    columns, rows = math.ceil(spec.length_mm / px_mm), math.ceil(spec.width_mm / px_mm)
    x, y = np.meshgrid((np.arange(columns) + 0.5) * px_mm, (np.arange(rows) + 0.5) * px_mm)
    lit = bare_wood(spec, face, wood, x, y, px_mm)
    shown: NDArray[np.uint8] = np.rint(255.0 * np.sqrt(np.clip(lit, 0.0, 1.0))).astype(np.uint8)
    return shown
