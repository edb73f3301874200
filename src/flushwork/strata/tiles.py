"""Where cells, tiles and faces lie: windows of cells, what they hold, what lies behind them.

The stacks of many tiles brought to one order of materials.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.filling import apart, level
from flushwork.runtime.memo import memoized
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import TILE_CELLS, FaceStack, Heights, TileStack

WOOD: Final = "wood"
"""The name of the first material of every stack."""

THINNEST_MM: Final = 1e-5
"""A layer nowhere thicker is none: ten times what float32 resolves at 20 mm."""

TileKey = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle of cells: first column and row, and how many of each."""

    column: int
    row: int
    columns: int
    rows: int


def grid(spec: BoardSpec) -> Window:
    """Return the cells whose centres lie on the blank."""
    return Window(
        column=0,
        row=0,
        columns=max(1, math.ceil(spec.length_mm / spec.cell_mm - 0.5 - 1e-9)),
        rows=max(1, math.ceil(spec.width_mm / spec.cell_mm - 0.5 - 1e-9)),
    )


def tile_window(key: TileKey) -> Window:
    """Return the cells of one tile, whether on the blank or not."""
    return Window(key[0] * TILE_CELLS, key[1] * TILE_CELLS, TILE_CELLS, TILE_CELLS)


def live_size(spec: BoardSpec, key: TileKey) -> tuple[int, int]:
    """Return how many columns and rows of a tile lie on the blank."""
    whole = grid(spec)
    return (
        max(0, min(TILE_CELLS, whole.columns - key[0] * TILE_CELLS)),
        max(0, min(TILE_CELLS, whole.rows - key[1] * TILE_CELLS)),
    )


