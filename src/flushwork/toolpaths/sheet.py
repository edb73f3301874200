"""Lines of a cut file as they are written, modal words left out where nothing changes."""

from __future__ import annotations

from typing import Final

from flushwork.toolpaths.arc_rounding import GridMove
from flushwork.toolpaths.canned import Canned
from flushwork.toolpaths.grid import Grid

_LAST_LINE_NUMBER: Final = 99999
_X, _Y, _Z = range(3)


class ProgramText:
    """Grows the text; knows what the machine has been told last."""

    def __init__(self, grid: Grid, line_numbers: bool) -> None:
        self.grid = grid
        self.lines: list[str] = []
        self._numbered = line_numbers
        self._count = 0
        self._at: list[int | None] = [None, None, None]
        self._motion = ""
        self._feed = ""
        self._feed_mm_min = -1.0
        self._speed = ""
        self._rpm = -1.0
        self._cycle: tuple[object, ...] = ()

    def comment(self, line: str) -> None:
        """Write a comment, which carries no line number."""
        self.lines.append(line)

    def words(self, *words: str) -> None:
        """Write one line of words."""
        kept = [word for word in words if word]
        if self._numbered:
            self._count = self._count % _LAST_LINE_NUMBER + 1
            kept.insert(0, f"N{self._count}")
        self.lines.append(" ".join(kept))

    def speed(self, word: str, rpm: float) -> None:
        """Write the spindle's speed, with ``word`` where it must be started."""
        if rpm == self._rpm and not word:
            return
        self._rpm = rpm
        speed = f"S{max(round(rpm), 1)}"
        if speed != self._speed or word:
            self._speed = speed
            self.words(word, speed)

    def lift(self, z: int) -> None:
        """Write a rapid in Z alone, wherever X and Y are."""
        self.words(self._motion_word("G0"), self._axis("Z", _Z, z))

    def straight(self, motion: str, to: tuple[int, int, int], feed_mm_min: float = 0.0) -> None:
        """Write a straight move; nothing at all where it leads nowhere."""
        at, grid = self._at, self.grid
        if to[_X] == at[_X] and to[_Y] == at[_Y] and to[_Z] == at[_Z]:
            return
        words = [self._motion_word(motion)]
        for letter, value, before in zip("XYZ", to, at, strict=True):
            if value != before:
                words.append(f"{letter}{grid.text(value)}")
        at[:] = to
        words.append(self._feed_word(motion, feed_mm_min))
        self.words(*words)

    def arc(self, piece: GridMove, feed_mm_min: float) -> None:
        """Write an arc in centre format, its end in X and Y always spelt out."""
        if piece.offset is None:
            self.straight("G1", piece.end, feed_mm_min)
            return
        self._at[_X] = self._at[_Y] = None
        motion = "G2" if piece.clockwise else "G3"
        self.words(
            self._motion_word(motion),
            *(self._axis(letter, axis, piece.end[axis]) for axis, letter in enumerate("XYZ")),
            f"I{self.grid.text(piece.offset[0])}",
            f"J{self.grid.text(piece.offset[1])}",
            self._feed_word(motion, feed_mm_min),
        )

    def hole(self, hole: Canned) -> None:
        """Write a drilled hole as a canned cycle, its numbers only where they change."""
        grid = self.grid
        same = self._motion == hole.word and self._cycle == hole.shared
        place = [self._axis("X", _X, hole.x), self._axis("Y", _Y, hole.y)]
        if not any(place):
            place = [f"X{grid.text(hole.x)}"]
        if same:
            self.words(*place, self._feed_word("G1", hole.feed_mm_min))
        else:
            self.words(
                hole.back,
                hole.word,
                *place,
                f"Z{grid.text(hole.floor)}",
                f"R{grid.text(hole.top)}",
                f"Q{grid.text(hole.peck)}" if hole.peck else "",
                f"P{hole.dwell}" if hole.dwell else "",
                self._feed_word("G1", hole.feed_mm_min),
            )
        self._motion, self._cycle = hole.word, hole.shared
        self._at[_Z] = hole.travel if hole.back == "G98" else hole.top

    def end_cycle(self) -> None:
        """Leave a canned cycle before any other motion."""
        if self._motion in {"G81", "G82", "G83"}:
            self.words("G80")
            self._motion, self._cycle = "", ()

    def at_height(self, z: int) -> bool:
        """Return whether the tip stands at that height by what has been written."""
        return self._at[_Z] == z

    def below(self, z: int) -> bool:
        """Return whether the tip stands below that height by what has been written."""
        height = self._at[_Z]
        return height is not None and height < z

    def _motion_word(self, motion: str) -> str:
        if motion == self._motion:
            return ""
        self._motion = motion
        return motion

    def _axis(self, letter: str, axis: int, value: int) -> str:
        if self._at[axis] == value:
            return ""
        self._at[axis] = value
        return f"{letter}{self.grid.text(value)}"

    def _feed_word(self, motion: str, feed_mm_min: float) -> str:
        if motion == "G0" or feed_mm_min == self._feed_mm_min:
            return ""
        self._feed_mm_min = feed_mm_min
        feed = self.grid.feed_text(feed_mm_min)
        if feed == self._feed:
            return ""
        self._feed = feed
        return f"F{feed}"
