"""Tiles of the replayed board made ready for a screen: heights, colours, and how each part shines.

A tile of the strata is shared by every stage that leaves it alone, so each is prepared once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.strata.board import TileStack
from flushwork.strata.look import CLEAR, Swatch, linear_light
from flushwork.strata.shine import Layer, shine_of

Light = NDArray[np.float32]

FINEST_PX_MM: Final = 0.2
"""Pixels need be no smaller: twice what an eye resolves at reading distance."""

MOST_PIXELS: Final = 3_400_000
"""Pixels of one face; three textures of this size fill about 34 MB of a graphics card."""

THIN_MM: Final = 1e-4
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
            old, was = before
            fresh = np.where(top > old + MOVED_MM, True, was & (top >= old - MOVED_MM))
        self.tops[name] = (top, fresh)
        return fresh


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
    tops = [coarse(heights, factor) for heights in tile.heights]
    shape = tops[0].shape
    through = np.ones(shape, np.float32)
    resin = np.zeros((*shape, 3), np.float32)
    cover = np.zeros(shape, np.float32)
    stack: list[Layer] = []
    for name, below, top in zip(_named(tile.materials), tops[:-1], tops[1:], strict=True):
        swatch = swatches.get(name[0], CLEAR)
        thick = top - below
        here = thick > THIN_MM
        free = past.free(name, top)
        if math.isinf(swatch.hides_mm):
            deep = 1.0 - CLEAR_DEEPENS * (1.0 - np.exp(-thick / CLEAR_DEPTH_MM))
            through *= deep
            resin *= deep[..., np.newaxis]
            cover = np.where(here, np.minimum(1.0, cover + thick), cover)
        else:
            hidden = np.where(here, 1.0 - np.exp(-thick / swatch.hides_mm), 0.0)
            through *= 1.0 - hidden
            resin += hidden[..., np.newaxis] * (linear_light(swatch.colour) - resin)
            cover = np.where(here, 0.0, cover)
        stack.append(Layer(thick, swatch, free))
    shine = shine_of(stack or [Layer(cover, CLEAR, cover > 0.0)])
    void = np.zeros(shape, np.float32) if hole is None else coarse(hole.astype(np.float32), factor)
    return ScreenTile(
        heights=tops[-1].astype(np.float16),
        colour=_bytes(*np.moveaxis(np.sqrt(resin), -1, 0), 1.0 - through),
        shine=_bytes(shine.flash, cover, void, shine.gloss),
    )


def coarse(heights: Light, factor: int) -> Light:
    """Return the mean of every ``factor`` x ``factor`` cells of a tile."""
    if factor == 1:
        return heights
    rows = sum(heights[step::factor] for step in range(1, factor)) + heights[::factor]
    whole = sum(rows[:, step::factor] for step in range(1, factor)) + rows[:, ::factor]
    mean: Light = (whole * np.float32(1.0 / factor**2)).astype(np.float32)
    return mean


def _named(materials: Sequence[str]) -> list[tuple[str, int]]:
    """Return each material above the wood with the count of its like below it."""
    above = materials[1:]
    return [(name, above[:place].count(name)) for place, name in enumerate(above)]


def _bytes(*channels: Light) -> NDArray[np.uint8]:
    """Return channels from 0 to 1 as bytes side by side."""
    shown = np.empty((*channels[0].shape, len(channels)), np.uint8)
    for place, channel in enumerate(channels):
        shown[..., place] = np.minimum(channel * np.float32(255.0) + np.float32(0.5), 255.0)
    return shown
