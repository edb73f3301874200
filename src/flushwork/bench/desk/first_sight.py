"""A changed depth in one answer: what differs from the film before, and the pixels in sight.

The page has the film the sketch is drawn from; all it lacks are the tiles that moved.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from flushwork.bench.desk.snapshot import Snapshot
    from flushwork.job.records import FaceName


FRONTED: Final = 8
"""What is told ends at a multiple of so many bytes: a page reads the pixels where they lie."""


def title_of(snapshot: Snapshot) -> str:
    """Return the title of a job; a depth does not change it."""
    return (snapshot.base or snapshot).made.job.title


def first_sight(snapshot: Snapshot, stage: int, face: FaceName) -> bytes | None:
    """Return what a page needs for a sketch, ``framed``; None where this is none.

    The pixels are those of the new tiles that a face shows after a stage.
    """
    base = snapshot.base
    if base is None:
        return None
    had = len(base.film.tiles)
    shot = next(
        (each for each in snapshot.film.shots if each.stage == stage), snapshot.film.shots[-1]
    )
    sent = sorted({n for n in getattr(shot, face).tiles.values() if n >= had})
    told = {
        "generation": snapshot.generation,
        "base": base.generation,
        "title": title_of(snapshot),
        "coarse": True,
        "sketch": True,
        "tiles": [tile.name for tile in snapshot.film.tiles[had:]],
        "sent": sent,
        **_moved(snapshot, base),
    }
    return framed(told, snapshot.film.pixels(sent))


def framed(told: dict[str, Any], pixels: bytes) -> bytes:
    """Return words and pixels as one answer: a length (4 bytes, little end first), JSON, pixels."""
    words = json.dumps(told, separators=(",", ":")).encode()
    words += b" " * (-(4 + len(words)) % FRONTED)
    return len(words).to_bytes(4, "little") + words + pixels


def _moved(snapshot: Snapshot, base: Snapshot) -> dict[str, Any]:
    """Return how the faces of a sketch differ: each look once, and which stage has which."""
    had = len(base.film.tiles)
    looks: dict[int, tuple[int, FaceName, list[int]]] = {}
    stages: list[tuple[int, int]] = []
    faces: tuple[FaceName, ...] = ("front", "back")
    for shot, was in zip(snapshot.film.shots, base.film.shots, strict=True):
        for face in faces:
            now = getattr(shot, face)
            if now is getattr(was, face):
                continue
            if id(now) not in looks:
                fresh = [n for key, tile in now.tiles.items() if tile >= had for n in (*key, tile)]
                looks[id(now)] = (len(looks), face, fresh)
            stages.append((shot.stage, looks[id(now)][0]))
    return {
        "looks": [{"face": face, "tiles": tiles} for _, face, tiles in looks.values()],
        "stages": stages,
    }
