"""From an order to its G-code file: traced, written, read back, timed."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from flushwork.core.units.format import half_up
from flushwork.core.units.kinds import INCH_MM
from flushwork.gcode.emit import EmittedText, write
from flushwork.gcode.head_comments import comments, region_lines
from flushwork.gcode.reader.program_text import read_imported, read_program
from flushwork.gcode.run_time import run_time_s
from flushwork.gcode.swept import swept
from flushwork.job.records import ImportedFile, file_words
from flushwork.runtime.memo import memoized
from flushwork.toolpaths.arcs_on_grid import grid_of
from flushwork.toolpaths.moves import Move, Program
from flushwork.toolpaths.orders import CutOrder, GcodeFile, OperationSpan
from flushwork.toolpaths.trace import trace


@memoized
def gcode_file(order: CutOrder) -> GcodeFile:
    """Write the G-code file of an order and read it back.

    The program, the time and the spans of the result come from the text, not from the moves it
    was written from.  Raises ``ValueError`` as ``trace`` does.
    """
    if order.imported is not None:
        return _as_it_came(order, order.imported)
    traced = trace(order)
    written = write(order, traced.moves, traced.drills, traced.spans)
    program, problems = read_program(written.text)
    return GcodeFile(
        order=order,
        file_name=file_name(order),
        text=_as_replayed(written.text, order, traced.moves, program),
        program=program,
        cut_s=run_time_s(program, order.machine) / len(order.places),
        problems=problems,
        spans=spans_of(written, program, traced.spans),
    )


def _as_replayed(text: str, order: CutOrder, moves: Sequence[Move], program: Program) -> str:
    """Return a text whose head tells the region of its moves as they are read back from it."""
    grid, lead = grid_of(order.machine.dialect), Program(program.start, tuple(moves), 1)
    meant = region_lines(swept(lead, order.bit), order, grid)
    read = region_lines(swept(program, order.bit), order, grid)
    for line, told in zip(meant, read, strict=True):
        if line != told:
            text = text.replace("\n".join(comments(line)), "\n".join(comments(told)), 1)
    return text


def _as_it_came(order: CutOrder, imported: ImportedFile) -> GcodeFile:
    """Read an imported file; its moves all serve what the order names first."""
    begins_mm = order.face_above_mm + order.machine.clear_mm
    read = read_imported(imported.text, inch=imported.inch, begins_mm=begins_mm)
    last = len(read.program.moves) - 1
    return GcodeFile(
        order=order,
        file_name=file_name(order),
        text=imported.text,
        program=read.program,
        cut_s=run_time_s(read.program, order.machine),
        problems=read.faults,
        spans=tuple(
            OperationSpan(operation.subject, operation.work, 0, last)
            for operation in order.operations[:1]
            if last >= 0
        ),
        assumed=read.assumed,
    )


def file_name(order: CutOrder) -> str:
    """Return the G-code file's name: lower-case letters, digits, points and hyphens only."""
    bit = order.bit
    if order.imported is not None:
        stem, _, end = order.imported.name.rpartition(".")
        kept = re.sub(r"[^a-z0-9]+", "-", (stem or end).lower()).strip("-") or "file"
        ending = re.sub(r"[^a-z0-9]", "", end.lower()) if stem else "nc"
        return f"{_place(order)}-imported-{kept}.{ending or 'nc'}"
    bare = "spoilboard-" if order.bare else ""
    return f"{_place(order)}-{bare}{bit.kind.lower()}-{_size(order)}.{order.machine.dialect.ending}"


def _place(order: CutOrder) -> str:
    """Return what a name begins with: names sort in the order in which the files are run."""
    digits = order.digits
    part = f"{file_words(order.part)}-" if order.part else ""
    return f"{part}m{order.setup:0{digits}d}-{order.face}-{order.sequence:0{digits}d}"


def _size(order: CutOrder) -> str:
    mm = order.bit.diameter_mm
    size = half_up(mm / INCH_MM, 4) if order.machine.dialect.inch else half_up(mm, 3)
    return size.rstrip("0").rstrip(".")


def spans_of(
    written: EmittedText, program: Program, spans: Sequence[OperationSpan]
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
