"""Do the G-code files follow the drawing?  Exact geometry.

Path against outline, hole against place.

The replay looks at cells; here the tip's own way, as it reads back, is held against the outlines as
they were drawn, whatever the cells are.  A flat bit of radius r whose axis keeps r from an
outline cuts up to it; one that comes d nearer cuts d beyond.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.checks.paths.beside_outline import Off, beside, left_standing
from flushwork.checks.paths.exact_paths import asked_of, cut_together, on_all_places
from flushwork.checks.rules.board.look_rules import meant_region
from flushwork.checks.rules.machine.file_rules import imported_line
from flushwork.core.findings import Finding, Measure, Place, Severity
from flushwork.toolpaths.orders import GcodeFile, Work

REMEDY: Final = (
    "Do not run this file: a zero, a bit's width or a place in it differs from the drawing; a "
    "wider `cut tolerance` of the machine lets more pass."
)


def path_off_outline(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where a file cuts beyond an outline, or bores off a hole's place."""
    for file in build.gcode_files:
        asked = asked_of(build, file)
        off = beside(file, asked) if asked else None
        if off is None or off.by_mm <= file.order.machine.tolerance_mm:
            continue
        hole = off.asked.work is Work.DRILL
        yield _finding(
            build,
            file,
            off,
            "hole-off-place" if hole else "path-off-outline",
            f"bores {off.by_mm:.3f} mm off the place of its hole in {off.asked.subject}"
            if hole
            else f"cuts {off.by_mm:.3f} mm beyond the outline of {off.asked.subject}",
        )


def wall_left_standing(build: Build) -> Iterator[Finding]:
    """Yield a must fix where the files of a stage stay short of an outline they can reach."""
    for pairs in cut_together(build):
        file, asked = pairs[0]
        walls = asked.region
        if asked.work in (Work.POCKET, Work.ENGRAVE):
            drawn = next((each for each in build.things if each.thing.name == asked.subject), None)
            if drawn is not None and drawn.thing.v_bit == (asked.work is Work.ENGRAVE):
                walls = on_all_places(meant_region(build.fit(asked.subject)), file.order.places)
        off = left_standing(pairs, walls)
        if off is None:
            continue
        hole = asked.work is Work.DRILL
        yield _finding(
            build,
            file,
            off,
            "hole-off-place" if hole else "path-off-outline",
            f"leaves {off.by_mm:.3f} mm standing "
            + ("of the wall of a hole in" if hole else "inside the outline of")
            + f" {off.asked.subject}",
        )


def _finding(build: Build, file: GcodeFile, off: Off, code: str, does: str) -> Finding:
    allowed = file.order.machine.tolerance_mm
    line = file.program.moves[off.move].line if off.move >= 0 else 0
    return Finding(
        code=code,
        severity=Severity.MUST_FIX,
        message=f"{file.known_as}{f', line {line},' if line else ''} {does}; {allowed:.3f} mm is "
        "allowed.",
        remedy=REMEDY,
        subjects=(build.cut_thing(off.asked.subject),),
        source=imported_line(file, line) if line else None,
        place=Place(file.order.face, float(off.at_mm[0]), float(off.at_mm[1])),
        measure=Measure("off", off.by_mm, allowed, "mm"),
    )


RULES = (path_off_outline, wall_left_standing)
