"""Regions of a face as shares of its cells."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.kernels.coverage import coverage
from flushwork.runtime.memo import memoized
from flushwork.strata.board import TILE_CELLS
from flushwork.strata.steps import BoardSpec
from flushwork.strata.tiles import TileKey, Window, bounds_window, overlap, tiles_under

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
