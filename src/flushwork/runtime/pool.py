"""Work shared among cores: threads for what a kernel does, copies of this process for the rest.

Python runs one thread at a time, so work that is not inside a kernel is spread over processes, as
many as there are cores.  Where no copy may be made, threads of this process share the same work:
only slower.  What a copy fails to do is done again by its owner, with a line in the log.
"""

from __future__ import annotations

import ctypes
import os
import pickle
import select
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, nullcontext, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import partial
from itertools import chain
from typing import Any, Final, Generic, NoReturn, TypeVar

from flushwork.core.findings import FlushworkError
from flushwork.runtime.log import LOG
from flushwork.runtime.memo import active_memo, context, enter

# ---- Work on tiles or bands shared between threads; the kernels let go of the interpreter


_FEW: Final = 4

Item = TypeVar("Item")
Result = TypeVar("Result")


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


def map_threads(one: Callable[[Item], Result], items: Sequence[Item]) -> list[Result]:
    """Return ``one`` of each item, in their order, whatever thread did it."""
    if len(items) < _FEW or cores() == 1:
        return [one(item) for item in items]
    with ThreadPoolExecutor(cores(), initializer=enter, initargs=(context(),)) as pool:
        return list(pool.map(one, items))


# ---- Copies of this process: made, listened to, and none of them left behind
#
# A copy starts with everything this process knows; only what it answers travels, pickled. It ends
# with the block that made it, whatever happens in there, and with its owner.


PATIENCE_S: Final = 300.0
"""How long an owner with nothing left to do waits without a word from any copy.  The whole build
of the largest example takes some 14 s of one core, so a healthy copy needs longer only for a share
that is twenty times all of that.  One given up too early costs time, its work being done twice, and
never a result."""

_PIECE_BYTES: Final = 1 << 16
"""What a pipe of Linux holds (pipe(7))."""
_HELD: Final = frozenset({signal.SIGINT, signal.SIGTERM})
_DIE_WITH_PARENT: Final = 1
"""PR_SET_PDEATHSIG in the header sys/prctl.h of Linux."""

_IN_COPY: ContextVar[bool] = ContextVar("in_copy", default=False)


def may_copy() -> bool:
    """Return whether this process may be copied to share its work.

    Not with another thread running: a copy would inherit its locks and not the thread that opens
    them.  Not in a build with a memo: what a copy puts into it is lost.  Not in a copy: all
    cores are at work by then.  Not where somebody else looks after ended children.
    """
    if sys.platform != "linux" or _IN_COPY.get() or active_memo() is not None:
        return False
    return threading.active_count() == 1 and signal.getsignal(signal.SIGCHLD) is signal.SIG_DFL


class Copy:
    """A copy of this process at work: its number, its pipe, what it has sent so far."""

    __slots__ = ("_pipe", "_process", "_sent", "_why")

    def __init__(self, work: Callable[[], object]) -> None:
        """Begin ``work`` in a copy; raises OSError where none can be made."""
        self._sent, self._why = bytearray(), ""
        owner = os.getpid()
        self._pipe, send = os.pipe()
        try:
            self._process = _forked()
        except OSError:
            os.close(self._pipe)
            os.close(send)
            raise
        if self._process == 0:
            _deliver(work, send, owner)
        os.close(send)

    @property
    def running(self) -> bool:
        """Return whether it has still to be listened to, or ended."""
        return self._pipe >= 0

    def fileno(self) -> int:
        """Return the descriptor that its answer comes through."""
        return self._pipe

    def hear(self) -> None:
        """Take in what it has sent; end it once that is all."""
        piece = os.read(self._pipe, _PIECE_BYTES)
        self._sent += piece
        if not piece:
            self.end("")

    def end(self, why: str) -> None:
        """End it, where it has not ended, and clear away all that it leaves."""
        if not self.running:
            return
        with _held():
            os.close(self._pipe)
            self._pipe = -1
            # one that has ended by itself keeps its own code: the pipe closes after that is set
            os.kill(self._process, signal.SIGKILL)
            code = os.waitstatus_to_exitcode(os.waitpid(self._process, 0)[1])
        by_itself = f"ended with code {code}" if code else "sent what cannot be read"
        self._why = why or (f"was ended by signal {-code}" if code < 0 else by_itself)

    def answer(self) -> tuple[Any, str]:
        """Return what it answered, and why it did not (an empty text where it did)."""
        try:
            answer, why = pickle.loads(self._sent)  # noqa: S301  (our own copy wrote it)
        except Exception:  # noqa: BLE001  (cut off anywhere, or not to be made again here)
            return None, self._why
        return answer, why


@contextmanager
def copies_at(work: Callable[[], object], most: int) -> Iterator[list[Copy]]:
    """Have up to ``most`` copies do ``work`` during the ``with`` block; none outlives it."""
    made: list[Copy] = []
    try:
        with _held():
            try:
                made.extend(Copy(work) for _ in range(most))
            except OSError as error:
                LOG.warning("No copy of the process could be made (%s): slower.", error.strerror)
        yield made
    finally:
        with _held():
            for copy in made:
                copy.end("was not needed any more")


def heard(copies: Sequence[Copy], patience_s: float) -> list[Any]:
    """Wait for copies; return the answers of those that gave one.

    Each that gave none is told of in the log.  Those that stay silent for ``patience_s`` are ended.
    """
    while running := [copy for copy in copies if copy.running]:
        poll = select.poll()
        for copy in running:
            poll.register(copy, select.POLLIN)
        ready = {number for number, _ in poll.poll(patience_s * 1000.0)}
        for copy in running:
            if not ready:
                copy.end(f"gave no answer for {patience_s:g} s")
            elif copy.fileno() in ready:
                copy.hear()
    answers = [copy.answer() for copy in copies]
    for why in (why for _, why in answers if why):
        LOG.warning("A copy of the process %s: its share is done again by its owner.", why)
    return [answer for answer, why in answers if not why]


@contextmanager
def _held() -> Iterator[None]:
    """Let an interruption wait for the end of the ``with`` block."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _HELD)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _forked() -> int:
    """Fork; return the copy's number, 0 inside the copy."""
    with warnings.catch_warnings():
        # Later Pythons warn of threads of native libraries; those take care of a fork themselves.
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _deliver(work: Callable[[], object], send: int, owner: int) -> NoReturn:
    """Do the work inside the copy, send its answer and end without any of the owner's duties."""
    code = 1
    try:
        _IN_COPY.set(True)
        _end_with(owner)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _HELD)
        try:
            data = pickle.dumps((work(), ""), protocol=pickle.HIGHEST_PROTOCOL)
        except Exception as error:  # noqa: BLE001  (told to the owner, who does it again)
            words = " ".join(f"{error}".split())
            data = pickle.dumps((None, f"raised {type(error).__name__} ({words})"))
        left = memoryview(data)
        while left:
            left = left[os.write(send, left) :]
        code = 0
    finally:
        # the pipe is left open: it closes when the code is set
        os._exit(code)


def _end_with(owner: int) -> None:
    """Have the system end this copy when its owner has ended, in whatever way."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_DIE_WITH_PARENT, signal.SIGKILL)
    if os.getppid() != owner:
        os._exit(1)


# ---- Work shared between this process and copies of it, where the system can copy a process


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
