"""What is added to a face: sealer, fills, finish.

How a fill that was scraped flush comes to lie once its thinner has left and it has cured.

The liquid of a pocket is one body until it gels, so the pressure under its surface is the same
everywhere: where the edge lets go the surface drops flat, where it stays pinned it hangs from the
walls by the linear equation of Young and Laplace.  In a straight slot much narrower than the
capillary length that is the parabola 1.5 m (1 - (2x/w)^2); in a wide pocket the middle is flat.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.core.tolerances import DEPTH_MM
from flushwork.kernels.filling import (
    bare_under,
    filled,
    film_over,
    hang,
    neighbours_of,
    number_cells,
    pockets_of,
    share_cut,
)
from flushwork.runtime.memo import memoized
from flushwork.strata.planes import (
    grown,
    holes,
    other_name,
    region_window,
    replaced,
    shares_by_tile,
)
from flushwork.strata.steps import BoardSpec, Coat, Fill, Recess, Seal
from flushwork.strata.surfaces import TILE_CELLS, BoardState, FaceStack, Heights, Poured, TileStack
from flushwork.strata.tiles import (
    THINNEST_MM,
    TileKey,
    Window,
    base_tile,
    overlap,
    part_of,
    stack_tile,
    surface,
    tile_window,
    tiles_under,
    with_tiles,
)

STILL: Final = 1e-4
"""The surface is taken as found once no cell moves by more than this share of its sag."""

_MOST_SWEEPS: Final = 2000
_VARIATIONS: Final = 24


def settled(
    liquid: Heights,
    keeps: float,
    drunk_mm: Heights,
    recess: Recess,
    cell_mm: float,
) -> Heights:
    """Return the cured thickness of a scraped fill, (rows, columns), from its liquid thickness.

    ``keeps`` is the share of the liquid left, ``drunk_mm`` what the bare wood of each cell drinks,
    as a thickness.  Each pocket keeps exactly what is left of its own liquid.
    """
    wet = liquid > 0.0
    count = int(np.count_nonzero(wet))
    if count == 0:
        return liquid
    held = liquid[wet].astype(np.float64)
    lost = (1.0 - keeps) * held + drunk_mm[wet]
    share = share_cut(liquid)[wet].astype(np.float64)
    neighbours = neighbours_of(number_cells(wet), count)
    pockets = pockets_of(neighbours)
    sunk = np.zeros(count)
    if recess.pinning < 1.0:
        sunk += (1.0 - recess.pinning) * _variation(share, lost, held, pockets)
    if recess.pinning > 0.0:
        sag = hang(neighbours, share, (cell_mm / recess.capillary_mm) ** 2, STILL, _MOST_SWEEPS)
        # a pocket too fine for any cell to hang in drops flat
        alone = np.bincount(pockets, sag)[pockets] <= 0.0
        sunk += recess.pinning * _variation(share * np.where(alone, 1.0, sag), lost, held, pockets)
    cured = np.zeros_like(liquid)
    cured[wet] = np.maximum(held - sunk, 0.0)
    return cured


def _variation(
    shape: NDArray[np.float64],
    lost: NDArray[np.float64],
    held: NDArray[np.float64],
    pockets: NDArray[np.int32],
) -> NDArray[np.float64]:
    """Return a sinking of a shape that takes from each pocket what it lost, no cell below empty."""
    left = np.bincount(pockets, lost)
    sunk = np.zeros_like(held)
    for _ in range(_VARIATIONS):
        free = np.where(sunk < held, shape, 0.0)
        whole = np.bincount(pockets, free)
        scale = np.divide(left, whole, out=np.zeros_like(left), where=whole > 0.0)
        taken = np.minimum(free * scale[pockets], held - sunk)
        sunk += taken
        left = left - np.bincount(pockets, taken)
        if not (left > 1e-9 * np.maximum(whole, 1e-12)).any():
            break
    return sunk


_WHOLE: Final = 0.999
_THINNEST: Final = np.float32(THINNEST_MM)
COUNTED: Final = (THINNEST_MM, DEPTH_MM, _WHOLE)
"""What of a liquid counts (``kernels.filling.filled``)."""

NO_HOLE: Final = np.empty((0, 0), np.bool_)


@memoized
def add_layer(
    tile: TileStack, material: str, thickness: Heights, plane_mm: float
) -> TileStack | None:
    """Return a tile with a layer of ``thickness`` (n, n) laid on its top.

    Where the same material already is the top-most everywhere the new layer falls, the two become
    one.
    """
    wet = thickness > 0.0
    heights, materials = tile.heights, tile.materials
    top = heights[-1] + thickness
    for layer in range(len(heights) - 1, 0, -1):
        if materials[layer] == material and not np.any((heights[-1] > heights[layer]) & wet):
            raised = [np.where(wet, top, under) for under in heights[layer:]]
            return stack_tile(materials, [*heights[:layer], *raised], plane_mm, layer)
    surfaces = [*heights, top.astype(np.float32)]
    return stack_tile((*materials, material), surfaces, plane_mm, len(heights))


def seal_cuts(spec: BoardSpec, state: BoardState, seal: Seal) -> BoardState:
    """Return the board with sealer on the cut floors (below the face's plane) of some inlays."""
    face, other = state.face(seal.face), state.face(other_name(seal.face))
    brushed: dict[TileKey, NDArray[np.float32]] = {}
    for region in seal.regions:
        for key, share in shares_by_tile(spec, region):
            before = brushed.get(key)
            brushed[key] = share if before is None else np.maximum(before, share)
    changed: dict[TileKey, TileStack | None] = {}
    for key, share in brushed.items():
        tile = base_tile(face, key)
        void = holes(spec, face, other, tile_window(key))
        after = _sealed(tile, share, void, face.plane_mm, seal.material, seal.film_mm)
        if after is not tile:
            changed[key] = after
    return replaced(state, seal.face, with_tiles(face, changed))


@memoized
def _sealed(
    tile: TileStack,
    share: Heights,
    void: NDArray[np.bool_] | None,
    plane_mm: float,
    material: str,
    film_mm: float,
) -> TileStack | None:
    """Return a tile with sealer on what is cut of it; the tile itself where nothing is."""
    below = np.float32(plane_mm) - np.float32(THINNEST_MM)
    hole = NO_HOLE if void is None else void
    any_cut, film = film_over(tile.heights[-1], share, hole, below, np.float32(film_mm))
    if not any_cut:
        return tile
    return add_layer(tile, material, film, plane_mm)


def pour(spec: BoardSpec, state: BoardState, fill: Fill) -> tuple[BoardState, Poured]:
    """Return the board with a mix poured and cured, and the liquid it took.

    The liquid covers the region and its overspill, at least the whole of every cell it touches,
    wherever the top lies below the level; holes right through hold none.  Least and greatest
    thickness are of the liquid over what is cut below the face, a cell in from the edge of the cut.
    """
    face, other = state.face(fill.face), state.face(other_name(fill.face))
    region = grown(fill.region, max(fill.overspill_mm, 1.5 * spec.cell_mm))
    window = region_window(spec, region)
    voids = tuple(
        (key, void)
        for key in tiles_under(window)
        if (void := holes(spec, face, other, tile_window(key))) is not None
    )
    changed, poured = _poured(spec, part_of(face, _a_cell_more(window)), voids, region, fill)
    board = replaced(state, fill.face, with_tiles(face, dict(changed)))
    return board, replace(poured, stage=state.stage)


@memoized
def _poured(
    spec: BoardSpec,
    face: FaceStack,
    voids: tuple[tuple[TileKey, NDArray[np.bool_]], ...],
    region: MultiPolygon,
    fill: Fill,
) -> tuple[tuple[tuple[TileKey, TileStack | None], ...], Poured]:
    """Return the tiles that a fill changes, and its liquid; ``voids`` hold none."""
    heights = np.float32(fill.level_mm), np.float32(face.plane_mm)
    area = spec.cell_mm**2
    pocket_mm = over_mm = bare_cells = film_cells = greatest = 0.0
    wet: dict[TileKey, Heights] = {}
    drunk: dict[TileKey, Heights] = {}
    through = dict(voids)
    for key, share in shares_by_tile(spec, region):
        tile = base_tile(face, key)
        hole = through.get(key, NO_HOLE)
        liquid, under, figures = filled(tile.heights[-1], share, hole, heights, COUNTED)
        if not figures[2]:
            continue
        pocket_mm, over_mm = pocket_mm + figures[0], over_mm + figures[1]
        greatest = max(greatest, figures[3])
        around = surface(face, _a_cell_more(tile_window(key)), -1)
        bare, cells = bare_under(tile.heights[0], around, under, _THINNEST, spec.cell_mm)
        bare_cells += cells
        if fill.sealer_mm > 0.0:
            thin = _THINNEST + np.float32(fill.sealer_mm)
            film_cells += bare_under(tile.heights[0], around, under, thin, spec.cell_mm)[1] - cells
        wet[key] = liquid
        if fill.recess is not None:
            drunk[key] = bare * np.float32(fill.recess.uptake_mm)
    cured = _cured(spec, region, fill, wet, drunk)
    changed = tuple(
        (key, add_layer(base_tile(face, key), fill.mix, thickness, face.plane_mm))
        for key, thickness in cured.items()
    )
    poured = Poured(
        stage=0,
        face=fill.face,
        subject=fill.subject,
        mix=fill.mix,
        pocket_mm3=float(pocket_mm) * area,
        over_mm3=float(over_mm) * area,
        greatest_mm=float(greatest),
        bare_mm2=bare_cells * area,
        sealed_mm2=film_cells * area,
    )
    return changed, poured


def _a_cell_more(window: Window) -> Window:
    return Window(window.column - 1, window.row - 1, window.columns + 2, window.rows + 2)


def _cured(
    spec: BoardSpec,
    region: MultiPolygon,
    fill: Fill,
    wet: Mapping[TileKey, Heights],
    drunk: Mapping[TileKey, Heights],
) -> dict[TileKey, Heights]:
    """Return the cured thickness of a fill tile by tile, from its liquid."""
    if fill.recess is None or not wet:
        return {key: liquid * np.float32(fill.keeps) for key, liquid in wet.items()}
    window = region_window(spec, region)
    liquid = np.zeros((window.rows, window.columns), np.float32)
    taken = np.zeros_like(liquid)
    for key, thickness in wet.items():
        there, here = overlap(window, key)
        liquid[there], taken[there] = thickness[here], drunk[key][here]
    liquid[liquid <= THINNEST_MM] = 0.0
    thick = settled(liquid, fill.keeps, taken, fill.recess, spec.cell_mm)
    result: dict[TileKey, Heights] = {}
    for key in wet:
        there, here = overlap(window, key)
        result[key] = np.zeros((TILE_CELLS, TILE_CELLS), np.float32)
        result[key][here] = thick[there]
    return result


def coat_face(state: BoardState, coat: Coat) -> BoardState:
    """Return the board with a clear finish over one face."""
    face = state.face(coat.face)
    coats = (*face.coats, (coat.material, coat.film_mm))
    return replaced(state, coat.face, FaceStack(face.plane_mm, face.tiles, coats))
