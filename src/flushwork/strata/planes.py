"""Planes and saw cuts: what takes down a whole face, or a region through and through."""

from __future__ import annotations

import numpy as np

from flushwork.runtime.memo import memoized
from flushwork.strata.board import BoardState, FaceStack, TileStack
from flushwork.strata.holes import erase_holes, replaced
from flushwork.strata.regions import shares_by_tile
from flushwork.strata.steps import BoardSpec, Kerf, Plane
from flushwork.strata.tiles import TileKey, base_tile, below, stack_tile, with_tiles


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
