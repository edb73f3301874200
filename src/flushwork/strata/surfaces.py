"""The board in progress, as frozen snapshots of stacks of surfaces held in tiles."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import FaceName
from flushwork.strata.steps import BoardSpec

Heights = NDArray[np.float32]
TILE_CELLS = 128
"""Cells along one side of a tile."""


@dataclass(frozen=True, eq=False)
class TileStack:
    """The surfaces of one tile, wood first: ``heights[k]`` is the top of ``materials[k]``.

    Each array is (TILE_CELLS, TILE_CELLS), row = y, column = x, in mm from the as-sawn plane,
    read-only.  ``heights[k] >= heights[k - 1]`` everywhere; equal means that material is absent
    there.  A tile is known by itself: two are the same only if they are one.
    """

    materials: tuple[str, ...]
    heights: tuple[Heights, ...]

    @cached_property
    def top_mm(self) -> float:
        """Its greatest height, in mm."""
        return float(self.heights[-1].max())

    @cached_property
    def lowest_mm(self) -> float:
        """Its lowest wood, in mm."""
        return float(self.heights[0].min())


@dataclass(frozen=True)
class FaceStack:
    """One face: untouched wood at ``plane_mm`` everywhere but in ``tiles``.

    A tile's key is its (column, row); cell (i, j) of tile (a, b) has its centre at
    x = (a * TILE_CELLS + i + 0.5) * cell, y = (b * TILE_CELLS + j + 0.5) * cell.
    ``coats`` are uniform clear finishes over everything, as (material, film_mm).
    """

    plane_mm: float
    tiles: Mapping[tuple[int, int], TileStack]
    coats: tuple[tuple[str, float], ...] = ()

    def __hash__(self) -> int:
        return hash((self.plane_mm, frozenset(self.tiles.values()), self.coats))

    @cached_property
    def lowest_mm(self) -> float:
        """Its lowest wood, in mm."""
        lowest = (tile.lowest_mm for tile in self.tiles.values())
        return min(self.plane_mm, min(lowest, default=self.plane_mm))


@dataclass(frozen=True, slots=True)
class ThicknessRow:
    """The thickness table: where a face's wood stands after a stage, and the blank's thickness."""

    stage: int
    face: FaceName
    why: str
    face_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Poured:
    """The liquid of one fill in one piece, in mm3: below the wood of the face, and above it.

    ``bare_mm2`` is the cut wood it wets, walls and floors, that neither sealer nor resin covers,
    ``sealed_mm2`` what sealer alone covers, where the fill asks for it.
    """

    stage: int
    face: FaceName
    subject: str
    mix: str
    pocket_mm3: float
    over_mm3: float
    greatest_mm: float
    bare_mm2: float = 0.0
    sealed_mm2: float = 0.0


@dataclass(frozen=True, slots=True)
class CutReport:
    """What one G-code file did: per move, mm3 removed, the deepest bite and where it was.

    ``removed_mm3`` and ``bite_mm`` have one entry per move of the program; ``bite_at`` is
    (n, 2), the place of the bite in the face's frame.  ``resin_mm3`` is the share of the total
    that was resin.
    """

    stage: int
    file_name: str
    removed_mm3: NDArray[np.float64]
    bite_mm: NDArray[np.float64]
    bite_at: NDArray[np.float64]
    resin_mm3: float


@dataclass(frozen=True, slots=True)
class BoardState:
    """The board after one stage."""

    stage: int
    front: FaceStack
    back: FaceStack

    def face(self, name: FaceName) -> FaceStack:
        """Return one face's stack."""
        return self.front if name == "front" else self.back


@dataclass(frozen=True, slots=True)
class Replay:
    """The whole process replayed.

    A snapshot per stage, the thickness table, liquids and cut reports.
    """

    spec: BoardSpec
    states: tuple[BoardState, ...]
    thickness_table: tuple[ThicknessRow, ...]
    poured: tuple[Poured, ...]
    cuts: tuple[CutReport, ...]

    def before_mm(self, stage: int, sawn_mm: float) -> float:
        """Return the blank's thickness when a stage begins; it is sawn ``sawn_mm`` thick."""
        found = [entry.thickness_mm for entry in self.thickness_table if entry.stage < stage]
        return found[-1] if found else sawn_mm

    def after(self, stage: int) -> BoardState:
        """Return the board as it stood after a stage."""
        return next(state for state in self.states if state.stage == stage)

    @property
    def final(self) -> BoardState:
        """The finished board."""
        return self.states[-1]
