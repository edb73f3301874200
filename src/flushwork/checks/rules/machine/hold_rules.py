"""Does what holds the piece stand the push of its bits?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from flushwork.built import Build
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Severity, Subject
from flushwork.fit.cutting_force import RESIN_STOCK, beside, stock_of_wood
from flushwork.fit.feeds import push_n
from flushwork.fit.grip import Grip, grip_of, tabs_n, tape_n
from flushwork.job.records import held_at
from flushwork.process.tape import tape_plan
from flushwork.shelf.items import BitKind
from flushwork.strata.surfaces import CutReport
from flushwork.toolpaths.moves import table_of
from flushwork.toolpaths.orders import GcodeFile, Work

SURE: Final = 2.0
"""What holds should stand so many times the push (common practice, no source: 2 to 3)."""
LEAST_BITE_MM: Final = 0.01
"""A bite less deep pushes nothing that counts."""


@dataclass(frozen=True, slots=True)
class Push:
    """The hardest push of a G-code file: how hard, how deep a bite, on which line."""

    force_n: float
    bite_mm: float
    line: int


def hardest_push(build: Build, file: GcodeFile, report: CutReport) -> Push:
    """Return a file's hardest push, from the bites of its replay and the feeds it asks.

    Chips as thick as a full-width cut makes them, at the end of the bit's life.
    """
    bit = file.order.bit
    table = table_of(file.program)
    wood = stock_of_wood(build.job.blank.wood)
    stock = beside(RESIN_STOCK, wood) if report.resin_mm3 > 0.0 else wood
    along = table.cuts & (table.run_mm > 0.0) & (report.bite_mm > LEAST_BITE_MM)
    worst = Push(0.0, 0.0, 0)
    if bit.kind is BitKind.DRILL:
        return worst
    seen = np.column_stack([table.feed_mm_min, table.rpm, np.ceil(report.bite_mm * 100.0)])
    for feed, rpm, bite in np.unique(seen[along], axis=0).tolist():
        if rpm <= 0.0:
            continue
        chip = feed / (rpm * bit.flutes)
        force = push_n(bit, file.order.machine, stock, bite / 100.0, chip)
        if force > worst.force_n:
            first = int(np.flatnonzero(along & np.all(seen == (feed, rpm, bite), axis=1))[0])
            worst = Push(force, bite / 100.0, file.program.moves[first].line)
    return worst


@dataclass(frozen=True, slots=True)
class HoldingForce:
    """What holds against a G-code file: how much, and by what."""

    force_n: float
    by: str


def held(build: Build, file: GcodeFile, grip: Grip, bite_mm: float) -> HoldingForce:
    """Return what holds the blank, or at the end of a trim the piece that comes out of it."""
    job = build.job
    trims = any(operation.work is Work.TRIM for operation in file.order.operations)
    setup = build.plan.setup(file.order.setup)
    plan = tape_plan(job, build.faces, setup)
    share = grip.tape_share if plan is None else min(grip.tape_share, plan.share)
    inside = grip.tape_share if plan is None else min(grip.tape_share, plan.inside_share)
    if not trims:
        long_mm, short_mm = sorted((job.blank.length_mm, job.blank.width_mm), reverse=True)
        area = job.blank.length_mm * job.blank.width_mm
        tape = tape_n(share, area, long_mm, short_mm, setup.stands_mm)
        return HoldingForce(tape + grip.waste_n, _by(tape, grip.waste_n, 0.0))
    trim = build.face(file.order.face).trim
    left, low, right, top = trim.bounds
    long_mm, short_mm = sorted((right - left, top - low), reverse=True)
    tape = tape_n(inside, float(trim.area), long_mm, short_mm, bite_mm)
    outline = job.outline
    tabs = tabs_n(outline.tabs, outline.tab_mm, outline.tab_height_mm)
    return HoldingForce(tape + tabs, _by(tape, 0.0, tabs))


def _by(tape_n_: float, waste_n: float, tabs: float) -> str:
    parts = (("tape", tape_n_), ("clamps and pins in the waste", waste_n), ("tabs", tabs))
    told = [f"{name} {force:.0f} N" for name, force in parts if force > 0.0]
    return " and ".join(told) or "nothing"


def held_too_weakly(build: Build) -> Iterator[Finding]:
    """Yield a finding for each G-code file that pushes harder than what holds is sure to stand.

    Trimming with nothing at all that holds is told by ``trim-without-tabs``.
    """
    grip = grip_of(build.job.holding)
    reports = {report.file_name: report for report in build.replay.cuts}
    if grip is None:
        if build.gcode_files:
            yield _unsaid(build)
        if build.job.outline.artwork is not None and not build.job.outline.tabs:
            yield _loose(build, Push(0.0, 0.0, 0), HoldingForce(0.0, "nothing that is known"))
        return
    for file in build.gcode_files:
        report = reports.get(file.file_name)
        if report is None:
            continue
        push = hardest_push(build, file, report)
        holds = held(build, file, grip, push.bite_mm)
        trims = any(operation.work is Work.TRIM for operation in file.order.operations)
        if trims and not build.job.outline.tabs and holds.force_n < push.force_n:
            yield _loose(build, push, holds)
        elif holds.force_n < SURE * push.force_n:
            yield _weak(build, file, push, holds, trims)


def _unsaid(build: Build) -> Finding:
    holding = build.job.holding
    return Finding.warning(
        "grip-unsaid",
        message=f"Nothing says how firmly {holding.name} holds ({holding.how}), so the "
        "push of a bit cannot be compared with it.",
        remedy="Give `tape`, `clamps` or `pins` of this holding in the shop file; pull a scrap "
        "held the same way with a spring balance.",
        subjects=(Subject("holding", holding.name),),
        source=held_at(build.job),
    )


def _loose(build: Build, push: Push, holds: HoldingForce) -> Finding:
    return Finding.must_fix(
        "trim-without-tabs",
        message=f"The outline is cut without tabs, and at its end {holds.by} holds the piece"
        + (f" against a push of {push.force_n:.0f} N" if push.force_n else "")
        + ": it comes loose while the bit still turns.",
        remedy="Leave four tabs, or tape it down over its whole face.",
        subjects=(TRIM_LINE,),
        source=build.job.outline.source,
        measure=Measure("held", holds.force_n, push.force_n, "N"),
    )


def _weak(build: Build, file: GcodeFile, push: Push, holds: HoldingForce, trims: bool) -> Finding:
    end = "At the end of the trim the piece is" if trims else "The blank is"
    return Finding(
        code="held-too-weakly",
        severity=Severity.MUST_FIX if holds.force_n < push.force_n else Severity.WARNING,
        message=f"{end} held by {holds.by}, and {file.known_as}, line {push.line}, pushes with "
        f"{push.force_n:.0f} N on a bite of {push.bite_mm:.2f} mm; it should bear {SURE:g} times "
        "that.",
        remedy=("Leave more or larger tabs, " if trims else "Add clamps, pins or tape, ")
        + "take less depth at once, or give what holds (`tape`, `clamps`, `pins`) in the shop "
        "file.",
        subjects=(Subject("file", file.known_as),),
        source=build.job.outline.source if trims else held_at(build.job),
        measure=Measure("held", holds.force_n, SURE * push.force_n, "N"),
    )


RULES = (held_too_weakly,)
