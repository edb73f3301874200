"""Are imported G-code files understood whole, and do they stand where the job puts them?"""

from __future__ import annotations

import re
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Final

import numpy as np

from flushwork.built import Build
from flushwork.checks.rules.machine.as_cut_rules import box_of
from flushwork.core.findings import Finding, Measure, Source, Subject
from flushwork.gcode.reader.program_text import lines_with
from flushwork.process.orders.imported_files import (
    MACHINE_KINDS,
    WHOLE,
    ImportedWork,
    imported_work,
    stages_meant,
)
from flushwork.process.user_order import known_steps
from flushwork.shelf.items import Dialect
from flushwork.toolpaths.moves import MoveKind, table_of
from flushwork.toolpaths.orders import GcodeFile

MOST_LINES: Final = 12
"""So many faulty lines of a file are told one by one."""
_TOOL: Final = re.compile(r"t(\d+)")
_COOLANT: Final = re.compile(r"m0*([78])(?![\d.])")
_CYCLE: Final = re.compile(r"g8[1-9](?![0-9])")
_ARC: Final = re.compile(r"g0*[23](?![0-9.])")


def step_twice(build: Build) -> Iterator[Finding]:
    """Yield a must fix for imported files that do a step, or a part of one, others do already."""
    works = imported_work(build.job, build.plan)
    for index, work in enumerate(works):
        first = next((each for each in works[:index] if _meet(each, work)), None)
        if first is None:
            continue
        stage = build.plan.stage(work.stage)
        yield Finding.must_fix(
            "gcode-file-step-twice",
            message=f"The files for `{work.imported.step}` do stage {stage.number} "
            f"({stage.title}), which those for `{first.imported.step}` in line "
            f"{first.imported.source.line} do "
            "already: it would be cut twice.",
            remedy="Keep one of the two entries; where a step takes several files, list them all "
            "under the `files` of one.",
            subjects=(Subject("stage", work.imported.step),),
            source=work.imported.source,
        )


def _meet(one: ImportedWork, two: ImportedWork) -> bool:
    """Whether two do the same part of one stage."""
    alike = one.subject == two.subject or "" in (one.subject, two.subject)
    return one.stage == two.stage and alike


def _imported(build: Build) -> Iterator[tuple[GcodeFile, str]]:
    for file in build.gcode_files:
        if file.order.imported is not None:
            yield file, file.order.imported.name


