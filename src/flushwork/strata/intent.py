"""What was cut against what was meant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.kernels.meant import off_meant
from flushwork.strata.board import FaceStack
from flushwork.strata.regions import grown, region_window, shares
from flushwork.strata.steps import BoardSpec
from flushwork.strata.tiles import Window, surface

EDGE_SHARE: Final = 0.1
"""Shares of a cell closer than this count as the same: a tenth of a cell of wall."""

_AROUND_MM: Final = 3.0


@dataclass(frozen=True, slots=True)
class Difference:
    """Areas in mm2 meant but not cut to the floor (missed), and cut but not meant (beyond).

    Each with its thickest place: the half width there in mm, in whole cells, and where on the face
    (None where there is none).
    """

    missed_mm2: float
    beyond_mm2: float
    missed_half_mm: float
    missed_at: tuple[float, float] | None
    beyond_half_mm: float
    beyond_at: tuple[float, float] | None


def compare(
    stack: FaceStack,
    spec: BoardSpec,
    region: MultiPolygon,
    floor_mm: float,
    around_mm: float = _AROUND_MM,
) -> Difference:
    """Return how the wood cut to ``floor_mm`` differs from ``region``, up to ``around_mm`` off it.

    Other inlays nearer than that count as beyond: leave them out by a smaller ``around_mm``.
    """
    depth_mm = stack.plane_mm - floor_mm
    if depth_mm <= 0.0:
        message = f"the floor ({floor_mm:g} mm) must lie below the face ({stack.plane_mm:g} mm)"
        raise ValueError(message)
    near = grown(region, around_mm)
    window = region_window(spec, near)
    missed, beyond, sums, cells = off_meant(
        surface(stack, window, 0),
        shares(spec, region, window),
        shares(spec, near, window),
        np.float32(stack.plane_mm),
        np.float32(depth_mm),
        EDGE_SHARE,
    )
    area = spec.cell_mm**2
    missed_half, missed_cell = _thickest(missed, cells[0])
    beyond_half, beyond_cell = _thickest(beyond, cells[1])
    return Difference(
        missed_mm2=sums[0] * area,
        beyond_mm2=sums[1] * area,
        missed_half_mm=missed_half * spec.cell_mm,
        missed_at=_place(spec, window, missed_cell),
        beyond_half_mm=beyond_half * spec.cell_mm,
        beyond_at=_place(spec, window, beyond_cell),
    )


def _place(
    spec: BoardSpec, window: Window, cell: tuple[int, int] | None
) -> tuple[float, float] | None:
    if cell is None:
        return None
    row, column = cell
    return (
        (window.column + column + 0.5) * spec.cell_mm,
        (window.row + row + 0.5) * spec.cell_mm,
    )


def _thickest(amount: NDArray[np.float32], greatest: int) -> tuple[float, tuple[int, int] | None]:
    """Return the half width of the thickest part, in cells, and a cell in its middle.

    ``greatest`` is the number of the greatest cell, -1 for none.  Cells are peeled off the edges,
    four neighbours at a time, until none is left.
    """
    if greatest < 0:
        return 0.0, None
    row, column = divmod(greatest, amount.shape[1])
    if amount[row, column] <= 0.5:
        return float(amount[row, column]) / 2.0, (row, column)
    left, peels = amount > 0.5, 0
    while True:
        inner = left.copy()
        inner[1:] &= left[:-1]
        inner[:-1] &= left[1:]
        inner[:, 1:] &= left[:, :-1]
        inner[:, :-1] &= left[:, 1:]
        if not inner.any() or peels > max(amount.shape):
            break
        left, peels = inner, peels + 1
    row, column = divmod(int(np.argmax(left)), amount.shape[1])
    return peels + 0.5, (row, column)
