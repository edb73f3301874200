"""A face of the bare board as pixels: what the page shows where nothing has been cut."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import Blank, FaceName
from flushwork.kernels.grain import board_figure
from flushwork.strata.look import linear_light

SEED: Final = 11
"""The same board as in the still pictures."""


def bare_wood(blank: Blank, face: FaceName, px_mm: float) -> NDArray[np.uint8]:
    """Return a face of the bare board, (rows, columns, 3): the square root of its linear light."""
    return _bare_wood(
        (blank.length_mm, blank.width_mm),
        blank.thickness_mm if face == "back" else 0.0,
        px_mm,
        (blank.timber.colour, blank.timber.grain_colour),
        along_x=blank.grain_along_x,
        flat_sawn=blank.flat_sawn,
        turned=("" if face == "front" else "y" if blank.turn_about_x else "x"),
    )


@lru_cache(maxsize=4)
def _bare_wood(
    size_mm: tuple[float, float],
    depth_mm: float,
    px_mm: float,
    colours: tuple[str, str],
    *,
    along_x: bool,
    flat_sawn: bool,
    turned: str,
) -> NDArray[np.uint8]:
    """Return a face of bare wood; the back (``turned``) is the far side of the same wood."""
    columns, rows = math.ceil(size_mm[0] / px_mm), math.ceil(size_mm[1] / px_mm)
    x, y = np.meshgrid((np.arange(columns) + 0.5) * px_mm, (np.arange(rows) + 0.5) * px_mm)
    if turned == "y":
        y = size_mm[1] - y
    elif turned == "x":
        x = size_mm[0] - x
    along, across = (x, y) if along_x else (y, x)
    rings, fibres = board_figure(along, across, depth_mm, flat_sawn, px_mm, SEED)
    light, dark = linear_light(colours[0]), linear_light(colours[1])
    mixed = light + (dark - light) * np.clip(0.85 * rings, 0.0, 1.0)[..., np.newaxis]
    lit = mixed * (1.0 + 0.11 * fibres)[..., np.newaxis]
    shown: NDArray[np.uint8] = np.rint(255.0 * np.sqrt(np.clip(lit, 0.0, 1.0))).astype(np.uint8)
    return shown
