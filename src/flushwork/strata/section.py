"""A section through the board along a line on a face."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import FaceName
from flushwork.strata.planes import HOLE_MM, other_name
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import TILE_CELLS, BoardState, FaceStack
from flushwork.strata.tiles import grid, merged_order, slots

Profile = tuple[str, NDArray[np.float32]]
"""A material and its top at each position of a section, in mm."""


@dataclass(frozen=True, slots=True)
class BoardSection:
    """Column stacks along a line on a face, in that face's heights.

    ``positions_mm`` (n,) run from 0 along the line, ``places_mm`` (n, 2) are where on the face.
    ``near`` are the surfaces of the face, wood first, rising; ``far`` those of the other face,
    wood first, falling.  Wood lies between near[0] and far[0]; where ``hole`` holds there is none,
    nor anything else.  ``coats`` are the films over near and far, in mm.
    """

    positions_mm: NDArray[np.float64]
    places_mm: NDArray[np.float64]
    near: tuple[Profile, ...]
    far: tuple[Profile, ...]
    hole: NDArray[np.bool_]
    coats_mm: tuple[float, float]


def section(
    state: BoardState,
    spec: BoardSpec,
    face: FaceName,
    start: tuple[float, float],
    end: tuple[float, float],
    *,
    step_mm: float | None = None,
) -> BoardSection:
    """Return the section from ``start`` to ``end`` (mm on a face), one column per ``step_mm``.

    The step defaults to the cell.  Positions off the blank are holes.
    """
    length = math.dist(start, end)
    count = max(2, math.ceil(length / (step_mm or spec.cell_mm)) + 1)
    share = np.linspace(0.0, 1.0, count)[:, np.newaxis]
    places = np.array(start) * (1.0 - share) + np.array(end) * share
    near = _profiles(state.face(face), spec, places)
    other = state.face(other_name(face))
    far = tuple(
        (material, (-np.float32(spec.thickness_mm) - heights).astype(np.float32))
        for material, heights in _profiles(other, spec, _mirrored(spec, places))
    )
    off = np.any((places < 0.0) | (places > (spec.length_mm, spec.width_mm)), axis=1)
    return BoardSection(
        positions_mm=share[:, 0] * length,
        places_mm=places,
        near=near,
        far=far,
        hole=off | (near[0][1] - far[0][1] <= HOLE_MM),
        coats_mm=(_film_mm(state.face(face)), _film_mm(other)),
    )


def _film_mm(face: FaceStack) -> float:
    return sum(film for _, film in face.coats)


def _mirrored(spec: BoardSpec, places: NDArray[np.float64]) -> NDArray[np.float64]:
    turned = places.copy()
    if spec.turn_about_x:
        turned[:, 1] = spec.width_mm - turned[:, 1]
    else:
        turned[:, 0] = spec.length_mm - turned[:, 0]
    return turned


def _profiles(face: FaceStack, spec: BoardSpec, places: NDArray[np.float64]) -> tuple[Profile, ...]:
    whole = grid(spec)
    cells = np.floor(places / spec.cell_mm).astype(np.int64)
    cells = np.clip(cells, 0, (whole.columns - 1, whole.rows - 1))
    tiles, inside = np.divmod(cells, TILE_CELLS)
    keys: Iterable[tuple[int, int]] = dict.fromkeys(map(tuple, tiles.tolist()))
    held = [(key, face.tiles[key]) for key in keys if key in face.tiles]
    merged = merged_order(tile.materials for _, tile in held)
    heights = np.full((len(merged), len(places)), face.plane_mm, np.float32)
    for key, tile in held:
        here = np.flatnonzero((tiles == key).all(axis=1))
        for place, layer in enumerate(slots(tile.materials, merged)):
            heights[place, here] = tile.heights[layer][inside[here, 1], inside[here, 0]]
    return tuple(zip(merged, heights, strict=True))
