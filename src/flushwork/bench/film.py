"""The film of a board: what each stage shows on each face, for a page to scrub through."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.bench.tiles import FINEST_PX_MM, Past, ScreenTile, coarseness, screen_tile
from flushwork.book.pictures import swatches_of
from flushwork.job.records import FACES, Blank, FaceName
from flushwork.kernels.coverage import coverage
from flushwork.kernels.grain import board_figure
from flushwork.pipeline import Build
from flushwork.plan.stages import StageKind
from flushwork.strata.board import TILE_CELLS, BoardState, FaceStack, TileStack
from flushwork.strata.holes import HOLE_MM, holes, lowest_wood, other_name
from flushwork.strata.look import Swatch, linear_light
from flushwork.strata.regions import region_edges
from flushwork.strata.steps import BoardSpec
from flushwork.strata.tiles import base_tile, grid, tile_window, tiles_under

BARE: Final = -1
"""The number of a tile of plain wood at the face's plane."""

SEED: Final = 11
"""The same board as in the still pictures."""

OUTLINE_MM: Final = 0.05
MOST_WOOD_PIXELS: Final = 900_000

FaceTiles = dict[tuple[int, int], int]


@dataclass(frozen=True, slots=True)
class FaceShot:
    """One face after one stage: its plane, whether finish lies on it, tiles other than bare wood.

    ``tiles`` gives the number of a tile in the film by (column, row).
    """

    plane_mm: float
    finished: bool
    tiles: FaceTiles


@dataclass(frozen=True, slots=True)
class Shot:
    """The board after one stage; ``trimmed`` says that the waste is gone."""

    stage: int
    trimmed: bool
    front: FaceShot
    back: FaceShot


@dataclass(frozen=True, slots=True)
class Film:
    """All stages of a board for the screen.

    Pixels are ``px_mm`` wide, ``columns`` x ``rows`` of them, tiles ``side`` pixels square.
    ``wood`` is (rows, columns, 3), the square root of the linear light of bare wood in pixels of
    ``wood_px_mm``; ``inside`` (rows, columns) the share of each pixel inside the trim line.
    """

    spec: BoardSpec
    px_mm: float
    columns: int
    rows: int
    side: int
    shots: tuple[Shot, ...]
    tiles: tuple[ScreenTile, ...]
    wood_px_mm: float
    wood: dict[FaceName, NDArray[np.uint8]]
    inside: dict[FaceName, NDArray[np.uint8]]
    outline: dict[FaceName, list[list[list[float]]]]

    def index(self) -> dict[str, Any]:
        """Return everything but the pixels, for the page."""
        return {
            "length_mm": self.spec.length_mm,
            "width_mm": self.spec.width_mm,
            "thickness_mm": self.spec.thickness_mm,
            "turn_about_x": self.spec.turn_about_x,
            "cell_mm": self.spec.cell_mm,
            "px_mm": self.px_mm,
            "columns": self.columns,
            "rows": self.rows,
            "side": self.side,
            "tiles": len(self.tiles),
            "wood": {"px_mm": self.wood_px_mm, "size": list(self.wood["front"].shape[1::-1])},
            "outline": self.outline,
            "shots": [
                {
                    "stage": shot.stage,
                    "trimmed": shot.trimmed,
                    "front": _face_index(shot.front),
                    "back": _face_index(shot.back),
                }
                for shot in self.shots
            ],
        }

    def pixels(self) -> bytes:
        """Return all tiles, each as heights, colour, shine."""
        return b"".join(tile.data() for tile in self.tiles)


def _face_index(face: FaceShot) -> dict[str, Any]:
    return {
        "plane_mm": round(face.plane_mm, 4),
        "finished": face.finished,
        "tiles": [number for key, tile in face.tiles.items() for number in (*key, tile)],
    }


@dataclass
class _Cutting:
    """The film while it is being made."""

    spec: BoardSpec
    swatches: dict[str, Swatch]
    factor: int
    tiles: list[ScreenTile] = field(default_factory=list)
    seen: dict[tuple[int, bytes], int] = field(default_factory=dict)
    kept: list[TileStack] = field(default_factory=list)
    pasts: dict[tuple[FaceName, tuple[int, int]], Past] = field(default_factory=dict)

    def face(self, state: BoardState, name: FaceName) -> FaceShot:
        """Return one face after one stage, its new tiles added to the film."""
        face, other = state.face(name), state.face(other_name(name))
        voids = _voids(self.spec, face, other)
        keys = dict.fromkeys((*face.tiles, *voids))
        tiles = {key: self._tile(face, name, key, voids.get(key)) for key in keys}
        return FaceShot(face.plane_mm, bool(face.coats), tiles)

    def _tile(
        self,
        face: FaceStack,
        name: FaceName,
        key: tuple[int, int],
        hole: NDArray[np.bool_] | None,
    ) -> int:
        tile = face.tiles.get(key) or base_tile(face, key)
        mark = (id(tile), b"" if hole is None else hole.tobytes())
        number = self.seen.get(mark)
        if number is None:
            # an id is only good while its tile lives
            self.kept.append(tile)
            past = self.pasts.setdefault((name, key), Past())
            number = self.seen[mark] = len(self.tiles)
            self.tiles.append(screen_tile(tile, past, self.swatches, self.factor, hole))
        return number


