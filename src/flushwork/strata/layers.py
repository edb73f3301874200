"""The stacks of many tiles brought to one order of materials."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flushwork.strata.board import FaceStack
from flushwork.strata.tiles import WOOD, Window, overlap, tiles_under


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
