"""Is each emitted cut file safe to run, as it reads back and as the replay saw it?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from flushwork.built import Build
from flushwork.checks.rules.machine.as_cut_rules import box_of
from flushwork.core.findings import Finding, Measure, Place, Severity, Source, Subject
from flushwork.strata.surfaces import CutReport
from flushwork.toolpaths.moves import Flags, table_of
from flushwork.toolpaths.orders import CutFile

BITE_MM = 0.02
"""A rapid may touch this much of a surface by rounding before it counts as hitting it."""
REMOVED_MM3 = 0.02
"""... and must take at least this much."""
PLUNGE_SLOPE = math.tan(math.radians(30.0))
"""Steeper than this a move plunges rather than ramps (common practice, no source)."""


def reports_of(build: Build) -> Iterator[tuple[CutFile, CutReport]]:
    """Yield each cut file with what the replay saw of it."""
    reports = {report.file_name: report for report in build.replay.cuts}
    for file in build.cut_files:
        if file.file_name in reports:
            yield file, reports[file.file_name]


def unknown_words(build: Build) -> Iterator[Finding]:
    """Yield a stop for each cut file of ours with words that did not read back."""
    for file in build.cut_files:
        if not file.problems or file.order.brought is not None:
            continue
        line, text = file.problems[0]
        more = f" and {len(file.problems) - 1} more" if len(file.problems) > 1 else ""
        yield Finding(
            code="cut-file-unreadable",
            severity=Severity.STOP,
            message=f"{file.file_name}, line {line}: {text}{more}.",
            remedy="Do not run this file; correct the line, or leave that word out.",
            subjects=(Subject("file", file.file_name),),
        )


def rapid_through_material(build: Build) -> Iterator[Finding]:
    """Yield a stop for each cut file with a rapid move that hits wood or resin."""
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
    """Yield a stop where a cutter that cannot plunge is driven straight down into material."""
    for file, report in reports_of(build):
        if file.order.cutter.plunges:
            continue
        table = table_of(file.program)
        hits = _hits(report, table.drop_mm > np.maximum(table.run_mm * PLUNGE_SLOPE, 1e-9))
        if hits:
            yield _hit(
                "cutter-cannot-plunge",
                file,
                report,
                hits,
                f"drives the {file.order.cutter.name}, which cannot plunge, straight down",
                "Use a centre-cutting cutter, or an inlay wide enough for a ramp.",
            )


def feed_without_spindle(build: Build) -> Iterator[Finding]:
    """Yield a stop where material is cut with a spindle that stands still."""
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
                "Do not run this file; it wants a spindle word before its first cut.",
            )


def outside_machine(build: Build) -> Iterator[Finding]:
    """Yield a stop for cut files that need more room than the machine has."""
    for file in build.cut_files:
        machine = file.order.machine
        low, high = np.array(box_of(file.program))
        travel = (machine.travel_x_mm, machine.travel_y_mm, machine.travel_z_mm)
        for name, span_mm, room_mm in zip("XYZ", high - low, travel, strict=True):
            if span_mm > room_mm:
                yield Finding(
                    code="outside-machine",
                    severity=Severity.STOP,
                    message=f"{file.known_as} moves {span_mm:.1f} mm along {name}, but the "
                    f"machine has only {room_mm:g} mm.",
                    remedy="Use a smaller blank, or turn the job by a right angle.",
                    subjects=(Subject("file", file.file_name),),
                    source=build.job.blank.source,
                    measure=Measure(f"{name} travel", float(span_mm), room_mm, "mm"),
                )


def below_spoilboard(build: Build) -> Iterator[Finding]:
    """Yield a stop for cut files that go too far through the blank."""
    mountings = {mounting.number: mounting for mounting in build.plan.mountings}
    for file in build.cut_files:
        if file.order.bare:
            continue
        mounting = mountings[file.order.mounting]
        stands_mm = mounting.stands_mm + file.order.face_z_mm - mounting.face_z_mm
        lowest_mm = min(table_of(file.program).to_mm[:, 2].tolist(), default=0.0)
        under_mm = -lowest_mm - stands_mm
        skin_mm = file.order.machine.skin_mm
        if under_mm > skin_mm + 1e-6:
            yield Finding(
                code="below-spoilboard",
                severity=Severity.STOP,
                message=f"{file.known_as} goes {under_mm:.2f} mm below the blank, whose underside "
                f"lies {stands_mm:.2f} mm below the file's zero.",
                remedy="Check the blank's thickness and the depths of this mounting.",
                subjects=(Subject("file", file.file_name),),
                source=build.job.blank.thickness_source,
                measure=Measure("below the blank", under_mm, skin_mm, "mm"),
            )


def _hits(report: CutReport, wanted: Flags) -> list[int]:
    """Return which of the wanted moves hit material."""
    hit = wanted & (report.bite_mm > BITE_MM) & (report.removed_mm3 > REMOVED_MM3)
    return [int(index) for index in np.flatnonzero(hit)]


def _hit(
    code: str, file: CutFile, report: CutReport, hits: list[int], does: str, remedy: str
) -> Finding:
    worst = max(hits, key=lambda index: report.bite_mm[index])
    move = file.program.moves[worst]
    x_mm, y_mm = report.bite_at[worst]
    times = f" ({len(hits)} times)" if len(hits) > 1 else ""
    return Finding(
        code=code,
        severity=Severity.STOP,
        message=f"{file.known_as}, line {move.line}, {does}{times}: up to "
        f"{report.bite_mm[worst]:.2f} mm deep.",
        remedy=remedy,
        subjects=(Subject("file", file.file_name),),
        source=brought_line(file, move.line),
        place=Place(file.order.face, float(x_mm), float(y_mm)),
        measure=Measure("bite", float(report.bite_mm[worst]), BITE_MM, "mm"),
    )


def brought_line(file: CutFile, line: int) -> Source | None:
    """Return the place of a line in a file from elsewhere; None for a file of ours."""
    brought = file.order.brought
    return None if brought is None else Source(brought.name, line, 1, "")


RULES = (
    unknown_words,
    rapid_through_material,
    plunge_without_centre,
    feed_without_spindle,
    outside_machine,
    below_spoilboard,
)
