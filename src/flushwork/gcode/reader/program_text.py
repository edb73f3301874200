"""G-code text to moves, by the published rules; shares only the move records with the writer.

Source: Kramer, Proctor & Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556 (2000).
``docs/gcode-files.md`` says what is read and what is named instead.

The words of a G-code file's lines, without comments and blanks, for a look at single words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from flushwork.core.units.kinds import INCH_MM
from flushwork.gcode.reader.arcs import add_arc
from flushwork.gcode.reader.execute import execute
from flushwork.gcode.reader.line_words import Block, LineError, code_of, read_block
from flushwork.gcode.reader.motion import Run
from flushwork.gcode.reader.state import ARCS, CYCLES, ORIGIN, State, beginning
from flushwork.toolpaths.moves import Move, MoveKind, Program

# ---- The short way through the lines that nearly all of a G-code file is made of
#
# ``X1.000 Y2.000`` in a settled mode needs none of the published order of execution: it leads to a
# place. ``read`` tries this way first and goes the long one wherever it does not apply, also for
# every line that breaks a rule, so that nothing is named here.


_NUMBER: Final = r"(-?\d{1,9}\.\d{0,9}) ?"
_LINE: Final = re.compile(
    r"(?:N\d{1,5} )?(?:G([0123]) )?" + "".join(f"(?:{letter}{_NUMBER})?" for letter in "XYZIJF"),
    re.ASCII,
)
_RAPID: Final = 0
_FEED: Final = 10
_MOTIONS: Final = {"0": _RAPID, "1": _FEED, "2": 20, "3": 30}
_XY: Final = 170


def take_settled(raw: str, run: Run) -> bool:
    """Do one line that is a mere motion in a settled mode; otherwise do nothing, return False."""
    found = _LINE.fullmatch(raw)
    if found is None or not run.is_placed or not _settled(run.state):
        return False
    word, x, y, z, i, j, f = found.groups()
    state = run.state
    motion = state.motion if word is None else _MOTIONS[word]
    if x is None and y is None and z is None:
        return False
    unit_mm = state.unit_mm
    feed = state.feed if f is None else float(f) * unit_mm
    if feed <= 0.0:
        return False
    if motion in ARCS:
        return _arc(run, motion, (x, y, z, i, j), feed)
    if (motion not in {_RAPID, _FEED}) or i is not None or j is not None:
        return False
    at, zero = state.at, state.zero
    to = (
        at[0] if x is None else zero[0] + float(x) * unit_mm,
        at[1] if y is None else zero[1] + float(y) * unit_mm,
        at[2] if z is None else zero[2] + float(z) * unit_mm,
    )
    rpm = state.speed_rpm if state.turning else 0.0
    if motion == _FEED:
        run.moves.append(Move(MoveKind.FEED, *to, feed, 0.0, 0.0, 0.0, 0.0, rpm, run.line))
    else:
        run.moves.append(Move(MoveKind.RAPID, *to, 0.0, 0.0, 0.0, 0.0, 0.0, rpm, run.line))
    state.at, state.feed = to, feed
    _set_motion(state, motion)
    return True


def _settled(state: State) -> bool:
    """Return whether an axis word can only mean one thing, and nothing has to be assumed."""
    return (
        state.absolute
        and not state.inverse_time
        and state.unit_said
        and len(state.sure) == 3
        and state.plane == _XY
    )


def _arc(run: Run, motion: int, words: tuple[str | None, ...], feed: float) -> bool:
    """Add an arc in centre format; False where it has a fault, which is then told elsewhere."""
    state = run.state
    before = state.feed
    values = {
        letter: float(word) for letter, word in zip("xyzij", words, strict=True) if word is not None
    }
    state.feed = feed
    try:
        add_arc(run, values, clockwise=motion == _MOTIONS["2"])
    except LineError:
        state.feed = before
        return False
    _set_motion(state, motion)
    return True


def _set_motion(state: State, motion: int) -> None:
    if motion != state.motion:
        state.cycle.clear()
        state.motion = motion


# ---- G-code text to moves, by the published rules; shares only the move records with the writer


_PLAIN: Final = frozenset("xyzfijkr")

Problems = tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class ProgramRead:
    """A G-code file as read; ``faults`` are lines left out, ``assumed`` what the file left open.

    Both are (line from 1, text).
    """

    program: Program
    faults: Problems
    assumed: Problems


def read_program(
    text: str, parameters: Mapping[int, float] | None = None
) -> tuple[Program, Problems]:
    """Read a G-code file; return its moves, and its problems as (line from 1, text).

    A line that breaks a rule is left out whole and named; where the file leaves something open
    that had to be assumed, that is named too.  ``parameters`` are the machine's own numbered
    parameters (see ``state.beginning``), where they are known.  Never raises for any text.
    """
    run = _run(text, beginning(parameters))
    return Program(ORIGIN, tuple(run.moves), run.placed), tuple(run.problems)


def read_imported(text: str, *, inch: bool | None = None, begins_mm: float = 0.0) -> ProgramRead:
    """Read a G-code file of any program, what is wrong with it apart from what it leaves open.

    ``inch`` says its units where the file does not; None where nobody has said them.  The bit
    is taken to stand over X0 Y0 at the height ``begins_mm`` when the file begins.
    """
    state = beginning(None)
    state.at = (0.0, 0.0, begins_mm)
    if inch is not None:
        state.unit_mm, state.unit_said = INCH_MM if inch else 1.0, True
    run = _run(text, state)
    return ProgramRead(
        Program((0.0, 0.0, begins_mm), tuple(run.moves), run.placed),
        tuple(each for each in run.problems if not run.assumes(each[1])),
        tuple(each for each in run.problems if run.assumes(each[1])),
    )


def _run(text: str, state: State) -> Run:
    run = Run(state, text)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    framed = closed = False
    for number, raw in enumerate(lines, start=1):
        run.line = number
        if raw.strip() == "%":
            if framed or run.moves:
                closed = True
                break
            framed = True
            continue
        if not take_settled(raw, run):
            _take(raw, run)
        if run.state.ended:
            break
    if not (run.state.ended or closed):
        run.line = len(lines)
        run.note("the file ends without M2 or M30; part of it may be missing")
    return run


def _take(raw: str, run: Run) -> None:
    """Take in one line, or name its faults and leave everything as it was before."""
    state, count, told = run.state, len(run.moves), len(run.problems)
    at, feed, sure = state.at, state.feed, state.sure
    before: State | None = None
    try:
        code = code_of(raw)
        if not code:
            return
        block = read_block(code, state.parameter)
        if block.deletable:
            run.note(
                "the line begins with / and is left out where the machine is told to;"
                " it is read here"
            )
        if not _plain(block, state):
            before = state.copied()
        execute(block, run)
    except LineError as error:
        if before is not None:
            run.state = before
        state.at, state.feed, state.sure = at, feed, sure
        del run.moves[count:]
        run.forget(told)
        run.problems.extend((run.line, fault) for fault in error.faults)


def _plain(block: Block, state: State) -> bool:
    """Return whether a line changes nothing but place, feed and what is sure."""
    return (
        not (block.g or block.m or block.settings)
        and state.motion not in CYCLES
        and block.values.keys() <= _PLAIN
    )


def lines_with(text: str, letter: str) -> Iterator[tuple[int, str]]:
    """Yield the lines that hold a letter outside of comments: number from 1, words in small print.

    A line whose comment is left open is passed over; the reader has named it.
    """
    for number, raw in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1):
        if letter not in raw and letter.upper() not in raw:
            continue
        try:
            code = code_of(raw)
        except LineError:
            continue
        if letter in code:
            yield number, code
