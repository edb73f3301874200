"""Does each cut file ask of its cutter what the cutter stands?"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from flushwork.findings import Finding, Measure, Place, Severity
from flushwork.proof.case import Case
from flushwork.proof.cut_rules import brought_line, run_mm
from flushwork.strata.board import CutReport
from flushwork.toolpaths.feeds import operation_feeds
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import CutFile, Work

CHIP_SHARE: Final = 1.5
"""A chip this much thicker than the cutter's own breaks small cutters (assumed, 1.3 to 2)."""
PASS_SHARE: Final = 1.3
"""... and so does a pass this much deeper than its own (assumed, 1.2 to 1.6)."""
PASS_MM: Final = 0.15
"""... beyond what heights wander by."""
RESIN_PASS_MM: Final = 0.6
"""A bite may reach this much higher where resin stands proud of the face."""
REMOVED_MM3: Final = 0.05
"""Less than this is a graze."""

_TOOL: Final = re.compile(r"(?<![A-Za-z])T\s*(\d+)", re.IGNORECASE)
_REMARK: Final = re.compile(r"\([^)]*\)|;.*")


def _reports(case: Case) -> Iterator[tuple[CutFile, CutReport]]:
    reports = {report.file_name: report for report in case.replay.cuts}
    for file in case.cut_files:
        if file.file_name in reports:
            yield file, reports[file.file_name]


def _cutting(file: CutFile, report: CutReport) -> Iterator[tuple[int, Move]]:
    for index, move in enumerate(file.program.moves):
        if move.kind in (MoveKind.FEED, MoveKind.ARC) and report.removed_mm3[index] > REMOVED_MM3:
            yield index, move


def feed_too_fast(case: Case) -> Iterator[Finding]:
    """Yield a stop for cut files that push their cutter through thicker chips than it stands."""
    for file, report in _reports(case):
        cutter = file.order.cutter
        worst: tuple[float, Move, int] | None = None
        for index, move in _cutting(file, report):
            if move.spindle_rpm <= 0.0 or move.feed_mm_min <= 0.0:
                continue
            chip = move.feed_mm_min / (move.spindle_rpm * cutter.flutes)
            if worst is None or chip > worst[0]:
                worst = (chip, move, index)
        if worst is None or worst[0] <= CHIP_SHARE * cutter.chip_mm:
            continue
        chip, move, index = worst
        first = file.order.operations[0]
        right = operation_feeds(first, file.order.machine).feed_mm_min
        x_mm, y_mm = report.bite_at[index]
        yield Finding(
            code="feed-too-fast",
            severity=Severity.STOP,
            message=f"{file.known_as}, line {move.line}, feeds the {cutter.name} "
            f"{move.feed_mm_min:.0f} mm/min at {move.spindle_rpm:.0f} rpm: chips of {chip:.3f} mm, "
            f"and it stands {cutter.chip_mm:g} mm.",
            remedy=f"Do not run this file; about {right:.0f} mm/min is right.",
            subject=file.file_name,
            source=brought_line(file, move.line),
            place=Place(file.order.face, float(x_mm), float(y_mm)),
            measure=Measure("chip", chip, CHIP_SHARE * cutter.chip_mm, "mm"),
        )


def pass_too_deep(case: Case) -> Iterator[Finding]:
    """Yield a stop for cut files that take more at once than their cutter stands."""
    for file, report in _reports(case):
        cutter = file.order.cutter
        works = {operation.work for operation in file.order.operations}
        if works & {Work.DRILL, Work.LEVEL}:
            continue
        proud = RESIN_PASS_MM if any(item.resin for item in file.order.operations) else 0.0
        limit = PASS_SHARE * cutter.pass_mm + PASS_MM + proud
        lengths = _lengths_mm(file)
        deep = [
            (
                float(report.removed_mm3[index])
                / (cutter.diameter_mm * max(lengths[index], cutter.diameter_mm)),
                index,
                move,
            )
            for index, move in _cutting(file, report)
        ]
        if not deep:
            continue
        bite, index, move = max(deep, key=lambda item: item[0])
        if bite <= limit:
            continue
        x_mm, y_mm = report.bite_at[index]
        yield Finding(
            code="pass-too-deep",
            severity=Severity.STOP,
            message=f"{file.known_as}, line {move.line}, takes {bite:.2f} mm across its width "
            f"with the {cutter.name}, which stands {cutter.pass_mm:g} mm.",
            remedy="Do not run this file: a depth is wrong in it, or a pass is missing.",
            subject=file.file_name,
            source=brought_line(file, move.line),
            place=Place(file.order.face, float(x_mm), float(y_mm)),
            measure=Measure("bite", bite, limit, "mm"),
        )


def _lengths_mm(file: CutFile) -> list[float]:
    """Return how far each move travels in plan."""
    found: list[float] = []
    x_mm, y_mm, _ = file.program.start
    for move in file.program.moves:
        if move.kind is MoveKind.DWELL:
            found.append(0.0)
            continue
        found.append(run_mm(move, x_mm, y_mm))
        x_mm, y_mm = move.x_mm, move.y_mm
    return found


def spindle_out_of_range(case: Case) -> Iterator[Finding]:
    """Yield a stop for cut files that ask the spindle for a speed the machine has not got."""
    for file in case.cut_files:
        machine = file.order.machine
        asked = {move.spindle_rpm for move in file.program.moves if move.spindle_rpm > 0.0}
        wrong = [
            rpm
            for rpm in asked
            if not machine.spindle_min_rpm - 1.0 <= rpm <= machine.spindle_max_rpm + 1.0
        ]
        if wrong:
            yield Finding(
                code="spindle-out-of-range",
                severity=Severity.STOP,
                message=f"{file.known_as} asks for {wrong[0]:.0f} rpm; the machine turns "
                f"{machine.spindle_min_rpm:.0f} to {machine.spindle_max_rpm:.0f} rpm.",
                remedy="Do not run this file.",
                subject=file.file_name,
                measure=Measure("spindle", wrong[0], machine.spindle_max_rpm, "rpm"),
            )


def other_cutter_called(case: Case) -> Iterator[Finding]:
    """Yield a stop for cut files that call for another cutter than they were made for."""
    for file in case.cut_files:
        number = file.order.cutter.number
        if file.order.brought is not None:
            continue
        for line, text in enumerate(file.text.splitlines(), start=1):
            called = [int(found) for found in _TOOL.findall(_REMARK.sub("", text))]
            wrong = [found for found in called if found != number]
            if wrong:
                yield Finding(
                    code="other-cutter-called",
                    severity=Severity.STOP,
                    message=f"{file.known_as}, line {line}, calls for cutter {wrong[0]}, but it "
                    f"was made for cutter {number}, the {file.order.cutter.name}.",
                    remedy="Do not run this file.",
                    subject=file.file_name,
                    measure=Measure("cutter", float(wrong[0]), float(number), ""),
                )
                break


RULES = (feed_too_fast, pass_too_deep, spindle_out_of_range, other_cutter_called)
