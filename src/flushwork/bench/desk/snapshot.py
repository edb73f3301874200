"""What is in sight on the bench, and how things stand with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, Final, ParamSpec, TypeVar

from flushwork.core.findings import Finding

if TYPE_CHECKING:
    # loaded by the building thread, so that the page answers before the heavy rooms are there
    from flushwork.bench.film.film import Film
    from flushwork.built import Build

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
    else has left it.  ``undo`` counts the saved texts one can go back to.
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
