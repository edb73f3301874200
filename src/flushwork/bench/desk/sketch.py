"""The first picture of a changed depth: the last replay with that floor raised or lowered.

A replay in full takes seconds; a floor moved in the one that stands takes a few hundredths.  It is
only a picture: what was poured, found and planned belongs to the text before, and is shown no more
until the check of the new one is there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from ruamel.yaml.error import YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from shapely import MultiPolygon

from flushwork.built import Build
from flushwork.core.units import Quantity, UnitError, read_quantity
from flushwork.job.records import FaceName, Inlay, Job
from flushwork.job.text.located import composed
from flushwork.kernels.filling import move_floor
from flushwork.process.stages import StageKind
from flushwork.strata.planes import shares_by_tile
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import BoardState, FaceStack, TileStack

SAME_MM: Final = 0.02
"""A floor is known by its height: cells within this of it belong to it."""
SEALER_MM: Final = 0.15
"""A layer thinner than this on a floor is its sealer, and moves with it."""
MOST_MM: Final = 60.0
_LETTERS: Final = frozenset("0123456789./ mincht")

Depths = dict[tuple[int, int], tuple[FaceName, int]]
"""Where the depths of inlays stand in a text: from a letter to a letter, by face and number."""


@lru_cache(maxsize=4)
def depths_in(text: str) -> Depths:
    """Return where the depths of a text's inlays stand."""
    try:
        root = composed(text)
    except YAMLError:
        return {}
    found: Depths = {}
    faces: tuple[FaceName, ...] = ("front", "back")
    for face in faces:
        inlays = _in(_in(root, face), "inlays")
        for index, inlay in enumerate(inlays.value if isinstance(inlays, SequenceNode) else ()):
            depth = _in(inlay, "depth")
            if isinstance(depth, ScalarNode):
                found[depth.start_mark.index, depth.end_mark.index] = (face, index)
    return found


def _in(node: Node | None, name: str) -> Node | None:
    if isinstance(node, MappingNode):
        for key, value in node.value:
            if isinstance(key, ScalarNode) and key.value == name:
                inner: Node = value
                return inner
    return None


def depth_changed(before: str, after: str) -> tuple[FaceName, int, float] | None:
    """Return the one inlay whose depth differs between two texts, and its depth now in mm.

    None where anything else differs, or where what stands there now is no depth.
    """
    longer = len(after) - len(before)
    for (begin, end), (face, index) in depths_in(before).items():
        if before[:begin] != after[:begin] or before[end:] != after[end + longer :]:
            continue
        value = after[begin : end + longer]
        if not value or not set(value) <= _LETTERS:
            return None
        try:
            depth_mm = read_quantity(value, Quantity.LENGTH)
        except UnitError:
            return None
        return (face, index, depth_mm) if 0.0 < depth_mm < MOST_MM else None
    return None


class MovedTile:
    """A tile with its floor moved, once somebody looks at it."""

    def __init__(self, tile: TileStack, move: Callable[[TileStack], TileStack]) -> None:
        self._tile, self._move = tile, move

    @cached_property
    def stack(self) -> TileStack:
        """The tile; the very same where nothing in it moves."""
        return self._move(self._tile)


MovedTiles = dict[tuple[int, int], MovedTile]


class _Seen(Mapping[tuple[int, int], TileStack]):
    """The tiles of a face, those that move among them: each moves when it is looked at."""

    def __init__(self, still: Mapping[tuple[int, int], TileStack], moved: MovedTiles) -> None:
        self._still, self._moved = still, moved

    def __getitem__(self, key: tuple[int, int]) -> TileStack:
        moved = self._moved.get(key)
        return self._still[key] if moved is None else moved.stack

    def __iter__(self) -> Iterator[tuple[int, int]]:
        return iter(self._still)

    def __len__(self) -> int:
        return len(self._still)

    def __contains__(self, key: object) -> bool:
        return key in self._still


@dataclass(frozen=True)
class Sketch:
    """A build as it would look; ``moved`` are its new tiles by stage."""

    moved: dict[int, MovedTiles]
    make: Callable[[], Build]

    @cached_property
    def made(self) -> Build:
        """The whole build, for what is asked beyond its picture."""
        return self.make()


