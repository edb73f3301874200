"""Tiles of the replayed board made ready for a screen: heights, colours, and how each part shines.

A tile of the strata is shared by every stage that leaves it alone, so each is prepared once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.job.records import FaceName
from flushwork.kernels.coverage import coverage
from flushwork.kernels.shown_tile import coarse_tops, show_layers, still_free
from flushwork.strata.look import CLEAR, WoodLook, bare_wood, layer_inks
from flushwork.strata.palette import ShownColour
from flushwork.strata.planes import region_edges
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import TileStack

Light = NDArray[np.float32]

FINEST_PX_MM: Final = 0.2
"""Pixels need be no smaller: twice what an eye resolves at reading distance."""

MOST_PIXELS: Final = 3_400_000
"""Pixels of one face; three textures of this size fill about 34 MB of a graphics card."""

MOVED_MM: Final = 0.004
"""A surface that moved by no more is the same surface: the rounding of a half-precision height."""


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


@dataclass(frozen=True, slots=True, eq=False)
class Top:
    """The top of a layer: its heights in cells, in pixels, and where it is as it was poured."""

    heights: Light
    pixels: Light
    free: NDArray[np.bool_]


Tops = dict[tuple[str, int], Top]


@dataclass
class Past:
    """What the tiles of one place have shown so far: the top of each layer.

    A surface is free as long as nothing has cut or sanded it since it was poured.
    """

    tops: Tops = field(default_factory=dict)

    def goes_on(self, tile: TileStack, factor: int) -> list[Top]:
        """Take in what the next stage shows: its surfaces, the wood first."""
        return [
            self._goes_on(name, heights, factor)
            for name, heights in zip(_named(tile.materials), tile.heights, strict=True)
        ]

    def _goes_on(self, name: tuple[str, int], heights: Light, factor: int) -> Top:
        before = self.tops.get(name)
        if before is None or before.heights is not heights:
            pixels = coarse(heights, factor)
            before = self.tops[name] = Top(heights, pixels, self.free(before, pixels))
        return before

    def free(self, before: Top | None, pixels: Light) -> NDArray[np.bool_]:
        """Return where the top of a layer is still as it was poured."""
        if before is None:
            return np.ones(pixels.shape, np.bool_)
        return still_free(pixels, before.pixels, before.free, MOVED_MM)


class Settled(Past):
    """A past that is known already: what was free stays so, wherever its surface lies now."""

    def free(self, before: Top | None, pixels: Light) -> NDArray[np.bool_]:
        """Return where the top of a layer is still as it was poured."""
        return before.free if before is not None else super().free(before, pixels)


def screen_tile(
    tile: TileStack,
    past: Past,
    swatches: Mapping[str, ShownColour],
    factor: int,
    hole: NDArray[np.bool_] | None,
) -> ScreenTile:
    """Return a tile of the strata as the screen shows it."""
    seen = past.goes_on(tile, factor)
    tops, free = [top.pixels for top in seen], [top.free for top in seen[1:]]
    shape = tops[0].shape
    void = np.zeros(shape, np.float32) if hole is None else coarse(hole.astype(np.float32), factor)
    looks = [swatches.get(name, CLEAR) for name in tile.materials]
    inks = layer_inks(looks)
    colour, shine = np.empty((*shape, 4), np.uint8), np.empty((*shape, 4), np.uint8)
    show_layers(
        np.stack(tops),
        np.stack(free) if free else np.empty((0, *shape), np.bool_),
        void,
        inks,
        colour,
        shine,
    )
    return ScreenTile(heights=tops[-1].astype(np.float16), colour=colour, shine=shine)


def coarse(heights: Light, factor: int) -> Light:
    """Return the mean of every ``factor`` x ``factor`` cells of a tile."""
    mean: Light = heights if factor == 1 else coarse_tops(heights, factor)
    return mean


def _named(materials: Sequence[str]) -> list[tuple[str, int]]:
    """Return each material with the count of its like below it."""
    return [(name, materials[:place].count(name)) for place, name in enumerate(materials)]


# ---- A face of the bare board as pixels: what the page shows where nothing has been cut
#
# The trim line as the page draws it: what lies inside, and its rings.


@lru_cache(maxsize=4)
def bare_face(spec: BoardSpec, face: FaceName, wood: WoodLook, px_mm: float) -> NDArray[np.uint8]:
    """Return a face of the bare board, (rows, columns, 3): the square root of its linear light."""
    columns, rows = math.ceil(spec.length_mm / px_mm), math.ceil(spec.width_mm / px_mm)
    x, y = np.meshgrid((np.arange(columns) + 0.5) * px_mm, (np.arange(rows) + 0.5) * px_mm)
    lit = bare_wood(spec, face, wood, x, y, px_mm)
    shown: NDArray[np.uint8] = np.rint(255.0 * np.sqrt(np.clip(lit, 0.0, 1.0))).astype(np.uint8)
    return shown


OUTLINE_MM: Final = 0.05
"""How far a drawn outline may deviate: half of what an eye resolves."""


@lru_cache(maxsize=4)
def inside(trim: MultiPolygon, px_mm: float, columns: int, rows: int) -> NDArray[np.uint8]:
    """Return how much of each pixel lies inside the trim line, (rows, columns), 255 for all."""
    if trim.is_empty:
        return np.full((rows, columns), 255, np.uint8)
    share = coverage(region_edges(trim), 0.0, 0.0, px_mm, columns, rows)
    shown: NDArray[np.uint8] = np.rint(255.0 * share).astype(np.uint8)
    shown.setflags(write=False)
    return shown


def outline(trim: MultiPolygon, spec: BoardSpec) -> list[list[list[float]]]:
    """Return the rings of the trim line (or of the blank), as points in mm."""
    shape = shapely.box(0.0, 0.0, spec.length_mm, spec.width_mm) if trim.is_empty else trim
    rings = [
        ring
        for part in shapely.get_parts(shape.simplify(OUTLINE_MM))
        for ring in (part.exterior, *part.interiors)
    ]
    return [[[round(x, 3), round(y, 3)] for x, y in ring.coords] for ring in rings]
