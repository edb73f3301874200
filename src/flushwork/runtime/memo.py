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

Params = ParamSpec("Params")
Result = TypeVar("Result")

KEPT_BUILDS: Final = 4
"""A result that none of so many builds has used is evicted: changes can be undone."""


class CompareById:
    """A record too large to be compared by value: it is compared by identity."""

    __slots__ = ()


class _ById:
    """A key by identity, which keeps its thing alive."""

    __slots__ = ("thing",)

    def __init__(self, thing: object) -> None:
        self.thing = thing

    def __hash__(self) -> int:
        return id(self.thing)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ById) and self.thing is other.thing


class _Shape:
    """A key of a geometry with its hash cached: its own is computed from all points every time."""

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
class _Entry:
    """A result, the last build that used it, and the entries that were used to compute it."""

    result: Any
    last: int
    uses: list[_Entry]


class _Size:
    """Bytes of the arrays in results, each array once however many results share it."""

    __slots__ = ("bytes", "seen")

    def __init__(self) -> None:
        self.bytes = 0
        self.seen: set[int] = set()

    def add(self, result: object) -> None:
        """Add the arrays of a result: in tuples, lists, mappings and records, however deep."""
        left = [result]
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
                left += thing[:MOST_ITEMS]
            elif isinstance(thing, dict):
                left += thing.values()
            elif is_dataclass(thing):
                left += (getattr(thing, each.name, None) for each in fields(thing))


_PLAIN: Final = (str, bytes, int, float, type(None), type, BaseGeometry)
MOST_ITEMS: Final = 1000
"""So many items of a list are looked at: lists of arrays are shorter."""


@dataclass(eq=False)
class Memo:
    """Results by function and arguments, each with the last build that used it."""

    _results: dict[object, _Entry] = field(default_factory=dict)
    _shapes: dict[int, _Shape] = field(default_factory=dict)
    _build: int = 0
    _pause: Callable[[], None] = lambda: None

    @contextmanager
    def active(self, pause: Callable[[], None] = lambda: None) -> Iterator[None]:
        """Have memoized functions use this memo in the ``with`` block, which is one build.

        ``pause`` is called before every new result; it may raise, to abort the build.  A build that
        ends evicts the oldest results; an aborted one does not.
        """
        before = _ACTIVE.set(self)
        self._pause = pause
        try:
            yield
            self._evict()
        finally:
            _ACTIVE.reset(before)

    def copy(self) -> Memo:
        """Return an independent memo with the same results."""
        results = dict(self._results)
        own = {
            id(entry): _Entry(entry.result, entry.last, entry.uses) for entry in results.values()
        }
        for entry in own.values():
            entry.uses = [own[id(each)] for each in entry.uses if id(each) in own]
        return Memo({key: own[id(entry)] for key, entry in results.items()}, {}, self._build)

    def _evict(self) -> None:
        # what a live result was computed from stays with it: it may be called for by itself
        live = [entry for entry in self._results.values() if entry.last == self._build]
        while live:
            for entry in live.pop().uses:
                if entry.last != self._build:
                    entry.last = self._build
                    live.append(entry)
        old = self._build - KEPT_BUILDS
        for key in [key for key, entry in self._results.items() if entry.last <= old]:
            del self._results[key]
        self._shapes.clear()
        self._build += 1

    def shrink(self, most_bytes: int) -> int:
        """Evict the oldest results until all arrays take ``most_bytes``; return what they take.

        Those of the last finished build stay whatever they take: the next uses nearly all of them.
        Results of builds aborted since go before them, and older ones before those.
        """
        ages: dict[int, list[object]] = {}
        for key, entry in self._results.items():
            ages.setdefault(entry.last, []).append(key)
        done = self._build - 1
        size = _Size()
        for age in sorted(ages, key=lambda age: (age != done, -age)):
            before = size.bytes
            for key in ages[age]:
                size.add(self._results[key].result)
            if size.bytes > most_bytes and age != done:
                size.bytes = before
                for key in ages[age]:
                    del self._results[key]
        return size.bytes

    def call(
        self,
        function: Callable[..., Result],
        takes: Signature,
        args: tuple[Any, ...],
        kwargs: dict[str, Any],
    ) -> Result:
        """Return the result of a function for its arguments, calling it where that is new.

        However they are passed, equal arguments have one key; a call with an argument that has no
        key is made every time.  Of two threads that call at once both get the result of the first.
        """
        bound = takes.bind(*args, **kwargs)
        bound.apply_defaults()
        try:
            key = (function, *map(self._key_of, bound.arguments.values()))
            entry = self._results.get(key)
        except TypeError:
            return function(*args, **kwargs)
        if entry is None:
            self._pause()
            uses: list[_Entry] = []
            before = _USED.set(uses)
            try:
                computed = function(*args, **kwargs)
            finally:
                _USED.reset(before)
            entry = self._results.setdefault(key, _Entry(computed, self._build, uses))
        entry.last = self._build
        user = _USED.get()
        if user is not None:
            user.append(entry)
        result: Result = entry.result
        return result

    def _key_of(self, argument: object) -> object:
        if isinstance(argument, np.ndarray):
            return _ById(argument) if not argument.flags.writeable else _by_bytes(argument)
        if isinstance(argument, CompareById):
            return _ById(argument)
        if isinstance(argument, BaseGeometry):
            entry = self._shapes.get(id(argument))
            if entry is None:
                entry = self._shapes[id(argument)] = _Shape(argument)
            return entry
        if isinstance(argument, list) or type(argument) is tuple:
            return (type(argument), *map(self._key_of, argument))
        if isinstance(argument, dict):
            return frozenset((key, self._key_of(value)) for key, value in argument.items())
        return argument


def _by_bytes(array: NDArray[np.generic]) -> tuple[object, ...]:
    mark = sha256(np.ascontiguousarray(array).data).digest()
    return (array.shape, array.dtype.str, mark)


_ACTIVE: ContextVar[Memo | None] = ContextVar("memo", default=None)


_USED: ContextVar[list[_Entry] | None] = ContextVar("used", default=None)

Context = tuple[Memo | None, list[_Entry] | None]
"""What a thread works for: its memo, and the entry that it helps to compute."""


def active_memo() -> Memo | None:
    """Return the memo that this thread uses, None where it uses none."""
    return _ACTIVE.get()


def context() -> Context:
    """Return what this thread works for, to hand it to threads that help it."""
    return _ACTIVE.get(), _USED.get()


def enter(other: Context) -> None:
    """Take over another thread's context for good: in threads that do one piece of its work."""
    memo, used = other
    _ACTIVE.set(memo)
    _USED.set(used)


def memoized(function: Callable[Params, Result]) -> Callable[Params, Result]:
    """Look up what a function returned for equal arguments before, while a memo is active.

    The function must be pure: its result follows from its arguments alone, and nobody changes the
    result.  Arguments are compared by value, read-only arrays and ``CompareById`` records by
    identity, other arrays by their bytes.
    """
    takes = signature(function)

    @wraps(function)
    def looked_up(*args: Params.args, **kwargs: Params.kwargs) -> Result:
        memo = _ACTIVE.get()
        if memo is None:
            return function(*args, **kwargs)
        return memo.call(function, takes, args, kwargs)

    return looked_up
