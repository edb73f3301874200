"""A face of the bare board as pixels: what the page shows where nothing has been cut.

The trim line as the page draws it: what lies inside, and its rings.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.job.records import FaceName
from flushwork.kernels.coverage import coverage
from flushwork.strata.look import WoodLook, bare_wood
from flushwork.strata.planes import region_edges
from flushwork.strata.steps import BoardSpec


@lru_cache(maxsize=4)
def bare_face(spec: BoardSpec, face: FaceName, wood: WoodLook, px_mm: float) -> NDArray[np.uint8]:
    """Return a face of the bare board, (rows, columns, 3): the square root of its linear light."""
    columns, rows = math.ceil(spec.length_mm / px_mm), math.ceil(spec.width_mm / px_mm)
    x, y = np.meshgrid((np.arange(columns) + 0.5) * px_mm, (np.arange(rows) + 0.5) * px_mm)
    lit = bare_wood(spec, face, wood, x, y, px_mm)
    shown: NDArray[np.uint8] = np.rint(255.0 * np.sqrt(np.clip(lit, 0.0, 1.0))).astype(np.uint8)
    return shown


OUTLINE_MM: Final = 0.05
"""How far a drawn outline may deviate: half of what an eye resolves."""


@lru_cache(maxsize=4)
def inside(trim: MultiPolygon, px_mm: float, columns: int, rows: int) -> NDArray[np.uint8]:
    """Return how much of each pixel lies inside the trim line, (rows, columns), 255 for all."""
    if trim.is_empty:
        return np.full((rows, columns), 255, np.uint8)
    share = coverage(region_edges(trim), 0.0, 0.0, px_mm, columns, rows)
    shown: NDArray[np.uint8] = np.rint(255.0 * share).astype(np.uint8)
    shown.setflags(write=False)
    return shown


def outline(trim: MultiPolygon, spec: BoardSpec) -> list[list[list[float]]]:
    """Return the rings of the trim line (or of the blank), as points in mm."""
    shape = shapely.box(0.0, 0.0, spec.length_mm, spec.width_mm) if trim.is_empty else trim
    rings = [
        ring
        for part in shapely.get_parts(shape.simplify(OUTLINE_MM))
        for ring in (part.exterior, *part.interiors)
    ]
    return [[[round(x, 3), round(y, 3)] for x, y in ring.coords] for ring in rings]
