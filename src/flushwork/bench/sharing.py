"""Two replays of nearly the same job: where their tiles are equal, the older ones are taken.

So what was made from a tile before, its picture first of all, is known again by the tile itself.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from flushwork.strata.board import BoardState, FaceStack, Replay, TileStack


def shared(new: Replay, old: Replay | None) -> Replay:
    """Return a replay in which every tile that an older one has too is the older one's."""
    if old is None or old is new or old.spec != new.spec:
        return new
    known: dict[int, TileStack] = {}
    faces: dict[tuple[int, int], FaceStack] = {}

    def face(mine: FaceStack, like: FaceStack) -> FaceStack:
        mark = (id(mine), id(like))
        if mark not in faces:
            faces[mark] = _face(mine, like, known)
        return faces[mark]

    states = list(new.states)
    before = {state.stage: state for state in old.states}
    for place, state in enumerate(states):
        like = before.get(state.stage)
        if like is not None:
            states[place] = BoardState(
                state.stage,
                face(state.front, like.front),
                face(state.back, like.back),
            )
    return replace(new, states=tuple(states))


def _face(face: FaceStack, like: FaceStack, known: dict[int, TileStack]) -> FaceStack:
    tiles = {}
    for key, tile in face.tiles.items():
        mine = known.get(id(tile))
        if mine is None:
            other = like.tiles.get(key)
            mine = known[id(tile)] = other if other is not None and _equal(tile, other) else tile
        tiles[key] = mine
    alike = len(tiles) == len(like.tiles) and all(like.tiles.get(k) is t for k, t in tiles.items())
    if alike and face.plane_mm == like.plane_mm and face.coats == like.coats:
        return like
    return FaceStack(face.plane_mm, tiles, face.coats)


def _equal(one: TileStack, other: TileStack) -> bool:
    if one is other:
        return True
    return one.materials == other.materials and all(
        mine is theirs or np.array_equal(mine, theirs)
        for mine, theirs in zip(one.heights, other.heights, strict=True)
    )
