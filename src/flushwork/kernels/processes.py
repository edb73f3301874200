"""Work shared between this process and a copy of it, where the system can copy a process.

Python runs one thread at a time, so work that is not inside a kernel is spread over processes.  A
copy starts with everything this process knows; only its results travel, pickled.  Where there is
one core, no ``fork``, or another thread running (a copy would inherit its locks and not the thread
that opens them), threads of this process share the same work: only slower.  So they do on a walk
with a memory, since what a copy remembers is lost with it.
"""

from __future__ import annotations

import os
import pickle
import sys
import threading
import warnings
from collections.abc import Callable, Sequence
from typing import Final, NoReturn, TypeVar

from flushwork.kernels.workers import WORKERS, in_order
from flushwork.memory import at_hand

Item = TypeVar("Item")
Result = TypeVar("Result")

_TOKEN_BYTES: Final = 4
_MOST_TOKENS: Final = 4096
"""So many tokens fit a pipe of any system before somebody reads it."""


def may_copy() -> bool:
    """Return whether this process may be copied to work beside itself."""
    alone = threading.active_count() == 1 and at_hand() is None
    return WORKERS > 1 and sys.platform == "linux" and alone


def beside(work: Callable[[], Result]) -> Callable[[], Result]:
    """Begin ``work`` in a copy of this process; return a function that waits for its result.

    Where the copy fails, for whatever reason, the work is done here when its result is asked for
    and raises what it raises.  Where no copy may be made it is done at once.
    """
    if not may_copy():
        done = work()
        return lambda: done
    receive, send = os.pipe()
    child = _copied()
    if child == 0:
        os.close(receive)
        _deliver(work, send)
    os.close(send)

    def wait() -> Result:
        with os.fdopen(receive, "rb") as pipe:
            data = pipe.read()
        os.waitpid(child, 0)
        if not data:
            return work()
        result: Result = pickle.loads(data)  # noqa: S301  (our own copy wrote it)
        return result

    return wait


def shared_out(one: Callable[[Item], Result], items: Sequence[Item]) -> list[Result]:
    """Return ``one`` of each item, in their order, whichever process did it.

    Each process takes the next item when it is free, so the heaviest should come first.  What a
    copy could not do or deliver is done here, and raises what it raises.
    """
    if not 1 < len(items) <= _MOST_TOKENS or not may_copy():
        return in_order(one, items)
    tokens, fill = os.pipe()
    os.write(fill, b"".join(n.to_bytes(_TOKEN_BYTES, "little") for n in range(len(items))))
    os.close(fill)

    def take() -> dict[int, Result]:
        found: dict[int, Result] = {}
        while token := os.read(tokens, _TOKEN_BYTES):
            number = int.from_bytes(token, "little")
            found[number] = one(items[number])
        return found

    try:
        theirs = beside(take)
        done = take() | theirs()
    finally:
        os.close(tokens)
    return [done[n] if n in done else one(items[n]) for n in range(len(items))]


def _copied() -> int:
    """Fork; return the copy's number, 0 inside the copy."""
    with warnings.catch_warnings():
        # Later Pythons warn of threads of native libraries; those take care of a fork themselves.
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _deliver(work: Callable[[], object], send: int) -> NoReturn:
    """Do the work inside the copy, send its result and end without any of the owner's duties."""
    code = 1
    try:
        data = pickle.dumps(work(), protocol=pickle.HIGHEST_PROTOCOL)
        with os.fdopen(send, "wb") as pipe:
            pipe.write(data)
        code = 0
    finally:
        os._exit(code)
