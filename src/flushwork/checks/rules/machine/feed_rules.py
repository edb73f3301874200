"""Does each G-code file ask of its bit what it stands: feed, reach, hours?"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from math import ceil, pi
from typing import Final

import numpy as np

from flushwork.built import Build
from flushwork.checks.rules.machine.file_rules import imported_line, reports_of
from flushwork.core.findings import Finding, Measure, Place, Subject
from flushwork.core.units import up_mm
from flushwork.core.units.kinds import HOUR_S
from flushwork.core.words import counted
from flushwork.job.records import Job, thing_at
from flushwork.shelf.equipment import UNMARKED, edge_m_s
from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.surfaces import CutReport
from flushwork.toolpaths.moves import Flags, MoveKind, table_of
from flushwork.toolpaths.orders import GcodeFile, Work
from flushwork.toolpaths.speeds import operation_feeds

CHIP_SHARE: Final = 1.5
"""A chip this much thicker than the bit's own breaks small bits (assumed, 1.3 to 2)."""
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
FINE_MM: Final = 1.6
FINE_LIFE_H, LIFE_H = 2.0, 6.0
"""Hours of cutting after which a bit of carbide is dull in hardwood, one under 1.6 mm and a
stouter one (assumed, 0.5 to 5 and 2 to 15; the bit's life in the shop file's prices, counted,
replaces it)."""
HOLDER_MM: Final = 1.0
"""A holder that comes nearer to the face than this is too near (assumed, 0.5 to 3 mm)."""


def _cutting(file: GcodeFile, report: CutReport) -> Flags:
    """Return which moves of a file cut more than a graze."""
    return table_of(file.program).cuts & (report.removed_mm3 > REMOVED_MM3)


def feed_too_fast(build: Build) -> Iterator[Finding]:
    """Yield a must fix for G-code files whose chips are thicker than the bit stands."""
    for file, report in reports_of(build):
        bit = file.order.bit
        table = table_of(file.program)
        fed = _cutting(file, report) & (table.rpm > 0.0) & (table.feed_mm_min > 0.0)
        if not fed.any():
            continue
        chips = np.zeros(len(fed))
        chips[fed] = table.feed_mm_min[fed] / (table.rpm[fed] * bit.flutes)
        index = int(np.argmax(chips))
        chip, move = float(chips[index]), file.program.moves[index]
        if chip <= CHIP_SHARE * bit.chip_mm:
            continue
        first = file.order.operations[0]
        right = operation_feeds(first, file.order.machine).feed_mm_min
        x_mm, y_mm = report.bite_at[index]
        yield Finding.must_fix(
            "feed-too-fast",
            message=f"{file.known_as}, line {move.line}, feeds the {bit.name} "
            f"{move.feed_mm_min:.0f} mm/min at {move.spindle_rpm:.0f} rpm: chips of {chip:.3f} mm, "
            f"and it takes at most {bit.chip_mm:g} mm.",
            remedy=f"Do not run this file; about {right:.0f} mm/min is right.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, move.line),
            place=Place(file.order.face, float(x_mm), float(y_mm)),
            measure=Measure("chip", chip, CHIP_SHARE * bit.chip_mm, "mm"),
        )


