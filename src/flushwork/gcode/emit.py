"""Moves to G-code file text.

Source: Kramer, Proctor & Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556 (2000).
``docs/gcode-files.md`` shows such a file.

Lines of a G-code file as they are written, modal words left out where nothing changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.gcode.head_comments import asked_at_stop, comments, header
from flushwork.shelf.items import Dialect
from flushwork.toolpaths.arcs_on_grid import Grid, GridMove, HelicalArc, grid_of, rounded
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import CutOrder, OperationSpan

# ---- Which drilled holes a canned cycle can stand for, and its numbers
#
# Source: NISTIR 6556, section 3.5.16.


_DWELL_PLACES: Final = 3


@dataclass(frozen=True, slots=True)
class Canned:
    """One hole as a cycle: all but ``x`` and ``y`` may be shared with the hole before.

    ``word`` is G81, G82 or G83, ``back`` G98 or G99; lengths are in grid steps.  The cycle must
    begin above (x, y) at ``travel``.
    """

    word: str
    back: str
    x: int
    y: int
    travel: int
    top: int
    floor: int
    peck: int
    dwell: str
    feed_mm_min: float

    @property
    def shared(self) -> tuple[object, ...]:
        """What must be the same for the next hole to be written by its place alone."""
        return (self.word, self.back, self.top, self.floor, self.peck, self.dwell)


def canned(hole: DrillHole, moves: Sequence[Move], grid: Grid) -> Canned | None:
    """Return the cycle that makes the moves of ``hole``, None where none of the three does.

    A pecked hole with a dwell on its floor has no cycle in the published language.
    """
    own = moves[hole.first : hole.last + 1]
    feeds = [move for move in own if move.kind is MoveKind.FEED]
    if not feeds or hole.first == 0 or any(move.kind is MoveKind.ARC for move in own):
        return None
    travel, top = grid.steps(moves[hole.first - 1].z_mm), grid.steps(hole.top)
    floor, end = grid.steps(hole.floor), grid.steps(own[-1].z_mm)
    pecked = len(feeds) > 1
    peck = grid.steps(hole.peck) if pecked else 0
    one_feed = all(feed.feed_mm_min == feeds[0].feed_mm_min for feed in feeds)
    at_floor = min(grid.steps(move.z_mm) for move in own) == floor
    straight = all(
        grid.steps(move.x_mm) == grid.steps(hole.x) and grid.steps(move.y_mm) == grid.steps(hole.y)
        for move in own
    )
    fits = one_feed and at_floor and straight and travel >= top > floor and end in {top, travel}
    if not fits or own[-1].kind is not MoveKind.RAPID or (pecked and peck < 1):
        return None
    dwell = f"{sum(move.dwell_s for move in own):.{_DWELL_PLACES}f}"
    if pecked and hole.dwell_s > 0.0:
        return None
    plain = "G82" if hole.dwell_s > 0.0 else "G81"
    return Canned(
        word="G83" if pecked else plain,
        back="G98" if end == travel else "G99",
        x=grid.steps(hole.x),
        y=grid.steps(hole.y),
        travel=travel,
        top=top,
        floor=floor,
        peck=peck,
        dwell=dwell if plain == "G82" else "",
        feed_mm_min=feeds[0].feed_mm_min,
    )


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


SPIN_UP_S: Final = 3.0
"""Seconds the spindle is given to come up to speed: common practice, no source."""

_CHANGES_BY_NUMBER: Final = "number"
_CHANGES_BY_STOP: Final = "stop"


@dataclass(frozen=True, slots=True)
class EmittedText:
    """A G-code file's text, and for each move the line (from 1) that was last written for it."""

    text: str
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Task:
    """What the body is made of: holes and names by the number of the move they begin with."""

    moves: Sequence[Move]
    holes: dict[int, DrillHole]
    names: dict[int, str]
    arcs: bool


def write(
    order: CutOrder,
    moves: Sequence[Move],
    drills: Sequence[DrillHole] = (),
    spans: Sequence[OperationSpan] = (),
) -> EmittedText:
    """Return the G-code file that makes ``moves``, in the machine's dialect, and each move's line.

    The first move only lifts to the clear height.  ``drills`` may be written as canned cycles;
    ``spans`` put the name of what is cut before its first line.  Raises ``ValueError`` for a cut
    without a feed, and where the first move is not that rapid.
    """
    dialect = order.machine.dialect
    grid = grid_of(dialect)
    sheet = ProgramText(grid, dialect.line_numbers)
    for line in header(order, moves, grid):
        sheet.comment(line)
    _begin(sheet, order, dialect)
    lines: list[int] = []
    if moves:
        _first(sheet, order, moves, dialect)
        holes = {hole.first: hole for hole in drills} if dialect.cycles else {}
        names = {max(span.first, 1): f"{span.work}: {span.subject}" for span in spans}
        lines = _body(sheet, _Task(moves, holes, names, dialect.arcs))
    _finish(sheet, order, dialect)
    return EmittedText("\n".join(sheet.lines) + "\n", tuple(lines))


