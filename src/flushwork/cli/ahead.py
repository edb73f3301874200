"""A job read by a copy of this process while this one loads the rooms that will work on it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from flushwork.errors import JobRefusedError
from flushwork.findings import Finding
from flushwork.kernels.processes import beside

if TYPE_CHECKING:
    from flushwork.geometry.drawn import Begun


def begun_beside(path: Path) -> Callable[[], Begun]:
    """Begin to read a job and draw its artwork; return what waits for both.

    Call it before any heavy room is loaded: reading and the rest need different libraries, and
    loading them takes longer than reading.  What waits raises ``JobRefusedError`` as ``begin``.
    """

    def work() -> tuple[Begun | None, tuple[Finding, ...]]:
        from flushwork.geometry.begin import begin  # noqa: PLC0415

        try:
            return begin(path), ()
        except JobRefusedError as refused:
            return None, refused.findings

    later = beside(work)

    def wait() -> Begun:
        begun, findings = later()
        if begun is None:
            raise JobRefusedError(findings)
        return begun

    return wait
