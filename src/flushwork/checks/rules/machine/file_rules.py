"""Is each emitted G-code file safe to run, as it reads back and as the replay saw it?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from flushwork.built import Build
from flushwork.checks.rules.machine.as_cut_rules import box_of
from flushwork.core.findings import Finding, Measure, Place, Source, Subject
from flushwork.strata.surfaces import CutReport
from flushwork.toolpaths.moves import Flags, table_of
from flushwork.toolpaths.orders import GcodeFile

BITE_MM = 0.02
"""A rapid may touch this much of a surface by rounding before it counts as hitting it."""
REMOVED_MM3 = 0.02
"""... and must take at least this much."""
PLUNGE_SLOPE = math.tan(math.radians(30.0))
"""Steeper than this a move plunges rather than ramps (common practice, no source)."""


def reports_of(build: Build) -> Iterator[tuple[GcodeFile, CutReport]]:
    """Yield each G-code file with what the replay saw of it."""
    reports = {report.file_name: report for report in build.replay.cuts}
    for file in build.gcode_files:
        if file.file_name in reports:
            yield file, reports[file.file_name]


def unknown_words(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for each G-code file of ours with words that did not read back."""
    for file in build.gcode_files:
        if not file.problems or file.order.imported is not None:
            continue
        line, text = file.problems[0]
        more = f" and {len(file.problems) - 1} more" if len(file.problems) > 1 else ""
        yield Finding.must_fix(
            "gcode-file-unreadable",
            message=f"{file.file_name}, line {line}: {text}{more}.",
            remedy="Do not run this file; correct the line, or leave that word out.",
            subjects=(Subject("file", file.file_name),),
        )


def rapid_through_material(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for each G-code file with a rapid move that hits wood or resin."""
    for file, report in reports_of(build):
        hits = _hits(report, table_of(file.program).rapid)
        if hits:
            yield _hit(
                "rapid-through-material",
                file,
                report,
                hits,
                "moves at full speed through material",
                "Do not run this file; raise the clear height, or report it: a file of ours must "
                "never do this.",
            )


def plunge_without_centre(build: Build) -> Iterator[Finding]:
    """Yield a must fix where a bit that cannot plunge is driven straight down."""
    for file, report in reports_of(build):
        if file.order.bit.plunges:
            continue
        table = table_of(file.program)
        hits = _hits(report, table.drop_mm > np.maximum(table.run_mm * PLUNGE_SLOPE, 1e-9))
        if hits:
            yield _hit(
                "bit-cannot-plunge",
                file,
                report,
                hits,
                f"drives the {file.order.bit.name}, which cannot plunge, straight down",
                "Use a centre-cutting bit, or an inlay wide enough for a ramp.",
            )


def feed_without_spindle(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where material is cut with a spindle that stands still."""
    for file, report in reports_of(build):
        table = table_of(file.program)
        hits = _hits(report, table.cuts & (table.rpm <= 0.0))
        if hits:
            yield _hit(
                "feed-without-spindle",
                file,
                report,
                hits,
                "cuts while the spindle stands still",
                "Do not run this file; it needs a spindle word before its first cut.",
            )


def outside_machine(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for G-code files that need more room than the machine has."""
    for file in build.gcode_files:
        machine = file.order.machine
        low, high = np.array(box_of(file.program))
        travel = (machine.travel_x_mm, machine.travel_y_mm, machine.travel_z_mm)
        for name, span_mm, room_mm in zip("XYZ", high - low, travel, strict=True):
            if span_mm > room_mm:
                yield Finding.must_fix(
                    "outside-machine",
                    message=f"{file.known_as} moves {span_mm:.1f} mm along {name}, but the "
                    f"machine has only {room_mm:g} mm.",
                    remedy="Use a smaller blank, or turn the job by a right angle.",
                    subjects=(Subject("file", file.file_name),),
                    source=build.job.blank.source,
                    measure=Measure(f"{name} travel", float(span_mm), room_mm, "mm"),
                )


def below_spoilboard(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for G-code files that go too far through the blank."""
    setups = {setup.number: setup for setup in build.plan.setups}
    for file in build.gcode_files:
        if file.order.bare:
            continue
        setup = setups[file.order.setup]
        stands_mm = setup.stands_mm + file.order.face_z_mm - setup.face_z_mm
        lowest_mm = min(table_of(file.program).to_mm[:, 2].tolist(), default=0.0)
        under_mm = -lowest_mm - stands_mm
        depth_mm = file.order.machine.spoilboard_mm
        if under_mm > depth_mm + 1e-6:
            yield Finding.must_fix(
                "below-spoilboard",
                message=f"{file.known_as} goes {under_mm:.2f} mm below the blank, whose underside "
                f"lies {stands_mm:.2f} mm below the file's zero.",
                remedy="Check the blank's thickness and the depths of this setup.",
                subjects=(Subject("file", file.file_name),),
                source=build.job.blank.thickness_source,
                measure=Measure("below the blank", under_mm, depth_mm, "mm"),
            )


def _hits(report: CutReport, wanted: Flags) -> list[int]:
    """Return which of the wanted moves hit material."""
    hit = wanted & (report.bite_mm > BITE_MM) & (report.removed_mm3 > REMOVED_MM3)
    return [int(index) for index in np.flatnonzero(hit)]


def _hit(
    code: str, file: GcodeFile, report: CutReport, hits: list[int], does: str, remedy: str
) -> Finding:
    worst = max(hits, key=lambda index: report.bite_mm[index])
    move = file.program.moves[worst]
    x_mm, y_mm = report.bite_at[worst]
    times = f" ({len(hits)} times)" if len(hits) > 1 else ""
    return Finding.must_fix(
        code,
        message=f"{file.known_as}, line {move.line}, {does}{times}: up to "
        f"{report.bite_mm[worst]:.2f} mm deep.",
        remedy=remedy,
        subjects=(Subject("file", file.file_name),),
        source=imported_line(file, move.line),
        place=Place(file.order.face, float(x_mm), float(y_mm)),
        measure=Measure("bite", float(report.bite_mm[worst]), BITE_MM, "mm"),
    )


def imported_line(file: GcodeFile, line: int) -> Source | None:
    """Return the place of a line in an imported file; None for a file of ours."""
    imported = file.order.imported
    return None if imported is None else Source(imported.name, line, 1, "")


RULES = (
    unknown_words,
    rapid_through_material,
    plunge_without_centre,
    feed_without_spindle,
    outside_machine,
    below_spoilboard,
)
