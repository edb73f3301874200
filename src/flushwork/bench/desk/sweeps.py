"""Two keys of a job against each other: every pair of values taken through the whole check.

One thread works through the pairs behind the page, each in full, and gives way to the desk's own
builds.  Nothing is written.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from flushwork.runtime.memo import Memo
from flushwork.usecases.what_if import Square, VaryError, changed, square

MOST_VALUES: Final = 9
LONGEST: Final = 120
_REST_S: Final = 0.1


@dataclass(frozen=True, slots=True)
class SweptKey:
    """A key and the values it takes, as written in the job."""

    key: str
    values: tuple[str, ...]


@dataclass
class Sweep:
    """A sweep that is under way or done: squares by (row, column).

    ``text`` is the job it began with, ``page`` where.
    """

    across: SweptKey
    up: SweptKey | None
    text: str = ""
    page: str = ""
    squares: dict[tuple[int, int], Square] = field(default_factory=dict)
    left: bool = False
    failed: str = ""

    @property
    def whole(self) -> int:
        """How many squares there are."""
        return len(self.across.values) * (len(self.up.values) if self.up else 1)

    def data(self) -> dict[str, Any]:
        """Return the sweep as the page draws it."""
        return {
            "across": {"key": self.across.key, "values": self.across.values},
            "up": {"key": self.up.key, "values": self.up.values} if self.up else None,
            "squares": [
                {
                    "row": row,
                    "column": column,
                    "must_fix": square.must_fix,
                    "warnings": square.warnings,
                    "piece": round(square.piece, 4),
                    "finish": square.finish,
                    "worst": square.worst,
                    "refused": square.refused,
                }
                for (row, column), square in sorted(self.squares.items())
            ],
            "whole": self.whole,
            "busy": not self.left and len(self.squares) < self.whole,
            "failed": self.failed,
        }


def axis_of(key: str, values: Sequence[str]) -> SweptKey:
    """Return an axis; raises VaryError, in plain words, where it is none."""
    told = tuple(dict.fromkeys(value.strip() for value in values if value.strip()))
    if not key.strip() or len(key) > LONGEST:
        raise VaryError("Name a key, such as front.inlays.body.depth.")
    if not told or any(len(value) > LONGEST or not value.isprintable() for value in told):
        raise VaryError(f"Give {key} at least one value, values apart by commas.")
    if len(told) > MOST_VALUES:
        raise VaryError(f"Give {key} at most {MOST_VALUES} values.")
    return SweptKey(key.strip(), told)


class Sweeper:
    """Works through one sweep at a time; a new one takes the place of the old."""

    def __init__(self, path: Path, pause: Callable[[], bool]) -> None:
        self.path = path
        self._pause = pause
        self._lock = threading.Lock()
        self._now: Sweep | None = None

    def status(self, page: str = "", saved: str | None = None) -> dict[str, Any] | None:
        """Return the sweep as far as it is; with ``saved`` only one of that text or that page."""
        with self._lock:
            now = self._now
            if now is None or (saved is not None and now.text != saved and now.page != page):
                return None
            return now.data()

    def stop(self) -> None:
        """Leave the sweep at its next room; what is known stays."""
        with self._lock:
            if self._now is not None:
                self._now.left = True

    def start(self, text: str, across: SweptKey, up: SweptKey | None, page: str = "") -> None:
        """Begin a sweep of a text.  Raises VaryError where a key leads nowhere."""
        for axis in (across, *((up,) if up else ())):
            changed(text, axis.key, axis.values[0])
        self.stop()
        sweep = Sweep(across, up, text, page)
        with self._lock:
            self._now = sweep
        threading.Thread(target=self._work, args=(text, sweep), name="sweep", daemon=True).start()

    def _work(self, text: str, sweep: Sweep) -> None:
        memo = Memo()
        try:
            for row, second in enumerate(sweep.up.values if sweep.up else ("",)):
                lifted = changed(text, sweep.up.key, second) if sweep.up else text
                for column, first in enumerate(sweep.across.values):
                    square = self._square(changed(lifted, sweep.across.key, first), memo, sweep)
                    with self._lock:
                        sweep.squares[row, column] = square
        except _LeftError:
            return
        except Exception as error:  # noqa: BLE001 - the page must hear of it
            with self._lock:
                sweep.left, sweep.failed = True, f"{type(error).__name__}: {error}"

    def _square(self, text: str, memo: Memo, sweep: Sweep) -> Square:
        def progress(_room: str) -> None:
            while self._pause() and not sweep.left:
                time.sleep(_REST_S)
            if sweep.left:
                raise _LeftError

        return square(self.path, text, progress, memo)


class _LeftError(Exception):
    """Nobody waits for this sweep any more."""
