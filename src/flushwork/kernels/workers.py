"""Work on tiles or bands shared between a few threads; the kernels let go of the interpreter."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final, TypeVar

from flushwork.memory import bring, place

WORKERS: Final = max(1, min(2, os.cpu_count() or 1))
_FEW: Final = 4

Item = TypeVar("Item")
Result = TypeVar("Result")


def in_order(one: Callable[[Item], Result], items: Sequence[Item]) -> list[Result]:
    """Return ``one`` of each item, in their order, whatever thread did it."""
    if len(items) < _FEW or WORKERS == 1:
        return [one(item) for item in items]
    with ThreadPoolExecutor(WORKERS, initializer=bring, initargs=(place(),)) as pool:
        return list(pool.map(one, items))
