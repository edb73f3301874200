"""Work on tiles or bands shared between threads; the kernels let go of the interpreter."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final, TypeVar

from flushwork.runtime.memo import context, enter

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
