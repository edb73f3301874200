"""What was cut against what was meant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.strata.board import FaceStack
from flushwork.strata.measure import cut_map
from flushwork.strata.regions import grown, region_window, shares
from flushwork.strata.steps import BoardSpec

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
    near = grown(region, around_mm)
    mapped = cut_map(stack, spec, floor_mm, near)
    window = region_window(spec, near)
    meant, watched = shares(spec, region, window), shares(spec, near, window)
    off = meant - mapped.values
    missed = np.where(off > EDGE_SHARE, off, np.float32(0.0))
    beyond = np.where(off < -EDGE_SHARE, -off * watched, np.float32(0.0))
    area = spec.cell_mm**2
    missed_half, missed_cell = _thickest(missed)
    beyond_half, beyond_cell = _thickest(beyond)
    return Difference(
        missed_mm2=float(missed.sum(dtype=np.float64)) * area,
        beyond_mm2=float(beyond.sum(dtype=np.float64)) * area,
        missed_half_mm=missed_half * spec.cell_mm,
        missed_at=None if missed_cell is None else mapped.place(*missed_cell),
        beyond_half_mm=beyond_half * spec.cell_mm,
        beyond_at=None if beyond_cell is None else mapped.place(*beyond_cell),
    )


def _thickest(amount: NDArray[np.float32]) -> tuple[float, tuple[int, int] | None]:
    """Return the half width of the thickest part, in cells, and a cell in its middle.

    Cells are peeled off the edges, four neighbours at a time, until none is left.
    """
    if not amount.any():
        return 0.0, None
    left = amount > 0.5
    if not left.any():
        row, column = divmod(int(np.argmax(amount)), amount.shape[1])
        return float(amount[row, column]) / 2.0, (row, column)
    peels = 0
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
