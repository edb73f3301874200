"""What can be measured on the replayed board.

Volumes, thicknesses, areas, the wood between the faces.

What was cut against what was meant.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.job.records import FaceName
from flushwork.kernels.coverage import off_meant
from flushwork.strata.planes import grown, other_name, region_window, shares, shares_by_tile
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import BoardState, FaceStack
from flushwork.strata.tiles import (
    Window,
    grid,
    layers,
    overlap,
    surface,
    tile_window,
    tiles_under,
    wood_between,
)


@dataclass(frozen=True, slots=True)
class FaceMap:
    """A map over part of a face: ``values`` (rows, columns), its lower left corner, its cell."""

    left_mm: float
    bottom_mm: float
    cell_mm: float
    values: NDArray[np.float32]

    def place(self, row: int, column: int) -> tuple[float, float]:
        """Return the centre of a cell, in mm on the face."""
        return (
            self.left_mm + (column + 0.5) * self.cell_mm,
            self.bottom_mm + (row + 0.5) * self.cell_mm,
        )


@dataclass(frozen=True, slots=True)
class LeastWoodBetweenFaces:
    """The thinnest place between the faces, in mm; a negative figure is a breakthrough."""

    wood_between_mm: float
    x_mm: float
    y_mm: float


def _grid(spec: BoardSpec, window: Window, values: NDArray[np.float32]) -> FaceMap:
    return FaceMap(window.column * spec.cell_mm, window.row * spec.cell_mm, spec.cell_mm, values)


def thickness_map(
    stack: FaceStack, spec: BoardSpec, material: str, region: MultiPolygon | None = None
) -> FaceMap:
    """Return the thickness of a material in each cell, in mm, over a region's box or the face."""
    window = grid(spec) if region is None else region_window(spec, region)
    values = np.zeros((window.rows, window.columns), np.float32)
    for key in tiles_under(window):
        if key in stack.tiles:
            there, here = overlap(window, key)
            values[there] = layers(stack, tile_window(key)).thickness_mm(material)[here]
    return _grid(spec, window, values)


def area_where(
    mapped: FaceMap,
    at_least: float = -np.inf,
    at_most: float = np.inf,
    region: MultiPolygon | None = None,
) -> float:
    """Return the area in mm2 where a map lies between two values, within a region if given."""
    mask = (mapped.values >= at_least) & (mapped.values <= at_most)
    if region is None:
        return float(np.count_nonzero(mask)) * mapped.cell_mm**2
    rows, columns = mapped.values.shape
    window = Window(
        round(mapped.left_mm / mapped.cell_mm),
        round(mapped.bottom_mm / mapped.cell_mm),
        columns,
        rows,
    )
    spec = BoardSpec(0.0, 0.0, 0.0, True, mapped.cell_mm)
    inside = shares(spec, region, window)
    return float(inside[mask].sum(dtype=np.float64)) * mapped.cell_mm**2


def least_wood_between_faces(
    state: BoardState,
    spec: BoardSpec,
    where: MultiPolygon | None = None,
    face: FaceName = "front",
) -> LeastWoodBetweenFaces | None:
    """Return the thinnest wood between the faces in a region; None if no cell lies in it.

    Cells count whose greater part lies in the region.
    """
    here, other = state.face(face), state.face(other_name(face))
    least: LeastWoodBetweenFaces | None = None
    region = where if where is not None else _blank(spec)
    for key, share in shares_by_tile(spec, region):
        window = tile_window(key)
        values = np.where(share > 0.5, wood_between(spec, here, other, window), np.float32(np.inf))
        row, column = divmod(int(np.argmin(values)), values.shape[1])
        value = float(values[row, column])
        if np.isfinite(value) and (least is None or value < least.wood_between_mm):
            x_mm, y_mm = _grid(spec, window, values).place(row, column)
            least = LeastWoodBetweenFaces(value, x_mm, y_mm)
    return least


def _blank(spec: BoardSpec) -> MultiPolygon:
    length, width = spec.length_mm, spec.width_mm
    return MultiPolygon([([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)], [])])


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
