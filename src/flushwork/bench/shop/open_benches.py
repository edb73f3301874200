"""The benches that the shop has opened: a process for each job, and none left behind.

A process of its own keeps one job's builds from waiting for another's, and gives back all they
took when it ends.  Each ends as soon as its input does, so that none outlives a shop that was
killed.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import IO, Final

from flushwork.core.findings import FlushworkError

MOST_OPEN: Final = 4
"""Benches open at a time: each may take 900 MB."""
END_S: Final = 8.0
"""How long a bench is given to end by itself; every file it writes is put there in one move."""


class OpenError(FlushworkError):
    """A bench cannot be opened; the message says why."""


class OpenBenches:
    """The benches of a shop, each with its process and its address."""

    def __init__(self, shop: str) -> None:
        self.shop = shop
        self._lock = threading.Lock()
        self._running: dict[Path, tuple[subprocess.Popen[bytes], str]] = {}

    def paths(self) -> frozenset[Path]:
        """Return the jobs whose benches are open."""
        with self._lock:
            return self._alive()

    def _alive(self) -> frozenset[Path]:
        ended = [path for path, (process, _) in self._running.items() if process.poll() is not None]
        for path in ended:
            _end([self._running.pop(path)[0]])
        return frozenset(self._running)

    def open(self, path: Path) -> str:
        """Return the address of a job's bench, opened now if it is not open.

        Raises OpenError where it cannot be, or where too many are open.
        """
        with self._lock:
            if path in self._alive():
                return self._running[path][1]
            if len(self._running) >= MOST_OPEN:
                message = f"{MOST_OPEN} jobs are open on their benches; close one of them first"
                raise OpenError(message)
            command = [sys.executable, "-m", "flushwork.bench.shop.one_bench", str(path), self.shop]
            process = subprocess.Popen(  # noqa: S603  (this program, with a job of the shop)
                command, stdin=subprocess.PIPE, stdout=subprocess.PIPE
            )
            told = _said(process.stdout)
            address = told.get("address", "")
            if not address:
                _end([process])
                raise OpenError(told.get("error") or "its bench did not start")
            self._running[path] = process, address
            return address

    def close(self, path: Path) -> None:
        """Close the bench of a job, if it is open."""
        with self._lock:
            found = self._running.pop(path, None)
            if found is not None:
                _end([found[0]])

    def close_all(self) -> None:
        """Close every bench."""
        with self._lock:
            running, self._running = self._running, {}
            _end([process for process, _ in running.values()])


def _said(stream: IO[bytes] | None) -> dict[str, str]:
    """Return what a bench says of itself; nothing where it has ended without a word."""
    try:
        told = json.loads(stream.readline()) if stream is not None else {}
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}


def _end(processes: list[subprocess.Popen[bytes]]) -> None:
    """End processes: all are told first, then waited for."""
    for process in processes:
        with suppress(OSError):
            if process.stdin is not None:
                process.stdin.close()
    for process in processes:
        try:
            process.wait(END_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout is not None:
            process.stdout.close()
