"""What has been done already: for planning the rest from the middle."""

from __future__ import annotations

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
    ``spoiled`` are the pieces by index that are worked no further.
    """

    now_min: int
    done: tuple[Done, ...]
    log: tuple[tuple[int, float], ...] = ()
    spoiled: frozenset[int] = frozenset()

    def ends(self, piece: int) -> dict[int, int]:
        """Return when each logged stage of a piece was finished; its own line beats one for all."""
        found = {each.stage: each.end_min for each in self.done if each.piece is None}
        return found | {each.stage: each.end_min for each in self.done if each.piece == piece}

    def last(self, piece: int) -> int:
        """Return the last stage that is done on a piece: all before it are done too; 0 for none."""
        return max(self.ends(piece), default=0)


NOTHING_DONE = Progress(0, ())