def sketched(made: Build, face: FaceName, index: int, depth_mm: float) -> Sketch | None:
    """Return a build as it would look with one inlay deeper or shallower; None where it cannot.

    An engraving, a hole or a second pass has no floor of its own that could be moved.
    """
    own = _own(made, face)
    if index >= len(own):
        return None
    inlay = own[index]
    cut = next(
        (
            stage.number
            for stage in made.plan.stages
            if stage.kind is StageKind.CUT and inlay.name in stage.subjects
        ),
        None,
    )
    if cut is None or inlay.v_bit or inlay.second_pass_of or inlay.seam is not None:
        return None
    masks = _masks(made, inlay)
    stands = _floor(made.replay.after(cut).face(face), masks)
    if stands is None:
        return None
    moved = _Moved(masks, stands, stands - (depth_mm - inlay.depth_mm))
    by_stage = {
        state.stage: moved.tiles(state.face(face))
        for state in made.replay.states
        if state.stage >= cut
    }

    def make() -> Build:
        states = tuple(
            moved.state(state, face) if state.stage >= cut else state
            for state in made.replay.states
        )
        return replace(
            made,
            job=_with_depth(made.job, inlay, depth_mm),
            replay=replace(made.replay, states=states),
            findings=(),
            schedule=None,
        )

    return Sketch(by_stage, make)


def readied(made: Build, text: str, given_up: Callable[[], bool]) -> None:
    """Look up where the floors of a build are, so that the first change of a depth finds them.

    ``given_up`` is asked before each.
    """
    for face, index in depths_in(text).values():
        if given_up():
            return
        inlay = next((each for n, each in enumerate(_own(made, face)) if n == index), None)
        sketch = sketched(made, face, index, inlay.depth_mm) if inlay is not None else None
        moved = next((tiles for tiles in sketch.moved.values() if tiles), {}) if sketch else {}
        for tile in list(moved.values())[:1]:
            _ = tile.stack


def _own(made: Build, face: FaceName) -> list[Inlay]:
    return [inlay for inlay in made.job.inlays if inlay.face == face]


def _with_depth(job: Job, inlay: Inlay, depth_mm: float) -> Job:
    changed = replace(inlay, depth_mm=depth_mm)
    faces = tuple(
        replace(face, inlays=tuple(changed if each is inlay else each for each in face.inlays))
        for face in job.faces
    )
    return replace(job, faces=faces)


@lru_cache(maxsize=64)
def _masks_of(spec: BoardSpec, region: MultiPolygon) -> dict[tuple[int, int], NDArray[np.bool_]]:
    return {key: share > 0.0 for key, share in shares_by_tile(spec, region)}


def _masks(made: Build, inlay: Inlay) -> dict[tuple[int, int], NDArray[np.bool_]]:
    """Return the cells of an inlay, tile by tile."""
    drawn = next(
        drawn
        for face in made.faces
        if face.name == inlay.face
        for drawn in face.inlays
        if drawn.inlay.name == inlay.name
    )
    return _masks_of(made.replay.spec, drawn.region)


def _floor(face: FaceStack, masks: Mapping[tuple[int, int], NDArray[np.bool_]]) -> float | None:
    """Return the height of the floor under most of an inlay's cells."""
    heights = [face.tiles[key].heights[0][mask] for key, mask in masks.items() if key in face.tiles]
    cells = np.concatenate(heights) if heights else np.empty(0, np.float32)
    cut = cells[cells < face.plane_mm - SAME_MM]
    return float(np.median(cut)) if cut.size else None


class _Moved:
    """A floor that moves: its cells by tile, where it stands and where it shall stand."""

    def __init__(
        self,
        masks: Mapping[tuple[int, int], NDArray[np.bool_]],
        from_mm: float,
        to_mm: float,
    ) -> None:
        self.masks = masks
        self.from_mm, self.by_mm = np.float32(from_mm), np.float32(to_mm - from_mm)
        self._done: dict[int, MovedTile] = {}
        self._faces: dict[int, tuple[FaceStack, MovedTiles]] = {}

    def tiles(self, side: FaceStack) -> MovedTiles:
        """Return the tiles of a face that move; the same face and tile always give the same."""
        if id(side) not in self._faces:
            keys = self.masks.keys() & side.tiles.keys()
            self._faces[id(side)] = (side, {key: self._moved(key, side.tiles[key]) for key in keys})
        return self._faces[id(side)][1]

    def _moved(self, key: tuple[int, int], tile: TileStack) -> MovedTile:
        done = self._done.get(id(tile))
        if done is None:
            done = self._done[id(tile)] = MovedTile(tile, partial(self._tile, key))
        return done

    def _tile(self, key: tuple[int, int], tile: TileStack) -> TileStack:
        moved, count = move_floor(
            np.stack(tile.heights),
            self.masks[key],
            self.from_mm,
            self.by_mm,
            np.float32(SAME_MM),
            np.float32(SEALER_MM),
        )
        if not count:
            return tile
        moved.setflags(write=False)
        return TileStack(tile.materials, tuple(moved))

    def state(self, state: BoardState, name: FaceName) -> BoardState:
        """Return a state of the board with the floor moved."""
        side = state.face(name)
        done = FaceStack(side.plane_mm, _Seen(side.tiles, self.tiles(side)), side.coats)
        if name == "front":
            return replace(state, front=done)
        return replace(state, back=done)
