"""A memo across builds: a pure function called again with equal arguments returns its old result.

While a build runs under a ``Memo``, every ``memoized`` function looks its result up by the function
and its bound arguments, and by nothing else.  Without an active memo they are plain functions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, fields, is_dataclass
from functools import wraps
from hashlib import sha256
from inspect import Signature, signature
from typing import Any, Final, ParamSpec, TypeVar

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")

WALKS: Final = 4
"""A result that none of so many builds has used is evicted: changes can be undone."""


class CompareById:
    """A record too large to be compared by value: it is compared by identity."""

    __slots__ = ()


class _ById:
    """Something that nobody changes, known by itself."""

    __slots__ = ("thing",)

    def __init__(self, thing: object) -> None:
        self.thing = thing

    def __hash__(self) -> int:
        return id(self.thing)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ById) and self.thing is other.thing


class _Shape:
    """A geometry, whose own hash is made anew from all its points each time it is asked."""

    __slots__ = ("hash", "shape")

    def __init__(self, shape: BaseGeometry) -> None:
        self.shape, self.hash = shape, hash(shape)

    def __hash__(self) -> int:
        return self.hash

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Shape) and (
            self.shape is other.shape or (self.hash == other.hash and self.shape == other.shape)
        )


@dataclass(eq=False, slots=True)
class _Known:
    """An answer, the walk that last asked for it, and what had to be asked to find it."""

    answer: Any
    last: int
    asked: list[_Known]


class _Taken:
    """Bytes of the arrays in answers, each array once however many answers share it."""

    __slots__ = ("bytes", "seen")

    def __init__(self) -> None:
        self.bytes = 0
        self.seen: set[int] = set()

    def take(self, answer: object) -> None:
        """Count the arrays of an answer: in tuples, lists, mappings and records, however deep."""
        left = [answer]
        while left:
            thing = left.pop()
            if isinstance(thing, _PLAIN) or id(thing) in self.seen:
                continue
            self.seen.add(id(thing))
            if isinstance(thing, np.ndarray):
                if isinstance(thing.base, np.ndarray):
                    left.append(thing.base)
                else:
                    self.bytes += thing.nbytes
            elif isinstance(thing, tuple | list):
                # moves of a bit and the like, by the ten thousand, hold no arrays
                left += thing[:MOST_ALIKE]
            elif isinstance(thing, dict):
                left += thing.values()
            elif is_dataclass(thing):
                left += (getattr(thing, each.name, None) for each in fields(thing))


_PLAIN: Final = (str, bytes, int, float, type(None), type, BaseGeometry)
MOST_ALIKE: Final = 1000
"""So many items of a list are looked at: lists of arrays are shorter."""


@dataclass(eq=False)
class Memo:
    """Answers by what was asked, each with the walk that asked last."""

    _answers: dict[object, _Known] = field(default_factory=dict)
    _shapes: dict[int, _Shape] = field(default_factory=dict)
    _walk: int = 0
    _pause: Callable[[], None] = lambda: None

    @contextmanager
    def walk(self, pause: Callable[[], None] = lambda: None) -> Iterator[None]:
        """Have the memory at hand in the ``with`` block.

        ``pause`` is called before every new answer; it may raise, to leave the walk.  A walk that
        comes to its end lets the oldest answers go; one that is broken off does not.
        """
        before = _ACTIVE.set(self)
        self._pause = pause
        try:
            yield
            self._evict()
        finally:
            _ACTIVE.reset(before)

    def copy(self) -> Memo:
        """Return a memory that knows the same answers, and goes its own way from then on."""
        answers = dict(self._answers)
        own = {
            id(known): _Known(known.answer, known.last, known.asked) for known in answers.values()
        }
        for known in own.values():
            known.asked = [own[id(each)] for each in known.asked if id(each) in own]
        return Memo({key: own[id(known)] for key, known in answers.items()}, {}, self._walk)

    def _evict(self) -> None:
        # what was asked for an answer still in use is kept with it: it may be asked again by itself
        used = [known for known in self._answers.values() if known.last == self._walk]
        while used:
            for known in used.pop().asked:
                if known.last != self._walk:
                    known.last = self._walk
                    used.append(known)
        old = self._walk - WALKS
        for key in [key for key, known in self._answers.items() if known.last <= old]:
            del self._answers[key]
        self._shapes.clear()
        self._walk += 1

    def shrink(self, most_bytes: int) -> int:
        """Forget the oldest answers until all arrays take ``most_bytes``; return what they take.

        Those of the last finished walk stay whatever they take: the next asks for nearly all.
        What walks broken off have found since goes before that, and what is older before it.
        """
        ages: dict[int, list[object]] = {}
        for key, known in self._answers.items():
            ages.setdefault(known.last, []).append(key)
        done = self._walk - 1
        taken = _Taken()
        for age in sorted(ages, key=lambda age: (age != done, -age)):
            before = taken.bytes
            for key in ages[age]:
                taken.take(self._answers[key].answer)
            if taken.bytes > most_bytes and age != done:
                taken.bytes = before
                for key in ages[age]:
                    del self._answers[key]
        return taken.bytes

    def recall(
        self,
        function: Callable[..., Answer],
        takes: Signature,
        asked: tuple[Any, ...],
        named: dict[str, Any],
    ) -> Answer:
        """Return the result of a function for its arguments, calling it where that is new.

        However they are passed, equal arguments have one key; a call with an argument that has no
        key is made every time.  Of two threads that call at once both get the result of the first.
        """
        bound = takes.bind(*asked, **named)
        bound.apply_defaults()
        try:
            key = (function, *map(self._known_by, bound.arguments.values()))
            known = self._answers.get(key)
        except TypeError:
            return function(*asked, **named)
        if known is None:
            self._pause()
            inner: list[_Known] = []
            outer = _ASKED.set(inner)
            try:
                answer = function(*asked, **named)
            finally:
                _ASKED.reset(outer)
            known = self._answers.setdefault(key, _Known(answer, self._walk, inner))
        known.last = self._walk
        asked_for = _ASKED.get()
        if asked_for is not None:
            asked_for.append(known)
        found: Answer = known.answer
        return found

    def _known_by(self, argument: object) -> object:
        if isinstance(argument, np.ndarray):
            return _ById(argument) if not argument.flags.writeable else _by_bytes(argument)
        if isinstance(argument, CompareById):
            return _ById(argument)
        if isinstance(argument, BaseGeometry):
            known = self._shapes.get(id(argument))
            if known is None:
                known = self._shapes[id(argument)] = _Shape(argument)
            return known
        if isinstance(argument, list) or type(argument) is tuple:
            return (type(argument), *map(self._known_by, argument))
        if isinstance(argument, dict):
            return frozenset((key, self._known_by(value)) for key, value in argument.items())
        return argument


def _by_bytes(array: NDArray[np.generic]) -> tuple[object, ...]:
    mark = sha256(np.ascontiguousarray(array).data).digest()
    return (array.shape, array.dtype.str, mark)


_ACTIVE: ContextVar[Memo | None] = ContextVar("memo", default=None)


_ASKED: ContextVar[list[_Known] | None] = ContextVar("asked", default=None)

Place = tuple[Memo | None, list[_Known] | None]
"""Where a thread is on a walk: its memory, and the question it is at work on."""


def active_memo() -> Memo | None:
    """Return the memory of the walk this thread is on."""
    return _ACTIVE.get()


def place() -> Place:
    """Return where this thread is, for threads that help it."""
    return _ACTIVE.get(), _ASKED.get()


def bring(here: Place) -> None:
    """Take up another thread's place for good: for threads that serve a single question."""
    memo, asked = here
    _ACTIVE.set(memo)
    _ASKED.set(asked)


def memoized(function: Callable[Asked, Answer]) -> Callable[Asked, Answer]:
    """Look up what a function returned for equal arguments before, while a memo is active.

    The function must be pure: its result follows from its arguments alone, and nobody changes the
    result.  Arguments are compared by value, read-only arrays and ``CompareById`` records by
    identity, other arrays by their bytes.
    """
    takes = signature(function)

    @wraps(function)
    def asking(*asked: Asked.args, **named: Asked.kwargs) -> Answer:
        memo = _ACTIVE.get()
        if memo is None:
            return function(*asked, **named)
        return memo.recall(function, takes, asked, named)

    return asking


__all__ = ["CompareById", "Memo", "active_memo", "bring", "memoized", "place"]
