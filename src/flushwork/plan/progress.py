"""What has been done already: for planning the rest from the middle."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Done:
    """A stage that was finished at a minute: for one piece by index, or for all of them.

    ``line`` is where the log says so, 0 where none does.
    """

    stage: int
    end_min: int
    piece: int | None = None
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Progress:
    """The state of a run: the minute it is now, what is done, and the shop's temperatures.

    ``log`` are (minute, degrees C) readings in order of time, each holding until the next; where
    it reaches back far enough it replaces the shop's usual air for what has been poured.
    ``spoiled`` are the pieces by index that are worked no further; ``file`` is the log's name.
    """

    now_min: int
    done: tuple[Done, ...]
    log: tuple[tuple[int, float], ...] = ()
    spoiled: frozenset[int] = frozenset()
    file: str = ""

    def ends(self, piece: int) -> dict[int, int]:
        """Return when each logged stage of a piece was finished; its own line beats one for all."""
        found = {each.stage: each.end_min for each in self.done if each.piece is None}
        return found | {each.stage: each.end_min for each in self.done if each.piece == piece}

    def line(self, piece: int, stage: int) -> int:
        """Return the line that tells of a stage of a piece, 0 for none."""
        found = {each.piece: each.line for each in self.done if each.stage == stage}
        return found.get(piece, found.get(None, 0))

    def last(self, piece: int) -> int:
        """Return the last stage that is done on a piece: all before it are done too; 0 for none."""
        return max(self.ends(piece), default=0)


NOTHING_DONE = Progress(0, ())
