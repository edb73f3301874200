"""Planes and saw cuts: what takes down a whole face, or a region through and through.

Regions of a face as shares of its cells.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.kernels.coverage import coverage
from flushwork.runtime.memo import memoized
from flushwork.strata.steps import BoardSpec, Kerf, Plane
from flushwork.strata.surfaces import TILE_CELLS, BoardState, FaceStack, TileStack
from flushwork.strata.through_holes import erase_holes, replaced
from flushwork.strata.tiles import (
    TileKey,
    Window,
    base_tile,
    below,
    bounds_window,
    overlap,
    stack_tile,
    tiles_under,
    with_tiles,
)

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