def pass_too_deep(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for G-code files that take more at once than their bit stands."""
    for file, report in reports_of(build):
        bit = file.order.bit
        works = {operation.work for operation in file.order.operations}
        if works & {Work.DRILL, Work.MILL_FLUSH}:
            continue
        proud = RESIN_PASS_MM if any(item.resin for item in file.order.operations) else 0.0
        limit = PASS_SHARE * bit.pass_mm + PASS_MM + proud
        run_mm = np.maximum(table_of(file.program).run_mm, bit.diameter_mm)
        bites = report.removed_mm3 / (bit.diameter_mm * run_mm)
        bites = np.where(_cutting(file, report), bites, 0.0)
        index = int(np.argmax(bites)) if len(bites) else -1
        if index < 0 or bites[index] <= limit:
            continue
        bite, move = float(bites[index]), file.program.moves[index]
        x_mm, y_mm = report.bite_at[index]
        yield Finding.must_fix(
            "pass-too-deep",
            message=f"{file.known_as}, line {move.line}, takes {bite:.2f} mm across its width "
            f"with the {bit.name}, which takes at most {bit.pass_mm:g} mm a pass.",
            remedy="Do not run this file: a depth is wrong in it, or a pass is missing.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, move.line),
            place=Place(file.order.face, float(x_mm), float(y_mm)),
            measure=Measure("bite", bite, limit, "mm"),
        )


def bored_too_steeply(build: Build) -> Iterator[Finding]:
    """Yield a must fix for imported hole files that sink too deep in one go or one turn."""
    for file, report in reports_of(build):
        order, bit = file.order, file.order.bit
        drills = any(operation.work is Work.DRILL for operation in order.operations)
        if order.imported is None or not drills or bit.kind is BitKind.DRILL:
            continue
        cuts = _cutting(file, report)
        deepest, worst, limit = 0.0, -1, 0.0
        z_mm, sunk = file.program.start[2], 0.0
        for index, move in enumerate(file.program.moves):
            down = z_mm - move.z_mm
            z_mm = move.z_mm
            turns = abs(move.turn_rad) / (2.0 * pi)
            straight = move.kind is MoveKind.FEED and down > 0.0 and bool(cuts[index])
            sunk = sunk + down if straight else 0.0
            if move.kind is MoveKind.ARC and turns > 0.0 and cuts[index]:
                each, most = down / max(1.0, turns), PASS_SHARE * bit.pass_mm + PASS_MM
            else:
                each, most = sunk, PASS_SHARE * max(bit.pass_mm, bit.diameter_mm) + PASS_MM
            if each > most and each > deepest:
                deepest, worst, limit = each, index, most
        if worst < 0:
            continue
        move = file.program.moves[worst]
        turning = move.kind is MoveKind.ARC
        yield Finding.must_fix(
            "pass-too-deep",
            message=f"{file.known_as}, line {move.line}, sinks {deepest:.2f} mm "
            f"{'in one turn' if turning else 'straight down in one go'} with the {bit.name}; "
            f"at most {limit:.2f} mm are right for it.",
            remedy="Do not run this file: have it wind down in more turns, or peck.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, move.line),
            place=Place(order.face, move.x_mm, move.y_mm),
            measure=Measure("sinks", deepest, limit, "mm"),
        )


def spindle_out_of_range(build: Build) -> Iterator[Finding]:
    """Yield a must fix for G-code files that ask for a speed the spindle has not got."""
    for file in build.gcode_files:
        machine = file.order.machine
        asked = np.unique(table_of(file.program).rpm)
        wrong = [
            float(rpm)
            for rpm in asked[asked > 0.0]
            if not machine.spindle_min_rpm - 1.0 <= rpm <= machine.spindle_max_rpm + 1.0
        ]
        if wrong:
            yield Finding.must_fix(
                "spindle-out-of-range",
                message=f"{file.known_as} asks for {wrong[0]:.0f} rpm; the machine turns "
                f"{machine.spindle_min_rpm:.0f} to {machine.spindle_max_rpm:.0f} rpm.",
                remedy="Do not run this file.",
                subjects=(Subject("file", file.file_name),),
                measure=Measure("spindle", wrong[0], machine.spindle_max_rpm, "rpm"),
            )


def bit_over_speed(build: Build) -> Iterator[Finding]:
    """Yield a must fix for G-code files that turn their bit faster than it may turn."""
    for file in build.gcode_files:
        bit = file.order.bit
        speeds = table_of(file.program).rpm
        rpm, most = float(speeds.max(initial=0.0)), bit.greatest_rpm
        if rpm <= most:
            continue
        line = file.program.moves[int(np.argmax(speeds))].line
        rule = "as marked on it" if bit.marked_rpm > 0.0 else UNMARKED
        yield Finding.must_fix(
            "bit-over-speed",
            message=f"{file.known_as} turns the {bit.name}, {bit.diameter_mm:g} mm wide, at "
            f"{rpm:.0f} rpm: {edge_m_s(bit.diameter_mm, rpm):.0f} m/s at its edge, and "
            f"{most:.0f} rpm is the most {rule}.",
            remedy=f"Give it a `spindle` of at most {most:.0f} rpm, less if it is long, thin or "
            "one-edged, or write the number marked on it as `greatest speed`. A machine that "
            "cannot turn so slowly must not run it. It cannot be accepted.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, line) or thing_at(build.job, bit.name),
            measure=Measure("spindle", rpm, most, "rpm"),
        )


def other_bit_called(build: Build) -> Iterator[Finding]:
    """Yield a must fix for G-code files that call for another bit than they were made for."""
    for file in build.gcode_files:
        number = file.order.bit.number
        if file.order.imported is not None:
            continue
        wrong = next((call for call in _calls(file.text) if call[1] != number), None)
        if wrong is not None:
            line, called = wrong
            yield Finding.must_fix(
                "other-bit-called",
                message=f"{file.known_as}, line {line}, calls for bit {called}, but it "
                f"was made for bit {number}, the {file.order.bit.name}.",
                remedy="Do not run this file.",
                subjects=(Subject("file", file.file_name),),
                measure=Measure("bit", float(called), float(number), ""),
            )


def _calls(text: str) -> Iterator[tuple[int, int]]:
    """Yield the lines of a G-code file that call for a bit, each with its number."""
    for line, words in enumerate(text.splitlines(), start=1):
        if "T" in words or "t" in words:
            for found in _TOOL.findall(_REMARK.sub("", words)):
                yield line, int(found)


def cutting_h(job: Job, gcode_files: Iterable[GcodeFile]) -> dict[str, tuple[Bit, float]]:
    """Return the bits of a run, drills left out, each with the hours it cuts in all pieces."""
    pieces = job.pieces + job.test_pieces
    found: dict[str, tuple[Bit, float]] = {}
    for file in gcode_files:
        bit = file.order.bit
        if bit.kind is BitKind.DRILL or not file.order.operations:
            continue
        _, hours = found.get(bit.name, (bit, 0.0))
        found[bit.name] = (bit, hours + pieces * file.cut_s / HOUR_S)
    return found


def life_h(job: Job, bit: Bit) -> float:
    """Return after how many hours of cutting a bit is dull: as counted, or as assumed."""
    prices = job.shop.prices
    counted = {each.bit: each.life_h for each in prices.bits} if prices is not None else {}
    return counted.get(bit.name, FINE_LIFE_H if bit.diameter_mm < FINE_MM else LIFE_H)


def bit_wears(build: Build) -> Iterator[Finding]:
    """Yield a note for each bit that cuts longer in this run than it stays sharp."""
    for name, (bit, hours) in cutting_h(build.job, build.gcode_files).items():
        sharp_h = life_h(build.job, bit)
        if hours <= sharp_h:
            continue
        yield Finding.note(
            "bit-wears",
            message=f"The {name} cuts for {hours:.1f} h in this run, and is dull after about "
            f"{sharp_h:g} h: its slots grow narrower and their edges furry.",
            remedy=f"Have {counted(ceil(hours / sharp_h) - 1, 'spare bit')} at hand, and touch off "
            "after each change.",
            subjects=(Subject("bit", name),),
            source=build.source_of(build.cut_thing(_first_cut_by(build, name))),
            measure=Measure("cutting", hours, sharp_h, "h"),
        )


def _first_cut_by(build: Build, bit: str) -> str:
    return next(
        file.order.operations[0].subject
        for file in build.gcode_files
        if file.order.bit.name == bit and file.order.operations
    )


def holder_touches(build: Build) -> Iterator[Finding]:
    """Yield a must fix where a bit sinks so deep that its holder comes down on the face."""
    told: set[tuple[str, str]] = set()
    for file in build.gcode_files:
        bit = file.order.bit
        for operation in file.order.operations:
            deep = -operation.floor_mm
            if operation.work is Work.MILL_FLUSH or deep <= bit.reach_mm - HOLDER_MM:
                continue
            if (operation.subject, bit.name) in told:
                continue
            told.add((operation.subject, bit.name))
            yield Finding.must_fix(
                "holder-touches",
                message=f"{operation.subject} is cut {deep:.1f} mm deep, but the {bit.name} "
                f"stands out of its holder by {bit.reach_mm:g} mm: the holder would come down "
                "on the face.",
                remedy=f"Let it stand out by {up_mm(deep + HOLDER_MM, 1)} mm or more (`reach` in "
                "the shop file; it bends more then), take a longer bit, or cut less deep.",
                subjects=(thing := build.cut_thing(operation.subject),),
                source=build.source_of(thing),
                measure=Measure("depth", deep, bit.reach_mm - HOLDER_MM, "mm"),
            )


RULES = (
    feed_too_fast,
    pass_too_deep,
    bored_too_steeply,
    spindle_out_of_range,
    bit_over_speed,
    other_bit_called,
    bit_wears,
    holder_touches,
)
