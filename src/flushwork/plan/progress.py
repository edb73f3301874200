"""What has been done already: for planning the rest from the middle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Done:
    """A stage that was finished at a minute: for one piece by index, or for all of them."""

    stage: int
    end_min: int
    piece: int | None = None


@dataclass(frozen=True, slots=True)
class Progress:
    """The state of a run: the minute it is now, what is done, and the shop's temperatures.

    ``log`` are (minute, degrees C) readings in order of time, each holding until the next; where
    it reaches back far enough it replaces the shop's usual air for what has been poured.
    """

    now_min: int
    done: tuple[Done, ...]
    log: tuple[tuple[int, float], ...] = ()

    def end_of(self, stage: int, pieces: Iterable[int]) -> int | None:
        """Return when a stage was finished for all of these pieces, None where it was not."""
        ends: list[int] = []
        for piece in pieces:
            found = [
                each.end_min
                for each in self.done
                if each.stage == stage and each.piece in (None, piece)
            ]
            if not found:
                return None
            ends.append(max(found))
        return max(ends, default=None)


NOTHING_DONE = Progress(0, ())
