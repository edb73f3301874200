"""From an order to its cut file: traced, written, read back, timed."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from flushwork.toolpaths.emit import Written, write
from flushwork.toolpaths.moves import Program
from flushwork.toolpaths.orders import CutFile, CutOrder, OperationSpan
from flushwork.toolpaths.read import read_program
from flushwork.toolpaths.run_time import run_time_s
from flushwork.toolpaths.trace import trace


def cut_file(order: CutOrder) -> CutFile:
    """Write the cut file of an order and read it back.

    The program, the time and the spans of the result come from the text, not from the moves it
    was written from.  Raises ``ValueError`` as ``trace`` does.
    """
    traced = trace(order)
    written = write(order, traced.moves, traced.drills, traced.spans)
    program, problems = read_program(written.text)
    return CutFile(
        order=order,
        file_name=file_name(order),
        text=written.text,
        program=program,
        cut_s=run_time_s(program, order.machine),
        problems=problems,
        spans=spans_of(written, program, traced.spans),
    )


def file_name(order: CutOrder) -> str:
    """Return the cut file's name: lower-case letters, digits, points and hyphens only."""
    cutter = order.cutter
    return f"m{order.mounting}-{order.face}-{order.sequence}-{cutter.kind}-{_size(order)}.ngc"


def _size(order: CutOrder) -> str:
    return f"{order.cutter.diameter_mm:.3f}".rstrip("0").rstrip(".")


def spans_of(
    written: Written, program: Program, spans: Sequence[OperationSpan]
) -> tuple[OperationSpan, ...]:
    """Return which moves of the program as read serve which operation, by their lines.

    ``spans`` count the moves that were written; one that left no line of its own is dropped.
    """
    lines = [move.line for move in program.moves]
    found: list[OperationSpan] = []
    for span in spans:
        after = written.lines[span.first - 1] if span.first > 0 else 0
        first = bisect_right(lines, after)
        last = bisect_left(lines, written.lines[span.last] + 1) - 1
        if first <= last:
            found.append(OperationSpan(span.subject, span.work, first, last))
    return tuple(found)