def step_unclear(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for imported files whose step is none of the plan's, or several."""
    stages = [stage for stage in build.plan.stages if stage.kind in MACHINE_KINDS]
    known = known_steps(stages)
    for imported in build.job.imported:
        meant = stages_meant(build.plan, imported.step)
        if len(meant) == 1:
            continue
        close = get_close_matches(imported.step, known, n=1)
        listed = ", ".join(
            f"`{step}`"
            for step in (
                known
                if not meant
                else known_steps([build.plan.stage(number) for number, _ in meant])
            )
        )
        yield Finding.must_fix(
            "gcode-file-step-unclear",
            message=f"`{imported.step}` is no step of this plan that runs on the machine."
            if not meant
            else f"`{imported.step}` is more than one step of this plan.",
            remedy=(f"Did you mean `{close[0]}`? " if close and not meant else "")
            + f"Name one of: {listed}"
            + (", or a whole setup." if not imported.step.startswith(WHOLE) else "."),
            subjects=(Subject("stage", imported.step),),
            source=imported.source,
        )


def lines_left_out(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for each line of an imported file that is not understood."""
    for file, name in _imported(build):
        for line, text in file.problems[:MOST_LINES]:
            yield Finding.must_fix(
                "gcode-file-line-unread",
                message=f"{name}, line {line}: {text}. The whole line was left out.",
                remedy="Write the line otherwise, or have your program leave it out; accept it "
                "only if the machine does nothing for it.",
                subjects=(Subject("file", name),),
                source=Source(name, line, 1, ""),
                measure=Measure("lines left out", float(len(file.problems)), 0.0, ""),
            )


def left_open(build: Build) -> Iterator[Finding]:
    """Yield a warning for each thing an imported file leaves open, and how it was read."""
    for file, name in _imported(build):
        for line, text in (*file.assumed, *_crosses_unsaid(file), *_marked(file), *_wetted(file)):
            yield Finding.warning(
                "gcode-file-leaves-open",
                message=f"{name}, line {line}: {text}.",
                remedy="Check that your machine takes it the same way, or write it into the file; "
                "units may be said by `units` in the job.",
                subjects=(Subject("file", name),),
                source=Source(name, line, 1, ""),
            )


def _crosses_unsaid(file: GcodeFile) -> Iterator[tuple[int, str]]:
    """Yield the line of a first move across that comes before the file says how high the bit is."""
    table = table_of(file.program)
    across = np.flatnonzero(table.run_mm > 0.0)
    if not len(across):
        return
    line = file.program.moves[int(across[0])].line
    said = next((number for number, _ in lines_with(file.text, "z")), line + 1)
    if said >= line:
        yield (
            line,
            "the file goes across before it has said how high the bit stands; read as if it stood "
            "at the clear height",
        )


def _marked(file: GcodeFile) -> Iterator[tuple[int, str]]:
    imported = file.order.imported
    if imported is not None and imported.encoding == "utf-8-sig":
        yield (
            1,
            "the file begins with a byte-order mark, which is read over here and which some "
            "machines take for a word",
        )


def _wetted(file: GcodeFile) -> Iterator[tuple[int, str]]:
    """Yield the first line that turns on what most machines have coolant or mist on."""
    for line, code in lines_with(file.text, "m"):
        hit = _COOLANT.search(code)
        if hit is not None:
            yield (
                line,
                f"M{hit[1]} turns on coolant or mist where a machine has them; wet wood swells and "
                "resin that is not hard is spoilt, so it is taken to be air or extraction",
            )
            return


def several_bits(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for an imported file that calls for more than one bit."""
    for file, name in _imported(build):
        called: dict[int, int] = {}
        for line, code in lines_with(file.text, "t"):
            for number in _TOOL.findall(code):
                called.setdefault(int(number), line)
        if len(called) < 2:
            continue
        numbers = list(called)
        yield Finding.must_fix(
            "gcode-file-several-bits",
            message=f"{name} calls for bit {numbers[0]} in line {called[numbers[0]]} and for "
            f"bit {numbers[1]} in line {called[numbers[1]]}, but is run with the "
            f"{file.order.bit.name} alone.",
            remedy="Have your program write one file for each bit, and name them one after "
            "another.",
            subjects=(Subject("file", name),),
            source=Source(name, called[numbers[1]], 1, ""),
            measure=Measure("bits called", float(len(called)), 1.0, ""),
        )


def other_dialect(build: Build) -> Iterator[Finding]:
    """Yield a must fix for words of an imported file that the machine has not got."""
    for file, name in _imported(build):
        dialect = file.order.machine.dialect
        for line, what in _foreign(file, dialect):
            yield Finding.must_fix(
                "gcode-file-other-dialect",
                message=f"{name}, line {line}, uses {what}, which the shop file says this machine "
                "does not understand.",
                remedy="Have your program write plain lines instead, or correct `gcode files` of "
                "the machine in the shop file.",
                subjects=(Subject("file", name),),
                source=Source(name, line, 1, ""),
            )


def _foreign(file: GcodeFile, dialect: Dialect) -> Iterator[tuple[int, str]]:
    for wanted, pattern, what in (
        (dialect.arcs, _ARC, "arcs (G2, G3)"),
        (dialect.cycles, _CYCLE, "drilling cycles (G81 to G89)"),
    ):
        if wanted:
            continue
        found = (line for line, code in lines_with(file.text, "g") if pattern.search(code))
        line = next(found, None)
        if line is not None:
            yield line, what


def nothing_cut(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for an imported file that takes nothing off the blank."""
    reports = {report.file_name: report for report in build.replay.cuts}
    for file, name in _imported(build):
        report = reports.get(file.file_name)
        if report is None or float(report.removed_mm3.sum()) > 0.0:
            continue
        low, high = box_of(file.program)
        x, y = file.order.origin_mm
        yield Finding.must_fix(
            "gcode-file-cuts-nothing",
            message=f"{name} cuts nothing: with its zero where the job puts it, it runs from "
            f"{low[0] + x:.1f}, {low[1] + y:.1f} to {high[0] + x:.1f}, {high[1] + y:.1f} mm of the "
            f"blank, down to {low[2]:.2f} mm.",
            remedy="Correct `zero`, `zero from` or `height zero`, or the units.",
            subjects=(Subject("file", name),),
            source=file.order.imported.source if file.order.imported is not None else None,
        )


def flutes_of_imported(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where an imported file goes deeper than the flutes of its bit."""
    for file, name in _imported(build):
        setup = build.plan.setup(file.order.setup)
        low, _ = box_of(file.program)
        depth_mm = setup.face_z_mm - (file.order.face_z_mm + low[2])
        bit = file.order.bit
        if depth_mm <= bit.flute_mm + 0.02:
            continue
        yield Finding.must_fix(
            "flutes-too-short",
            message=f"{name} goes {depth_mm:.2f} mm deep, but the {bit.name} has only "
            f"{bit.flute_mm:g} mm of flutes: its shank would rub.",
            remedy=f"Use a bit with more than {depth_mm:.1f} mm of flutes, or cut less deep.",
            subjects=(Subject("file", name),),
            source=file.order.imported.source if file.order.imported is not None else None,
            measure=Measure("depth", depth_mm, bit.flute_mm, "mm"),
        )


def taken_in(build: Build) -> Iterator[Finding]:
    """Yield a note for each imported file: what it is taken for, and where its zero lies."""
    for file, name in _imported(build):
        order = file.order
        low, high = box_of(file.program)
        cuts = sum(move.kind in (MoveKind.FEED, MoveKind.ARC) for move in file.program.moves)
        yield Finding.note(
            "gcode-file-taken-in",
            message=f"{name} is run as it came for `{order.name}`, setup {order.setup}, "
            f"with the {order.bit.name}: {len(file.text.splitlines())} lines, {cuts} cutting "
            f"moves, X {low[0]:.2f} to {high[0]:.2f}, Y {low[1]:.2f} to {high[1]:.2f}, Z "
            f"{low[2]:.2f} to {high[2]:.2f} mm from its zero, which lies {order.origin_mm[0]:g} mm "
            f"right of and {order.origin_mm[1]:g} mm beyond the blank's lower left corner. Its "
            f"path is checked against the drawing to {order.machine.tolerance_mm:.3f} mm.",
            remedy="Compare these figures with what your program shows.",
            subjects=(Subject("file", name),),
            source=order.imported.source if order.imported is not None else None,
            measure=Measure("run time", file.cut_s, None, "s"),
        )


RULES = (
    step_unclear,
    step_twice,
    lines_left_out,
    left_open,
    several_bits,
    other_dialect,
    nothing_cut,
    flutes_of_imported,
    taken_in,
)
