"""The film of a board: what each stage shows on each face, for a page to scrub through."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import blake2b
from secrets import token_hex
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from flushwork.bench.desk.sketch import MovedTile
from flushwork.bench.film.screen_tiles import (
    FINEST_PX_MM,
    Past,
    ScreenTile,
    Settled,
    Tops,
    bare_face,
    coarseness,
    inside,
    outline,
    screen_tile,
)
from flushwork.built import Build
from flushwork.job.records import FACES, FaceName
from flushwork.process.stages import StageKind
from flushwork.strata.palette import ShownColour
from flushwork.strata.planes import HOLE_MM, holes, may_be_holed, other_name
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import TILE_CELLS, BoardState, FaceStack, TileStack
from flushwork.strata.tiles import (
    base_tile,
    grid,
    opposite,
    part_of,
    tile_window,
    tiles_under,
)
from flushwork.views.drawing.pictures import wood_look

_PROCESS: Final = token_hex(4)

MOST_WOOD_PIXELS: Final = 900_000

TileKey = tuple[int, int]
FaceTiles = dict[TileKey, int]


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
    tiles: tuple[FilmTile, ...]
    wood_px_mm: float
    wood: dict[FaceName, NDArray[np.uint8]]
    inside: dict[FaceName, NDArray[np.uint8]]
    outline: dict[FaceName, list[list[list[float]]]]

    def index(self) -> dict[str, Any]:
        """Return everything but the pixels, for the page.

        Many stages leave a face alone: each look of a face is told once.
        """
        faces = {id(face): face for shot in self.shots for face in (shot.front, shot.back)}
        places = {mark: place for place, mark in enumerate(faces)}
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
            "tiles": [tile.name for tile in self.tiles],
            "wood": {
                "px_mm": self.wood_px_mm,
                "size": list(self.wood["front"].shape[1::-1]),
                "names": [_name(self.wood[face]) for face in FACES],
            },
            "inside_names": [_name(self.inside[face]) for face in FACES],
            "outline": self.outline,
            "faces": [_face_index(face) for face in faces.values()],
            "shots": [
                {
                    "stage": shot.stage,
                    "trimmed": shot.trimmed,
                    "front": places[id(shot.front)],
                    "back": places[id(shot.back)],
                }
                for shot in self.shots
            ],
        }

    def pixels(self, wanted: Iterable[int]) -> bytes:
        """Return tiles by their numbers, each as heights, colour, shine."""
        return b"".join(self.tiles[number].screen.data() for number in wanted)


def _name(pixels: NDArray[np.uint8]) -> str:
    return blake2b(np.ascontiguousarray(pixels).data, digest_size=9).hexdigest()


def _face_index(face: FaceShot) -> dict[str, Any]:
    return {
        "plane_mm": round(face.plane_mm, 4),
        "finished": face.finished,
        "tiles": [number for key, tile in face.tiles.items() for number in (*key, tile)],
    }


_NUMBERS = itertools.count(1)


class FilmTile:
    """One tile as one or more stages show it, painted when it is first asked for.

    ``before`` is what lay in its place: whether a surface is still as it was poured follows from
    it; or else from ``like``, a tile with the same layers and the same past.  ``name`` is its own
    for as long as this process runs.
    """

    def __init__(
        self,
        tile: TileStack | MovedTile,
        hole: NDArray[np.bool_] | None,
        before: FilmTile | None,
        swatches: Mapping[str, ShownColour],
        factor: int,
        like: FilmTile | None = None,
    ) -> None:
        self.name = f"{_PROCESS}-{next(_NUMBERS)}"
        self.like = like
        self._tile, self.before = tile, before
        self._hole, self._swatches, self._factor = hole, swatches, factor
        self._screen: ScreenTile | None = None
        self._past: Tops | None = None

    def changed(self, tile: MovedTile) -> FilmTile:
        """Return the frame of a tile with the same layers and the same past as this one."""
        return FilmTile(tile, self._hole, None, self._swatches, self._factor, self)

    @property
    def tile(self) -> TileStack:
        """What lies here."""
        return self._tile.stack if isinstance(self._tile, MovedTile) else self._tile

    @property
    def painted(self) -> bool:
        """Whether its pixels are there already."""
        return self._screen is not None

    @property
    def screen(self) -> ScreenTile:
        """The pixels of the tile."""
        if self._screen is None:
            if self.like is not None:
                past: Past = Settled(dict(self.like._known()))
            else:
                past = Past(dict(self.before._known()) if self.before is not None else {})
            look = (self.tile, past, self._swatches, self._factor, self._hole)
            self._screen, self._past = screen_tile(*look), past.tops
        return self._screen

    def closely(self, factor: int) -> ScreenTile:
        """Return its pixels so many cells wide; nothing of them is kept here."""
        line: list[FilmTile] = []
        frame = self.before if self.like is None else self.like
        while frame is not None:
            line.append(frame)
            frame = frame.before
        past = Past()
        for each in reversed(line):
            past.goes_on(each.tile, factor)
        if self.like is not None:
            past = Settled(past.tops)
        return screen_tile(self.tile, past, self._swatches, factor, self._hole)

    def _known(self) -> Tops:
        """Return the past of what lies here later; what nobody looks at is not painted for it."""
        line: list[FilmTile] = []
        frame: FilmTile | None = self
        while frame is not None and frame._past is None:
            line.append(frame)
            frame = frame.before
        past = Past(dict(frame._past or {}) if frame is not None else {})
        for each in reversed(line):
            past.goes_on(each.tile, each._factor)
            each._past = dict(past.tops)
        return self._past or {}


Void = NDArray[np.bool_] | None


@dataclass
class FilmCache:
    """What the film before was made of.

    ``frames`` by all that makes them look as they do; ``voids``, the holes right through a tile, by
    the tiles in front and behind, which are kept with them: an id is good while its tile lives.
    """

    frames: dict[tuple[object, ...], FilmTile] = field(default_factory=dict)
    voids: dict[tuple[object, ...], tuple[tuple[FaceStack, FaceStack], Void]] = field(
        default_factory=dict
    )


@dataclass
class _Cutting:
    """The film while it is being made."""

    spec: BoardSpec
    swatches: dict[str, ShownColour]
    factor: int
    memo: FilmCache
    fresh: FilmCache = field(default_factory=FilmCache)
    tiles: list[FilmTile] = field(default_factory=list)
    seen: dict[tuple[object, ...], int] = field(default_factory=dict)
    last: dict[tuple[FaceName, TileKey], FilmTile] = field(default_factory=dict)
    shots: dict[tuple[int, int], FaceShot] = field(default_factory=dict)
    pairs: dict[tuple[int, int], dict[TileKey, NDArray[np.bool_]]] = field(default_factory=dict)

    def face(self, state: BoardState, name: FaceName) -> FaceShot:
        """Return one face after one stage, its new tiles added to the film."""
        face, other = state.face(name), state.face(other_name(name))
        pair = (id(face), id(other))
        voids = self.pairs.get(pair)
        if voids is None:
            voids = self.pairs[pair] = self._voids(face, other)
        mark = (id(face), id(other) if voids else 0)
        shot = self.shots.get(mark)
        if shot is None:
            keys = dict.fromkeys((*face.tiles, *voids))
            tiles = {key: self._tile(face, name, key, voids.get(key)) for key in keys}
            shot = self.shots[mark] = FaceShot(face.plane_mm, bool(face.coats), tiles)
        return shot

    def _tile(
        self, face: FaceStack, name: FaceName, key: TileKey, hole: NDArray[np.bool_] | None
    ) -> int:
        void = b"" if hole is None else hole.tobytes()
        tile = face.tiles.get(key)
        # of bare wood behind a hole only its height matters; an id is good while its tile lives
        mark: tuple[object, ...] = (face.plane_mm if tile is None else id(tile), void)
        number = self.seen.get(mark)
        if number is not None:
            return number
        tile = tile or base_tile(face, key)
        place = (name, key)
        before = self.last.get(place)
        looks = tuple(self.swatches.get(material) for material in tile.materials)
        asked = (place, mark, looks, id(before), self.factor)
        frame = self.memo.frames.get(asked) or FilmTile(
            tile, hole, before, self.swatches, self.factor
        )
        self.fresh.frames[asked] = self.last[place] = frame
        number = self.seen[mark] = len(self.tiles)
        self.tiles.append(frame)
        return number

    def _voids(self, face: FaceStack, other: FaceStack) -> dict[TileKey, NDArray[np.bool_]]:
        if self.spec.thickness_mm + face.lowest_mm + other.lowest_mm > HOLE_MM:
            return {}
        found = ((key, self._hole(face, other, key)) for key in tiles_under(grid(self.spec)))
        return {key: hole for key, hole in found if hole is not None}

    def _hole(self, face: FaceStack, other: FaceStack, key: TileKey) -> Void:
        """Return where a tile is a hole right through."""
        window = tile_window(key)
        if not may_be_holed(self.spec, face, other, window):
            return None
        parts = part_of(face, window), part_of(other, opposite(self.spec, window))
        marks = [
            (part.plane_mm, *((place, id(tile)) for place, tile in part.tiles.items()))
            for part in parts
        ]
        asked = (self.spec, key, *marks)
        known = self.memo.voids.get(asked) or self.fresh.voids.get(asked)
        if known is None:
            known = (parts, holes(self.spec, face, other, window))
        self.fresh.voids[asked] = known
        return known[1]


def repainted(film: Film, moved: Mapping[int, Mapping[TileKey, MovedTile]], face: FaceName) -> Film:
    """Return a film with some tiles of a face changed; ``moved`` gives them by stage.

    The new tiles have the layers of the old ones, and the same past.
    """
    tiles = list(film.tiles)
    numbers: dict[tuple[int, int], int] = {}
    faces: dict[tuple[int, int], FaceShot] = {}

    def number(old: int, tile: MovedTile) -> int:
        mark = (old, id(tile))
        if mark not in numbers:
            numbers[mark] = len(tiles)
            tiles.append(film.tiles[old].changed(tile))
        return numbers[mark]

    def shot(own: FaceShot, changed: Mapping[TileKey, MovedTile]) -> FaceShot:
        mark = (id(own), id(changed))
        if mark not in faces:
            new = {
                key: number(own.tiles[key], tile)
                for key, tile in changed.items()
                if key in own.tiles
            }
            faces[mark] = replace(own, tiles={**own.tiles, **new})
        return faces[mark]

    shots = []
    for each in film.shots:
        changed = moved.get(each.stage)
        if changed is None:
            shots.append(each)
        elif face == "front":
            shots.append(replace(each, front=shot(each.front, changed)))
        else:
            shots.append(replace(each, back=shot(each.back, changed)))
    return replace(film, shots=tuple(shots), tiles=tuple(tiles))


def film_of(made: Build, memo: FilmCache | None = None) -> Film:
    """Return the film of a build; ``memory`` holds tiles of films before and takes up its own.

    What this film has not used is forgotten.
    """
    memo = memo if memo is not None else FilmCache()
    spec = made.replay.spec
    factor = coarseness(spec.length_mm, spec.width_mm, spec.cell_mm)
    cutting = _Cutting(spec, made.palette.materials, factor, memo)
    trim_stage = next(
        (stage.number for stage in made.plan.stages if stage.kind is StageKind.TRIM), math.inf
    )
    shots = []
    for state in made.replay.states:
        front, back = cutting.face(state, "front"), cutting.face(state, "back")
        shots.append(Shot(state.stage, state.stage >= trim_stage, front, back))
    memo.frames, memo.voids = cutting.fresh.frames, cutting.fresh.voids
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
        wood={name: bare_face(spec, name, wood_look(made), wood_px_mm) for name in FACES},
        inside={name: inside(trims[name], px_mm, columns, rows) for name in FACES},
        outline={name: outline(trims[name], spec) for name in FACES},
    )
