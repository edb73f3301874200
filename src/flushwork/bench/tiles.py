"""Tiles of the replayed board made ready for a screen: heights, colours, and how each part shines.

A tile of the strata is shared by every stage that leaves it alone, so each is prepared once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.shown_tile import coarse_tops, show_layers, still_free
from flushwork.strata.board import TileStack
from flushwork.strata.look import CLEAR, Swatch, linear_light
from flushwork.strata.shine import CUT_GLOSS, FREE_GLOSS, GLOSSY_FROM_MM

Light = NDArray[np.float32]

FINEST_PX_MM: Final = 0.2
"""Pixels need be no smaller: twice what an eye resolves at reading distance."""

MOST_PIXELS: Final = 3_400_000
"""Pixels of one face; three textures of this size fill about 34 MB of a graphics card."""

MOVED_MM: Final = 0.004
"""A surface that moved by no more is the same surface: the rounding of a half-precision height."""

CLEAR_DEEPENS: Final = 0.22
CLEAR_DEPTH_MM: Final = 0.3
"""How a clear layer deepens what it covers; the same figures as in the still pictures."""


@dataclass(frozen=True, slots=True)
class ScreenTile:
    """One tile, n x n pixels, row 0 nearest.

    ``heights`` are half-precision mm from the as-sawn plane.  ``colour`` holds the square root of
    the linear light of all resin, and the share of the wood it hides.  ``shine`` holds the flash of
    flakes, the clear on top (1 mm is full), the share that is a hole, and the gloss.
    """

    heights: NDArray[np.float16]
    colour: NDArray[np.uint8]
    shine: NDArray[np.uint8]

    def data(self) -> bytes:
        """Return heights, colour and shine, one after the other."""
        return self.heights.tobytes() + self.colour.tobytes() + self.shine.tobytes()


def coarseness(length_mm: float, width_mm: float, cell_mm: float) -> int:
    """Return how many cells make one pixel along each side: 1, 2, 4 ... 32."""
    factor = 1
    while factor < 32 and (
        cell_mm * factor < FINEST_PX_MM - 1e-9
        or length_mm * width_mm / (cell_mm * factor) ** 2 > MOST_PIXELS
    ):
        factor *= 2
    return factor


Tops = dict[tuple[str, int], tuple[Light, NDArray[np.bool_]]]


@dataclass
class Past:
    """What the tiles of one place have shown so far: per layer its top, and whether it is free.

    A surface is free as long as nothing has cut or sanded it since it was poured.
    """

    tops: Tops = field(default_factory=dict)

    def free(self, name: tuple[str, int], top: Light) -> NDArray[np.bool_]:
        """Return where the top of a layer is still as it was poured, and remember it."""
        before = self.tops.get(name)
        if before is None:
            fresh = np.ones(top.shape, np.bool_)
        else:
            fresh = still_free(top, *before, MOVED_MM)
        self.tops[name] = (top, fresh)
        return fresh

    def goes_on(self, tile: TileStack, factor: int) -> tuple[list[Light], list[NDArray[np.bool_]]]:
        """Take in what the next stage shows: its surfaces in pixels, and where each is free."""
        tops = [coarse(heights, factor) for heights in tile.heights]
        pairs = zip(_named(tile.materials), tops[1:], strict=True)
        return tops, [self.free(name, top) for name, top in pairs]


class Settled(Past):
    """A past that is known already: what was free stays so, wherever its surface lies now."""

    def free(self, name: tuple[str, int], top: Light) -> NDArray[np.bool_]:
        """Return where the top of a layer is still as it was poured."""
        known = self.tops.get(name)
        return known[1] if known is not None else super().free(name, top)


def screen_tile(
    tile: TileStack,
    past: Past,
    swatches: Mapping[str, Swatch],
    factor: int,
    hole: NDArray[np.bool_] | None,
) -> ScreenTile:
    """Return a tile of the strata as the screen shows it."""
    tops, free = past.goes_on(tile, factor)
    shape = tops[0].shape
    void = np.zeros(shape, np.float32) if hole is None else coarse(hole.astype(np.float32), factor)
    looks = [swatches.get(name, CLEAR) for name in tile.materials[1:]]
    colour, shine = np.empty((*shape, 4), np.uint8), np.empty((*shape, 4), np.uint8)
    show_layers(
        np.stack(tops),
        np.stack(free) if free else np.empty((0, *shape), np.bool_),
        void,
        np.array([_light(look.colour) for look in looks], np.float32).reshape(-1, 3),
        np.array([look.hides_mm for look in looks], np.float32),
        np.array([look.flake for look in looks], np.bool_),
        (CLEAR_DEEPENS, CLEAR_DEPTH_MM),
        (FREE_GLOSS, CUT_GLOSS, GLOSSY_FROM_MM),
        colour,
        shine,
    )
    return ScreenTile(heights=tops[-1].astype(np.float16), colour=colour, shine=shine)


def coarse(heights: Light, factor: int) -> Light:
    """Return the mean of every ``factor`` x ``factor`` cells of a tile."""
    mean: Light = heights if factor == 1 else coarse_tops(heights, factor)
    return mean


def _named(materials: Sequence[str]) -> list[tuple[str, int]]:
    """Return each material above the wood with the count of its like below it."""
    above = materials[1:]
    return [(name, above[:place].count(name)) for place, name in enumerate(above)]


@lru_cache(maxsize=64)
def _light(colour: str) -> NDArray[np.float32]:
    return linear_light(colour)
