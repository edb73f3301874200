"""Planes and saw cuts: what takes down a whole face, or a region through and through."""

from __future__ import annotations

import numpy as np

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
        keep = below(tile, float(to))
        if not plane.wood:
            keep = max(keep, 1)
        if keep == len(tile.heights) and not (keep == 1 and plane_mm < face.plane_mm):
            continue
        lowered = [np.minimum(heights, to) for heights in tile.heights[keep:]]
        if not plane.wood:
            lowered = [np.maximum(heights, tile.heights[0]) for heights in lowered]
        surfaces = [*tile.heights[:keep], *lowered]
        changed[key] = stack_tile(tile.materials, surfaces, plane_mm, max(1, keep))
    moved = with_tiles(face, changed)
    return replaced(state, plane.face, FaceStack(plane_mm, moved.tiles, face.coats))


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