def tiles_under(window: Window) -> Iterator[TileKey]:
    """Return the keys of the tiles that a window touches, row by row."""
    for row in range(window.row // TILE_CELLS, (window.row + window.rows - 1) // TILE_CELLS + 1):
        for column in range(
            window.column // TILE_CELLS, (window.column + window.columns - 1) // TILE_CELLS + 1
        ):
            yield column, row


def bounds_window(spec: BoardSpec, bounds: tuple[float, float, float, float]) -> Window:
    """Return the cells of the blank that a box (west, south, east, north in mm) touches.

    A box off the blank gives a window without cells.
    """
    whole = grid(spec)
    west, south, east, north = (side / spec.cell_mm for side in bounds)
    column = min(max(0, math.floor(west)), whole.columns)
    row = min(max(0, math.floor(south)), whole.rows)
    return Window(
        column,
        row,
        max(0, min(whole.columns, math.ceil(east)) - column),
        max(0, min(whole.rows, math.ceil(north)) - row),
    )


def overlap(window: Window, key: TileKey) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
    """Return where a window and a tile meet: the (row, column) slices in each."""
    tile = tile_window(key)
    west, south = max(window.column, tile.column), max(window.row, tile.row)
    east = min(window.column + window.columns, tile.column + tile.columns)
    north = min(window.row + window.rows, tile.row + tile.rows)
    return (
        (
            slice(south - window.row, north - window.row),
            slice(west - window.column, east - window.column),
        ),
        (slice(south - tile.row, north - tile.row), slice(west - tile.column, east - tile.column)),
    )


def surface(face: FaceStack, window: Window, layer: int) -> Heights:
    """Return one surface of a window, (rows, columns): layer 0 the wood, -1 the top."""
    heights = np.full((window.rows, window.columns), face.plane_mm, np.float32)
    for key in tiles_under(window):
        tile = face.tiles.get(key)
        if tile is not None:
            there, here = overlap(window, key)
            heights[there] = tile.heights[layer][here]
    return heights


def opposite(spec: BoardSpec, window: Window) -> Window:
    """Return the window of the other face that lies behind a window (its order reversed).

    Rows come in reverse order where the blank is turned about its length, columns otherwise; where
    the blank is no whole number of cells wide, the nearest cell is meant.
    """
    if spec.turn_about_x:
        last = math.floor(spec.width_mm / spec.cell_mm - 0.5)
        return Window(window.column, last - (window.row + window.rows - 1), *_size(window))
    last = math.floor(spec.length_mm / spec.cell_mm - 0.5)
    return Window(last - (window.column + window.columns - 1), window.row, *_size(window))


def _size(window: Window) -> tuple[int, int]:
    return window.columns, window.rows


def behind(spec: BoardSpec, other: FaceStack, window: Window, layer: int) -> Heights:
    """Return a surface of the other face as it lies behind a window of this one.

    ``other`` is the other face; heights stay in its own frame.
    """
    seen = surface(other, opposite(spec, window), layer)
    return np.ascontiguousarray(seen[::-1] if spec.turn_about_x else seen[:, ::-1])


def wood_between(spec: BoardSpec, face: FaceStack, other: FaceStack, window: Window) -> Heights:
    """Return the wood left between both faces in a window of ``face``, in mm; holes are <= 0."""
    left: Heights = (
        np.float32(spec.thickness_mm) + surface(face, window, 0) + behind(spec, other, window, 0)
    )
    return left


def base_tile(face: FaceStack, key: TileKey) -> TileStack:
    """Return a tile, made of plain wood at the face's plane where it is untouched."""
    tile = face.tiles.get(key)
    if tile is not None:
        return tile
    return _bare_tile(face.plane_mm)


@memoized
def _bare_tile(plane_mm: float) -> TileStack:
    plane = np.full((TILE_CELLS, TILE_CELLS), plane_mm, np.float32)
    plane.setflags(write=False)
    return TileStack((WOOD,), (plane,))


def part_of(face: FaceStack, window: Window) -> FaceStack:
    """Return a face with the tiles under a window only: all that what is done there depends on."""
    tiles = {key: face.tiles[key] for key in tiles_under(window) if key in face.tiles}
    return FaceStack(face.plane_mm, tiles, face.coats)


def stack_tile(
    materials: Sequence[str], surfaces: Sequence[Heights], plane_mm: float, sound: int = 1
) -> TileStack | None:
    """Return a read-only tile of surfaces, wood first, without empty layers; None for bare wood.

    The first ``sound`` surfaces are known to bound layers that are not empty.  Surfaces that are
    read-only already are shared, not copied.
    """
    kept = list(range(sound))
    for layer in range(sound, len(materials)):
        if apart(surfaces[layer], surfaces[kept[-1]], THINNEST_MM):
            kept.append(layer)
    if kept == [0] and level(surfaces[0], np.float32(plane_mm)):
        return None
    return TileStack(
        tuple(materials[layer] for layer in kept), tuple(_frozen(surfaces[k]) for k in kept)
    )


def _frozen(heights: Heights) -> Heights:
    if heights.flags.writeable or heights.base is not None or heights.dtype != np.float32:
        # a view would keep all of what it looks into
        if heights.base is not None or heights.dtype != np.float32:
            heights = np.array(heights, np.float32)
        heights.setflags(write=False)
    return heights


def below(tile: TileStack, height_mm: float) -> int:
    """Return how many of a tile's surfaces lie nowhere above a height: the lowest ones."""
    for layer, heights in enumerate(tile.heights):
        if float(heights.max()) > height_mm:
            return layer
    return len(tile.heights)


def with_tiles(face: FaceStack, changed: dict[TileKey, TileStack | None]) -> FaceStack:
    """Return a face with some tiles replaced (None: bare wood again), all others shared."""
    if not changed:
        return face
    tiles = dict(face.tiles)
    for key, tile in changed.items():
        if tile is None:
            tiles.pop(key, None)
        else:
            tiles[key] = tile
    return FaceStack(face.plane_mm, tiles, face.coats)


@dataclass(frozen=True, slots=True)
class Layers:
    """The surfaces of a window, wood first: ``heights`` is (k, rows, columns), in mm."""

    materials: tuple[str, ...]
    heights: NDArray[np.float32]

    def thickness_mm(self, material: str) -> NDArray[np.float32]:
        """Return the thickness of one material in each column, over all its layers."""
        total = np.zeros(self.heights.shape[1:], np.float32)
        for layer in range(1, len(self.materials)):
            if self.materials[layer] == material:
                total += self.heights[layer] - self.heights[layer - 1]
        return total


def merged_order(orders: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Return one order of materials that holds each given order as a subsequence."""
    merged: list[str] = [WOOD]
    for order in orders:
        at = 0
        for material in order[1:]:
            try:
                at = merged.index(material, at + 1)
            except ValueError:
                at += 1
                merged.insert(at, material)
    return tuple(merged)


def slots(order: Sequence[str], merged: Sequence[str]) -> tuple[int, ...]:
    """Return, for each place of the merged order, the layer of ``order`` that tops it there."""
    result = []
    layer = 0
    for place, material in enumerate(merged):
        if place > 0 and layer + 1 < len(order) and order[layer + 1] == material:
            layer += 1
        result.append(layer)
    return tuple(result)


def layers(face: FaceStack, window: Window) -> Layers:
    """Return all surfaces of a window of a face in one order of materials.

    A material absent from a column has no thickness there.
    """
    held = [(key, face.tiles[key]) for key in tiles_under(window) if key in face.tiles]
    merged = merged_order(dict.fromkeys(tile.materials for _, tile in held))
    heights = np.full((len(merged), window.rows, window.columns), face.plane_mm, np.float32)
    for key, tile in held:
        there, here = overlap(window, key)
        for place, layer in enumerate(slots(tile.materials, merged)):
            heights[place][there] = tile.heights[layer][here]
    return Layers(merged, heights)
