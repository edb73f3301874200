"""Holes right through: where nothing is left between the faces, nothing is left at all."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import FaceName
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import BoardState, FaceStack
from flushwork.strata.tiles import (
    TileKey,
    Window,
    opposite,
    overlap,
    stack_tile,
    tile_window,
    tiles_under,
    with_tiles,
    wood_between,
)

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


def holes(
    spec: BoardSpec, face: FaceStack, other: FaceStack, window: Window
) -> NDArray[np.bool_] | None:
    """Return where a window of ``face`` is a hole right through, or None if nowhere."""
    least = (
        spec.thickness_mm + lowest_wood(face, window) + lowest_wood(other, opposite(spec, window))
    )
    if least > HOLE_MM:
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
