"""Two keys of a job against each other: every pair of values taken through the whole check.

One thread works through the pairs behind the page, each in full, and gives way to the desk's own
builds.  Nothing is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from flushwork.bench.desk.background import Background, LongWork
from flushwork.runtime.memo import Memo
from flushwork.usecases.what_if import Square, VaryError, changed, square

MOST_VALUES: Final = 9
LONGEST: Final = 120


@dataclass(frozen=True, slots=True)
class SweptKey:
    """A key and the values it takes, as written in the job."""

    key: str
    values: tuple[str, ...]


@dataclass(kw_only=True)
class Sweep(LongWork):
    """A sweep that is under way or done: squares by (row, column).

    ``text`` is the job it began with, ``page`` where.
    """

    across: SweptKey
    up: SweptKey | None
    text: str = ""
    page: str = ""
    squares: dict[tuple[int, int], Square] = field(default_factory=dict)
    failed: str = ""

    def fail(self, why: str) -> None:
        """Note that it broke off."""
        self.left, self.failed = True, why

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


class Sweeper(Background[Sweep]):
    """Works through one sweep at a time."""

    def status(self, page: str = "", saved: str | None = None) -> dict[str, Any] | None:
        """Return the sweep as far as it is; with ``saved`` only one of that text or that page."""
        with self.lock:
            now = self.now
            if now is None or (saved is not None and now.text != saved and now.page != page):
                return None
            return now.data()

    def start(self, text: str, across: SweptKey, up: SweptKey | None, page: str = "") -> None:
        """Begin a sweep of a text.  Raises VaryError where a key leads nowhere."""
        for axis in (across, *((up,) if up else ())):
            changed(text, axis.key, axis.values[0])
        self.begin(Sweep(across=across, up=up, text=text, page=page), self._work)

    def _work(self, sweep: Sweep) -> None:
        text, memo = sweep.text, Memo()
        for row, second in enumerate(sweep.up.values if sweep.up else ("",)):
            lifted = changed(text, sweep.up.key, second) if sweep.up else text
            for column, first in enumerate(sweep.across.values):
                square = self._square(changed(lifted, sweep.across.key, first), memo, sweep)
                with self.lock:
                    sweep.squares[row, column] = square

    def _square(self, text: str, memo: Memo, sweep: Sweep) -> Square:
        return square(self.path, text, lambda _room: self.give_way(sweep), memo)
