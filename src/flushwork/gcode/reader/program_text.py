"""G-code text to moves, by the published rules; shares only the move records with the writer.

Source: Kramer, Proctor & Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556 (2000).
``docs/gcode-files.md`` says what is read and what is named instead.

The words of a G-code file's lines, without comments and blanks, for a look at single words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from flushwork.core.units.factors import INCH_MM
from flushwork.gcode.reader.execute import execute
from flushwork.gcode.reader.line_words import Block, LineError, code_of, read_block
from flushwork.gcode.reader.motion import Run
from flushwork.gcode.reader.quick_lines import take_settled
from flushwork.gcode.reader.state import CYCLES, ORIGIN, State, beginning
from flushwork.toolpaths.moves import Program

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
        block = read_block(code, run.line, state.parameter)
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
