"""Planes, saw cuts and holes: what takes down a whole face, or leaves nothing between the faces.

Regions of a face as shares of its cells.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.job.records import FaceName
from flushwork.kernels.coverage import coverage
from flushwork.runtime.memo import memoized
from flushwork.strata.steps import BoardSpec, Kerf, Plane
from flushwork.strata.surfaces import TILE_CELLS, BoardState, FaceStack, TileStack
from flushwork.strata.tiles import (
    TileKey,
    Window,
    base_tile,
    below,
    bounds_window,
    opposite,
    overlap,
    stack_tile,
    tile_window,
    tiles_under,
    with_tiles,
    wood_between,
)

# ---- Holes right through: where nothing is left between the faces, nothing is left at all


HOLE_MM: Final = 1e-4
"""Wood between the faces no thicker is a hole: float32 cannot tell it from none at 20 mm."""


def other_name(name: FaceName) -> FaceName:
    """Return the name of the other face."""
    return "back" if name == "front" else "front"


def replaced(state: BoardState, name: FaceName, face: FaceStack) -> BoardState:
    """Return the board with one face replaced."""
    if name == "front":
        return BoardState(state.stage, face, state.back)
    return BoardState(state.stage, state.front, face)


def lowest_wood(face: FaceStack, window: Window) -> float:
    """Return the lowest wood of the tiles under a window, in mm."""
    lowest = face.plane_mm
    for key in tiles_under(window):
        tile = face.tiles.get(key)
        if tile is not None:
            lowest = min(lowest, tile.lowest_mm)
    return lowest


def may_be_holed(spec: BoardSpec, face: FaceStack, other: FaceStack, window: Window) -> bool:
    """Return whether the lowest wood of the tiles under a window leaves room for a hole."""
    behind = lowest_wood(other, opposite(spec, window))
    return spec.thickness_mm + lowest_wood(face, window) + behind <= HOLE_MM


def holes(
    spec: BoardSpec, face: FaceStack, other: FaceStack, window: Window
) -> NDArray[np.bool_] | None:
    """Return where a window of ``face`` is a hole right through, or None if nowhere."""
    if not may_be_holed(spec, face, other, window):
        return None
    mask: NDArray[np.bool_] = wood_between(spec, face, other, window) <= HOLE_MM
    return mask if mask.any() else None


def erase_holes(
    spec: BoardSpec, state: BoardState, name: FaceName, keys: Iterable[TileKey]
) -> BoardState:
    """Return the board with every layer gone, on both faces, where those tiles of a face are holes.

    The wood's surfaces stay where the bits left them, so that the wood between the faces keeps
    telling by how much the board was broken through.
    """
    face, other = state.face(name), state.face(other_name(name))
    for key in keys:
        window = tile_window(key)
        mask = holes(spec, face, other, window)
        if mask is None:
            continue
        face = _collapsed(face, window, mask)
        turned = mask[::-1] if spec.turn_about_x else mask[:, ::-1]
        other = _collapsed(other, opposite(spec, window), turned)
    return replaced(replaced(state, name, face), other_name(name), other)


def _collapsed(face: FaceStack, window: Window, mask: NDArray[np.bool_]) -> FaceStack:
    changed = {}
    for key in tiles_under(window):
        tile = face.tiles.get(key)
        if tile is None or len(tile.heights) == 1:
            continue
        there, here = overlap(window, key)
        hole = np.zeros(tile.heights[0].shape, np.bool_)
        hole[here] = mask[there]
        if bool(np.any((tile.heights[-1] > tile.heights[0]) & hole)):
            flat = [np.where(hole, tile.heights[0], heights) for heights in tile.heights[1:]]
            changed[key] = stack_tile(tile.materials, [tile.heights[0], *flat], face.plane_mm)
    return with_tiles(face, changed)


# ---- Planes and saw cuts: what takes down a whole face, or a region through and through


Shares = NDArray[np.float32]


def region_edges(region: MultiPolygon) -> NDArray[np.float64]:
    """Return a region's edges, (n, 4) as x0, y0, x1, y1, its interior to their left."""
    runs = []
    for polygon in region.geoms:
        turned = shapely.orient_polygons(polygon)
        for ring in (turned.exterior, *turned.interiors):
            points = shapely.get_coordinates(ring)
            runs.append(np.hstack([points[:-1], points[1:]]))
    return np.concatenate(runs) if runs else np.empty((0, 4))


@memoized
def grown(region: MultiPolygon, by_mm: float) -> MultiPolygon:
    """Return a region grown by ``by_mm``, corners rounded within 1 % of it."""
    if by_mm <= 0.0:
        return region
    wider = shapely.buffer(region, by_mm, quad_segs=8)
    return wider if isinstance(wider, MultiPolygon) else MultiPolygon([wider])


