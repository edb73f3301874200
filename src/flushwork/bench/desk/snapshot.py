"""What is in sight on the bench, how things stand with it, what differs from before."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, Final, ParamSpec, TypeVar

from flushwork.core.findings import Finding

if TYPE_CHECKING:
    from flushwork.bench.film.film import Film
    from flushwork.built import Build
    from flushwork.job.records import FaceName


CACHED = 1
"""The generation of the look kept from last time; what is built has a higher one."""


Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")
MOST_KNOWN: Final = 32
"""So many answers are kept of one picture; the oldest go."""


def cached_on(
    function: Callable[Concatenate[Snapshot, Asked], Answer],
) -> Callable[Concatenate[Snapshot, Asked], Answer]:
    """Keep what a function works out of what is in sight, for as long as that is.

    Kept by the picture itself, and not beside it: no answer outlives what it was asked of.
    """

    @wraps(function)
    def asking(snapshot: Snapshot, /, *asked: Asked.args, **named: Asked.kwargs) -> Answer:
        key = (function, asked, *named.items())
        found = snapshot.known.get(key, snapshot)
        if found is snapshot:
            found = function(snapshot, *asked, **named)
            while len(snapshot.known) >= MOST_KNOWN:
                snapshot.known.pop(next(iter(snapshot.known)), None)
            snapshot.known[key] = found
        answer: Answer = found
        return answer

    return asking


@dataclass(frozen=True, slots=True, eq=False)
class Snapshot:
    """What is in sight.

    ``generation`` grows with every new picture.  ``coarse`` says that this is only the first one,
    without a check; ``base`` is what a sketch is drawn from.  ``text`` is what it was built from.
    ``known`` is what was worked out of it, which goes with it.
    """

    generation: int
    text: str
    make: Callable[[], Build]
    film: Film
    coarse: bool
    base: Snapshot | None = None
    known: dict[object, Any] = field(default_factory=dict, repr=False, init=False)

    @property
    def sketch(self) -> bool:
        """Whether this is drawn from the build before."""
        return self.base is not None

    @property
    def made(self) -> Build:
        """What was built; of a sketch, made when more than its picture is asked for."""
        return self.make()


@dataclass(frozen=True, slots=True)
class DeskStatus:
    """How things stand: what is in sight, which room is at work, what keeps a text from being read.

    All but the file is as one page has it.  ``busy`` is empty while it waits for nothing.
    ``slips`` belong to the text last asked for, and so does ``failed``, the words of a broken
    build.  ``text`` and ``digest`` are the file as last read or saved; ``trying`` says that the
    page has a text not saved yet on the desk; ``outside`` that the file cannot be read as somebody
    else has left it.  ``share`` is how much of the first full build is done, None after it.
    ``undo`` counts the saved texts one can go back to, ``redo`` those one can go on to again.
    """

    generation: int
    snapshot: Snapshot | None
    busy: str
    slips: tuple[Finding, ...]
    failed: str
    text: str
    digest: str
    trying: bool
    outside: bool
    undo: int
    share: float | None = None
    redo: int = 0


# ---- A changed depth in one answer: what differs from the film before, and the pixels in sight
#
# The page has the film the sketch is drawn from; all it lacks are the tiles that moved.


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
