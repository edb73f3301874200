"""Does what holds the piece stand the push of its bits, and is there room for its clamps?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from flushwork.built import Build
from flushwork.checks.rules.machine.waste_rules import known_path, zero_mm
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Severity, Subject
from flushwork.fit.cutting_force import RESIN_STOCK, beside, stock_of_wood
from flushwork.fit.feeds import push_n
from flushwork.fit.grip import Grip, grip_of, tabs_n, tape_n
from flushwork.gcode.swept import CLAMP_GAP_MM, SAME_HEIGHT_MM, radius_mm, swept
from flushwork.job.records import held_at
from flushwork.process.stages import Setup
from flushwork.process.waste import keep_outs_of
from flushwork.shelf.items import BitKind
from flushwork.strata.surfaces import CutReport
from flushwork.toolpaths.moves import table_of
from flushwork.toolpaths.orders import GcodeFile, Work

SURE: Final = 2.0
"""What holds should stand so many times the push (common practice, no source: 2 to 3)."""
LEAST_BITE_MM: Final = 0.01
"""A bite less deep pushes nothing that counts."""
CLAMP_FOOT_MM: Final = 15.0
"""What the foot of a clamp covers of the waste, along and across (assumed, 10 to 25 mm)."""
STEP_MM: Final = 2.0
"""Places along the edge of the blank are tried so far apart."""


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
    if not trims:
        long_mm, short_mm = sorted((job.blank.length_mm, job.blank.width_mm), reverse=True)
        area = job.blank.length_mm * job.blank.width_mm
        tape = tape_n(grip.tape_share, area, long_mm, short_mm, setup.stands_mm)
        return HoldingForce(tape + grip.waste_n, _by(tape, grip.waste_n, 0.0))
    trim = build.face(file.order.face).trim
    left, low, right, top = trim.bounds
    long_mm, short_mm = sorted((right - left, top - low), reverse=True)
    tape = tape_n(grip.tape_share, float(trim.area), long_mm, short_mm, bite_mm)
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
    return Finding(
        code="grip-unsaid",
        severity=Severity.WARNING,
        message=f"Nothing says how firmly {holding.name} holds ({holding.how}), so the "
        "push of a bit cannot be compared with it.",
        remedy="Give `tape`, `clamps` or `pins` of this holding in the shop file; pull a scrap "
        "held the same way with a spring balance.",
        subjects=(Subject("holding", holding.name),),
        source=held_at(build.job),
    )


def _loose(build: Build, push: Push, holds: HoldingForce) -> Finding:
    return Finding(
        code="trim-without-tabs",
        severity=Severity.MUST_FIX,
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


def clamps_without_room(build: Build) -> Iterator[Finding]:
    """Yield a finding for each setup held by clamps with no place left for one.

    A foot is tried all along the edge of the blank, on the waste.  Where the job tells where its
    clamps stand, ``clamp_hit`` looks at them instead.
    """
    grip = grip_of(build.job.holding)
    if grip is None or not grip.clamps:
        return
    only = not grip.tape_share and not grip.pins
    for setup in build.plan.setups:
        files = [
            file
            for file in build.gcode_files
            if file.order.setup == setup.number and not file.order.bare
        ]
        if not files or keep_outs_of(build.job, setup.face, setup.number):
            continue
        feet = _feet(build, setup)
        for file in files:
            feet = _clear_of(build, file, feet)
        if not feet:
            yield _no_room(build, setup, only=only)


def _feet(build: Build, setup: Setup) -> list[shapely.Polygon]:
    """Return where a clamp's foot may stand: along the blank's edge, off what is trimmed out."""
    blank = build.job.blank
    half = CLAMP_FOOT_MM / 2.0
    across, away = blank.length_mm - half, blank.width_mm - half
    if min(across, away) < half:
        return []
    xs, ys = _steps(half, across), _steps(half, away)
    middles = {(x, y) for x in xs for y in (half, away)} | {
        (x, y) for x in (half, across) for y in ys
    }
    kept = build.face(setup.face).trim
    trimmed = build.job.outline.artwork is not None
    feet = [shapely.box(x - half, y - half, x + half, y + half) for x, y in sorted(middles)]
    return [foot for foot in feet if not (trimmed and foot.intersection(kept).area > 0.0)]


def _steps(low: float, high: float) -> list[float]:
    count = max(2, int((high - low) / STEP_MM) + 1)
    return [float(each) for each in np.linspace(low, high, count)]


def _clear_of(
    build: Build, file: GcodeFile, feet: Sequence[shapely.Polygon]
) -> list[shapely.Polygon]:
    """Return the feet that a file's bit passes by, at any height it comes lower than it crosses.

    The nut above it is left out: how high a clamp stands nobody says.
    """
    over = swept(file.program, file.order.bit)
    if over is None or not feet:
        return list(feet)
    path, _ = known_path(file, zero_mm(build, file))
    level = over.over_mm + zero_mm(build, file) - SAME_HEIGHT_MM
    low: NDArray[np.float64] = path[np.minimum(path[:, 2], path[:, 5]) < level]
    if not len(low):
        return list(feet)
    ends = np.stack([low[:, :2], low[:, 3:5]], axis=1)
    ways = [shapely.LineString(each) for each in ends]
    reach_mm = radius_mm(file.order.bit) + CLAMP_GAP_MM
    met = shapely.STRtree(ways).query(feet, predicate="dwithin", distance=reach_mm)[0]
    struck = set(met.tolist())
    return [foot for index, foot in enumerate(feet) if index not in struck]


def _no_room(build: Build, setup: Setup, *, only: bool) -> Finding:
    holding = setup.holding
    return Finding(
        code="clamps-without-room",
        severity=Severity.MUST_FIX if only else Severity.WARNING,
        message=f"Setup {setup.number} is held by {holding.how} ({holding.name}), but its "
        f"bits come low over the whole edge of the blank: nowhere are {CLAMP_FOOT_MM:g} mm by "
        f"{CLAMP_FOOT_MM:g} mm of waste left for a clamp.",
        remedy="Hold it with tape, or with stops and screws that end below the face; take a longer "
        "blank; or say with `keep clear of` where its clamps stand.",
        subjects=(Subject("holding", holding.name),),
        source=held_at(build.job),
    )


RULES = (held_too_weakly, clamps_without_room)