def region_window(spec: BoardSpec, region: MultiPolygon) -> Window:
    """Return the cells of the blank that a region's bounds touch; none for an empty region."""
    if region.is_empty:
        return Window(0, 0, 0, 0)
    west, south, east, north = region.bounds
    return bounds_window(spec, (west, south, east, north))


@memoized
def shares(spec: BoardSpec, region: MultiPolygon, window: Window) -> Shares:
    """Return the share of each cell of a window inside the region, (rows, columns), read-only."""
    share = coverage(
        region_edges(region),
        window.column * spec.cell_mm,
        window.row * spec.cell_mm,
        spec.cell_mm,
        window.columns,
        window.rows,
    )
    share.setflags(write=False)
    return share


@memoized
def shares_by_tile(spec: BoardSpec, region: MultiPolygon) -> tuple[tuple[TileKey, Shares], ...]:
    """Return each tile that a region touches with its shares: (n, n), read-only, 0 off the blank.

    One row of tiles is rastered at a time, so that a region over the whole face needs little room.
    """
    whole = region_window(spec, region)
    if whole.columns == 0 or whole.rows == 0:
        return ()
    edges = region_edges(region)
    found: list[tuple[TileKey, Shares]] = []
    for row in range(whole.row // TILE_CELLS, (whole.row + whole.rows - 1) // TILE_CELLS + 1):
        south = max(whole.row, row * TILE_CELLS)
        north = min(whole.row + whole.rows, (row + 1) * TILE_CELLS)
        band = Window(whole.column, south, whole.columns, north - south)
        raster = coverage(
            edges,
            band.column * spec.cell_mm,
            band.row * spec.cell_mm,
            spec.cell_mm,
            band.columns,
            band.rows,
        )
        for key in tiles_under(band):
            there, here = overlap(band, key)
            part = raster[there]
            if part.any():
                tile = np.zeros((TILE_CELLS, TILE_CELLS), np.float32)
                tile[here] = part
                tile.setflags(write=False)
                found.append((key, tile))
    return tuple(found)


def lay_plane(state: BoardState, plane: Plane) -> BoardState:
    """Return the board with everything above a height taken off one face.

    With ``wood`` the face's plane comes down too (never up); without it only what lies on the
    wood.
    """
    face = state.face(plane.face)
    to = np.float32(plane.to_mm)
    plane_mm = min(face.plane_mm, plane.to_mm) if plane.wood else face.plane_mm
    changed: dict[TileKey, TileStack | None] = {}
    for key, tile in face.tiles.items():
        after = _planed(tile, float(to), plane_mm, plane.wood, plane_mm < face.plane_mm)
        if after is not tile:
            changed[key] = after
    moved = with_tiles(face, changed)
    return replaced(state, plane.face, FaceStack(plane_mm, moved.tiles, face.coats))


@memoized
def _planed(
    tile: TileStack, to_mm: float, plane_mm: float, wood: bool, lowered: bool
) -> TileStack | None:
    """Return a tile with everything above a height taken off; the tile itself if that is nothing.

    ``lowered`` says that the plane of bare wood, now ``plane_mm``, has come down with it.
    """
    to = np.float32(to_mm)
    keep = below(tile, to_mm) if wood else max(below(tile, to_mm), 1)
    if keep == len(tile.heights) and not (keep == 1 and lowered):
        return tile
    taken = [np.minimum(heights, to) for heights in tile.heights[keep:]]
    if not wood:
        taken = [np.maximum(heights, tile.heights[0]) for heights in taken]
    return stack_tile(tile.materials, [*tile.heights[:keep], *taken], plane_mm, max(1, keep))


def saw_through(spec: BoardSpec, state: BoardState, kerf: Kerf) -> BoardState:
    """Return the board with a region erased through its whole thickness."""
    face = state.face(kerf.face)
    bottom = np.float32(-spec.thickness_mm)
    changed: dict[TileKey, TileStack | None] = {}
    for key, share in shares_by_tile(spec, kerf.region):
        tile = base_tile(face, key)
        heights = np.stack(tile.heights)
        heights -= share * np.maximum(heights - bottom, np.float32(0.0))
        whole = share > 1.0 - 1e-5
        heights[:, whole] = np.minimum(heights[:, whole], bottom)
        changed[key] = stack_tile(tile.materials, list(heights), face.plane_mm)
    cut = replaced(state, kerf.face, with_tiles(face, changed))
    return erase_holes(spec, cut, kerf.face, changed)


def standing_mm(spec: BoardSpec, state: BoardState) -> float:
    """Return the blank's thickness between the planes of its two faces."""
    return spec.thickness_mm + state.front.plane_mm + state.back.plane_mm
