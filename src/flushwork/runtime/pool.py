"""Work shared between this process and copies of it, where the system can copy a process.

Python runs one thread at a time, so work that is not inside a kernel is spread over processes, as
many as there are cores.  Where no copy may be made, threads of this process share the same work:
only slower.  What a copy fails to do is done again by its owner, with a line in the log.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from functools import partial
from itertools import chain
from typing import Final, Generic, TypeVar

from flushwork.core.errors import FlushworkError
from flushwork.runtime.copies import PATIENCE_S, Copy, copies_at, heard, may_copy
from flushwork.runtime.log import LOG
from flushwork.runtime.threads import cores, map_threads

Item = TypeVar("Item")
Result = TypeVar("Result")

_TICKET_BYTES: Final = 2
_MOST_ITEMS: Final = 2048
"""So many tickets fit one page, the least that a pipe holds before somebody reads it."""

MEANT: Final = (FlushworkError, KeyboardInterrupt, SystemExit)
"""What a copy raises on purpose: it travels, and comes out of the owner as if raised by it."""


@dataclass(frozen=True, slots=True)
class _Share(Generic[Result]):
    """What one process made of the items it took, by their number, and which of them raised."""

    done: dict[int, Result] = field(default_factory=dict)
    raised: dict[int, BaseException] = field(default_factory=dict)


@contextmanager
def run_aside(
    work: Callable[[], Result], *, patience_s: float = PATIENCE_S
) -> Iterator[Callable[[], Result]]:
    """Have ``work`` done in a copy of this process during the ``with`` block.

    What the block is handed waits for the result, or raises what ``work`` raises.  Where no copy
    may be made, or it fails, the work is done here when its result is asked for.  A result that
    nobody asks for is not waited for.
    """

    def share() -> _Share[Result]:
        return _share_of(lambda _: work(), (0,), MEANT)

    known: _Share[Result] = _Share()
    alone = cores() == 1 or not may_copy()
    with nullcontext(list[Copy]()) if alone else copies_at(share, 1) as copies:

        def result() -> Result:
            if not known.done:
                _gather(known, heard(copies, patience_s))
                copies.clear()
                known.done[0] = _outcome(known, 0, work)
            return known.done[0]

        yield result


def map_shared(
    one: Callable[[Item], Result], items: Sequence[Item], *, patience_s: float = PATIENCE_S
) -> list[Result]:
    """Return ``one`` of each item, in their order, whichever process did it.

    Each process takes the next item when it is free, so the heaviest should come first: that one is
    done here, since results of copies have to travel.  Where several items raise, the first of them
    is heard, as if they were done one after another.
    """
    others = min(cores(), len(items)) - 1
    if others < 1 or len(items) > _MOST_ITEMS or not may_copy():
        return map_threads(one, items)
    with _tickets(range(1, len(items))) as tickets:

        def share(first: Iterable[int], caught: tuple[type[BaseException], ...]) -> _Share[Result]:
            numbers = chain(first, iter(lambda: _next(tickets), 0))
            found = _share_of(lambda number: one(items[number]), numbers, caught)
            while found.raised and os.read(tickets, _MOST_ITEMS * _TICKET_BYTES):
                pass  # nobody needs what comes after it
            return found

        with copies_at(lambda: share((), MEANT), others) as copies:
            LOG.info("%d pieces of work among %d processes", len(items), 1 + len(copies))
            known = share((0,), (Exception,))
            _gather(known, heard(copies, patience_s))
    return [_outcome(known, number, partial(one, item)) for number, item in enumerate(items)]


def _share_of(
    one: Callable[[int], Result], numbers: Iterable[int], caught: tuple[type[BaseException], ...]
) -> _Share[Result]:
    """Do what is numbered until one raises what is to be caught."""
    found: _Share[Result] = _Share()
    for number in numbers:
        try:
            found.done[number] = one(number)
        except caught as error:
            found.raised[number] = error
            break
    return found


def _gather(known: _Share[Result], shares: Iterable[_Share[Result]]) -> None:
    for share in shares:
        known.done.update(share.done)
        known.raised.update(share.raised)


def _outcome(known: _Share[Result], number: int, again: Callable[[], Result]) -> Result:
    """Return what came of an item, or raise it; do it where nobody could."""
    if number in known.raised:
        raise known.raised[number]
    return known.done[number] if number in known.done else again()


@contextmanager
def _tickets(numbers: Iterable[int]) -> Iterator[int]:
    """Have a pipe of numbers: whichever process reads next takes the next one."""
    tickets, fill = os.pipe()
    try:
        with os.fdopen(fill, "wb", 0) as pipe:
            pipe.write(b"".join(number.to_bytes(_TICKET_BYTES, "little") for number in numbers))
        yield tickets
    finally:
        os.close(tickets)


def _next(tickets: int) -> int:
    """Take the next number; 0 where none is left."""
    return int.from_bytes(os.read(tickets, _TICKET_BYTES), "little")


__all__ = ["MEANT", "PATIENCE_S", "map_shared", "may_copy", "run_aside"]