def _voids(
    spec: BoardSpec, face: FaceStack, other: FaceStack
) -> dict[tuple[int, int], NDArray[np.bool_]]:
    whole = grid(spec)
    if spec.thickness_mm + lowest_wood(face, whole) + lowest_wood(other, whole) > HOLE_MM:
        return {}
    found = ((key, holes(spec, face, other, tile_window(key))) for key in tiles_under(whole))
    return {key: hole for key, hole in found if hole is not None}


def film_of(made: Build) -> Film:
    """Return the film of a build."""
    spec = made.replay.spec
    factor = coarseness(spec.length_mm, spec.width_mm, spec.cell_mm)
    cutting = _Cutting(spec, swatches_of(made.palette), factor)
    trim_stage = next(
        (stage.number for stage in made.plan.stages if stage.kind is StageKind.TRIM), math.inf
    )
    shots = []
    for state in made.replay.states:
        front, back = cutting.face(state, "front"), cutting.face(state, "back")
        shots.append(Shot(state.stage, state.stage >= trim_stage, front, back))
    px_mm = spec.cell_mm * factor
    columns, rows = math.ceil(spec.length_mm / px_mm), math.ceil(spec.width_mm / px_mm)
    trims = {face.name: face.trim for face in made.faces}
    wood_px_mm = max(FINEST_PX_MM, math.sqrt(spec.length_mm * spec.width_mm / MOST_WOOD_PIXELS))
    return Film(
        spec=spec,
        px_mm=px_mm,
        columns=columns,
        rows=rows,
        side=TILE_CELLS // factor,
        shots=tuple(shots),
        tiles=tuple(cutting.tiles),
        wood_px_mm=wood_px_mm,
        wood={name: bare_wood(made.job.blank, name, wood_px_mm) for name in FACES},
        inside={name: _inside(trims[name], px_mm, columns, rows) for name in FACES},
        outline={name: _outline(trims[name], spec) for name in FACES},
    )


def bare_wood(blank: Blank, face: FaceName, px_mm: float) -> NDArray[np.uint8]:
    """Return a face of the bare board, (rows, columns, 3): the square root of its linear light."""
    return _bare_wood(
        (blank.length_mm, blank.width_mm),
        blank.thickness_mm if face == "back" else 0.0,
        px_mm,
        (blank.timber.colour, blank.timber.grain_colour),
        along_x=blank.grain_along_x,
        flat_sawn=blank.flat_sawn,
        turned=("" if face == "front" else "y" if blank.turn_about_x else "x"),
    )


@lru_cache(maxsize=4)
def _bare_wood(
    size_mm: tuple[float, float],
    depth_mm: float,
    px_mm: float,
    colours: tuple[str, str],
    *,
    along_x: bool,
    flat_sawn: bool,
    turned: str,
) -> NDArray[np.uint8]:
    """Return a face of bare wood; the back (``turned``) is the far side of the same wood."""
    columns, rows = math.ceil(size_mm[0] / px_mm), math.ceil(size_mm[1] / px_mm)
    x, y = np.meshgrid((np.arange(columns) + 0.5) * px_mm, (np.arange(rows) + 0.5) * px_mm)
    if turned == "y":
        y = size_mm[1] - y
    elif turned == "x":
        x = size_mm[0] - x
    along, across = (x, y) if along_x else (y, x)
    rings, fibres = board_figure(along, across, depth_mm, flat_sawn, px_mm, SEED)
    light, dark = linear_light(colours[0]), linear_light(colours[1])
    mixed = light + (dark - light) * np.clip(0.85 * rings, 0.0, 1.0)[..., np.newaxis]
    lit = mixed * (1.0 + 0.11 * fibres)[..., np.newaxis]
    shown: NDArray[np.uint8] = np.rint(255.0 * np.sqrt(np.clip(lit, 0.0, 1.0))).astype(np.uint8)
    return shown


def _inside(trim: MultiPolygon, px_mm: float, columns: int, rows: int) -> NDArray[np.uint8]:
    if trim.is_empty:
        return np.full((rows, columns), 255, np.uint8)
    share = coverage(region_edges(trim), 0.0, 0.0, px_mm, columns, rows)
    shown: NDArray[np.uint8] = np.rint(255.0 * share).astype(np.uint8)
    return shown


def _outline(trim: MultiPolygon, spec: BoardSpec) -> list[list[list[float]]]:
    """Return the rings of the trim line (or of the blank), as points in mm."""
    shape = shapely.box(0.0, 0.0, spec.length_mm, spec.width_mm) if trim.is_empty else trim
    rings = [
        ring
        for part in shapely.get_parts(shape.simplify(OUTLINE_MM))
        for ring in (part.exterior, *part.interiors)
    ]
    return [[[round(x, 3), round(y, 3)] for x, y in ring.coords] for ring in rings]
