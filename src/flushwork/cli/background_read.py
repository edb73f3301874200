"""A job read by a copy of this process while this one loads the rooms that will work on it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING

from flushwork.runtime.pool import run_aside

if TYPE_CHECKING:
    from flushwork.geometry.drawn import Begun


def background_read(path: Path) -> AbstractContextManager[Callable[[], Begun]]:
    """Read a job and draw its artwork during the ``with`` block, which is handed what waits.

    Enter it before any heavy room is loaded: reading and the rest need different libraries, and
    loading them takes longer than reading.  What waits raises ``JobRefusedError`` as ``begin``.
    """

    def work() -> Begun:
        from flushwork.geometry.begin import begin  # noqa: PLC0415

        return begin(path)

    return run_aside(work)