def _begin(sheet: ProgramText, order: CutOrder, dialect: Dialect) -> None:
    units = "G20" if dialect.inch else "G21"
    sheet.words("G17", units, "G40", "G49", "G80", "G90", "G94")
    if dialect.tool_change == _CHANGES_BY_NUMBER:
        sheet.words(f"T{order.bit.number}", "M6")
    elif dialect.tool_change == _CHANGES_BY_STOP:
        for line in asked_at_stop(order, sheet.grid):
            sheet.comment(line)
        sheet.words("M0")


def _first(sheet: ProgramText, order: CutOrder, moves: Sequence[Move], dialect: Dialect) -> None:
    """Lift straight up, start the spindle, then go over the first place at that height."""
    first = moves[0]
    if first.kind is not MoveKind.RAPID:
        raise ValueError("the first move of a G-code file must be the rapid that lifts the bit")
    z = sheet.grid.steps(first.z_mm)
    sheet.lift(z)
    turning = (move.spindle_rpm for move in moves if move.spindle_rpm > 0.0)
    sheet.speed(dialect.spindle_clockwise, next(turning, _own_speed(order)))
    sheet.words(f"G4 P{SPIN_UP_S:.1f}")
    second = moves[1] if len(moves) > 1 else first
    travels = second.kind is MoveKind.RAPID and sheet.grid.steps(second.z_mm) == z
    if not travels or (first.x_mm, first.y_mm) != (0.0, 0.0):
        sheet.straight("G0", (sheet.grid.steps(first.x_mm), sheet.grid.steps(first.y_mm), z))


def _own_speed(order: CutOrder) -> float:
    machine = order.machine
    return min(max(order.bit.spindle_rpm, machine.spindle_min_rpm), machine.spindle_max_rpm)


def _body(sheet: ProgramText, task: _Task) -> list[int]:
    """Write every move after the first; return the line of each, the first included."""
    lines = [len(sheet.lines)]
    while (number := len(lines)) < len(task.moves):
        if number in task.names:
            sheet.end_cycle()
            for line in comments(task.names[number]):
                sheet.comment(line)
        if not task.holes:
            _move(sheet, task.moves[number - 1], task.moves[number], task.arcs)
            lines.append(len(sheet.lines))
            continue
        last = number
        hole = task.holes.get(number)
        cycle = None if hole is None else canned(hole, task.moves, sheet.grid)
        if hole is not None and cycle is not None and sheet.at_height(cycle.travel):
            sheet.speed("", _speed_of(task.moves[hole.first : hole.last + 1]))
            sheet.hole(cycle)
            last = hole.last
        elif not _travels_to_hole(sheet, task, number):
            sheet.end_cycle()
            _move(sheet, task.moves[number - 1], task.moves[number], task.arcs)
        lines.extend([len(sheet.lines)] * (last + 1 - number))
    sheet.end_cycle()
    return lines


def _travels_to_hole(sheet: ProgramText, task: _Task, number: int) -> bool:
    """Return whether a canned cycle that follows makes this move by itself.

    A cycle travels to its hole at the height where the last move ended.
    """
    hole = task.holes.get(number + 1)
    move, before = task.moves[number], task.moves[number - 1]
    if hole is None or move.kind is not MoveKind.RAPID:
        return False
    level = sheet.grid.steps(move.z_mm)
    if level != sheet.grid.steps(before.z_mm) or not sheet.at_height(level):
        return False
    return canned(hole, task.moves, sheet.grid) is not None


def _speed_of(moves: Sequence[Move]) -> float:
    return next(move.spindle_rpm for move in moves if move.kind is MoveKind.FEED)


def _move(sheet: ProgramText, before: Move, move: Move, arcs: bool) -> None:
    grid = sheet.grid
    to = grid.steps(move.x_mm), grid.steps(move.y_mm), grid.steps(move.z_mm)
    if move.kind is MoveKind.RAPID:
        sheet.straight("G0", to)
        return
    if move.kind is MoveKind.DWELL:
        sheet.words(f"G4 P{move.dwell_s:.3f}")
        return
    if move.feed_mm_min <= 0.0:
        raise ValueError("a cutting move has no feed")
    if move.spindle_rpm > 0.0:
        sheet.speed("", move.spindle_rpm)
    if move.kind is MoveKind.FEED:
        sheet.straight("G1", to, move.feed_mm_min)
        return
    arc = HelicalArc(
        (before.x_mm, before.y_mm, before.z_mm),
        move.z_mm,
        (move.centre_x_mm, move.centre_y_mm),
        move.turn_rad,
    )
    for piece in rounded(arc, grid, arcs):
        sheet.arc(piece, move.feed_mm_min)


def _finish(sheet: ProgramText, order: CutOrder, dialect: Dialect) -> None:
    clear = sheet.grid.steps(order.machine.clear_mm)
    if sheet.below(clear):
        sheet.lift(clear)
    sheet.words("M5")
    sheet.words(dialect.program_end)
