"""Will the holes stand beside each other, take their pegs, and be drilled clean?"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot, tan
from typing import Final

from shapely import Point, STRtree

from flushwork.art.drawn import DrawnFace
from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Place, Severity, Source, Subject
from flushwork.core.units import up_mm
from flushwork.core.words import counted
from flushwork.job.records import Holes
from flushwork.process.orders.drill_orders import hole_bit
from flushwork.schedule.bit_changes import bit_lives, change_text, piece_names
from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.cutting import is_flat
from flushwork.wood.loose_stock import LOOSE_MM, TIGHT_MM, finished_hole_mm

ACROSS_SHARE: Final = 1.0
ALONG_SHARE: Final = 0.7
"""Least wood between holes in diameters, beside each other across the grain and along it (assumed,
0.5 to 1.5; a row of holes on a test strip)."""
BURNS_RPM: Final = 12000.0
"""A twist drill faster than this burns hardwood (common practice, no source)."""


def hole_against_hole(build: Build) -> Iterator[Finding]:
    """Yield a finding where holes of a face leave too little wood between them."""
    for face in build.faces:
        yield from _crowded(build, face)


def _crowded(build: Build, face: DrawnFace) -> Iterator[Finding]:
    holes = [(pattern.holes, place) for pattern in face.holes for place in pattern.places]
    if len(holes) < 2:
        return
    tree = STRtree([Point(place.x_mm, place.y_mm) for _, place in holes])
    widest = max(item.diameter_mm for item, _ in holes)
    found: list[tuple[float, float, float, Holes, float, float]] = []
    for index, (item, place) in enumerate(holes):
        near = tree.query(Point(place.x_mm, place.y_mm), "dwithin", distance=2.0 * widest)
        for other in near:
            if int(other) <= index:
                continue
            beside, there = holes[int(other)]
            dx, dy = there.x_mm - place.x_mm, there.y_mm - place.y_mm
            apart = hypot(dx, dy)
            wall = apart - (item.diameter_mm + beside.diameter_mm) / 2.0
            run = abs(dy) if build.job.blank.grain_along_x else abs(dx)
            across = (run / apart) ** 2 if apart > 0.0 else 1.0
            share = ALONG_SHARE + (ACROSS_SHARE - ALONG_SHARE) * across
            limit = share * min(item.diameter_mm, beside.diameter_mm)
            if wall < limit - 1e-6:
                middle = (place.x_mm + dx / 2.0, place.y_mm + dy / 2.0)
                found.append((wall - limit, wall, limit, item, *middle))
    if not found:
        return
    _, wall, limit, item, x_mm, y_mm = min(found, key=lambda each: each[0])
    broken = wall <= 0.0
    yield Finding(
        code="holes-too-close",
        severity=Severity.MUST_FIX if broken else Severity.WARNING,
        message=f"{counted(len(found), 'pair')} of holes of the {face.name} "
        + (
            "run into each other"
            if broken
            else f"stand too close: {wall:.2f} mm of wood, and less than {limit:.2f} mm splits"
        )
        + f"; the worst is in {item.name}.",
        remedy=f"Widen the pitch by {up_mm(limit - wall)} mm, or drill smaller holes.",
        subjects=(Subject("holes", item.name),),
        source=item.source,
        place=Place(face.name, x_mm, y_mm),
        measure=Measure("wood between", wall, limit, "mm"),
    )


def hole_in_hidden_border(build: Build) -> Iterator[Finding]:
    """Yield a warning for holes that a frame will cover."""
    for face in build.faces:
        for pattern in face.holes:
            radius = pattern.holes.diameter_mm / 2.0
            hidden = [
                place
                for place in pattern.places
                if face.visible.area < face.trim.area
                and face.trim.contains(Point(place.x_mm, place.y_mm))
                and not face.visible.contains(Point(place.x_mm, place.y_mm).buffer(radius))
            ]
            if not hidden:
                continue
            yield Finding.warning(
                "hole-in-hidden-border",
                message=f"{counted(len(hidden), 'hole')} of "
                f"{pattern.holes.name} lie in the hidden border, where the frame will cover them.",
                remedy="Move the pattern inwards, or narrow the hidden border.",
                subjects=(Subject("holes", pattern.holes.name),),
                source=pattern.holes.source,
                place=Place(face.name, hidden[0].x_mm, hidden[0].y_mm),
                measure=Measure("holes hidden", float(len(hidden)), 0.0, ""),
            )


def peg_fit(build: Build) -> Iterator[Finding]:
    """Yield findings for pegs that will be tight or loose in their finished holes."""
    for face in build.faces:
        for pattern in face.holes:
            holes = pattern.holes
            if holes.peg_mm is None:
                continue
            play = finished_hole_mm(holes, build.job.finish) - holes.peg_mm
            if TIGHT_MM <= play <= LOOSE_MM:
                continue
            tight = play < TIGHT_MM
            yield Finding(
                code="peg-tight" if tight else "peg-loose",
                severity=Severity.MUST_FIX
                if holes.peg_mm >= holes.diameter_mm
                else Severity.WARNING,
                message=f"The {holes.peg_mm:g} mm peg has {play:+.2f} mm of play in the finished "
                f"holes of {holes.name} ({holes.diameter_mm:g} mm drilled, less finish and raised "
                "grain).",
                remedy=(
                    f"Drill {up_mm(holes.diameter_mm - play + TIGHT_MM)} mm, "
                    if tight
                    else "Turn thicker pegs, "
                )
                + "and try a ladder of holes in steps of 0.05 mm on a finished test strip.",
                subjects=(Subject("holes", holes.name),),
                source=holes.source,
                measure=Measure("play", play, TIGHT_MM if tight else LOOSE_MM, "mm"),
            )


def _point_mm(bit: Bit) -> float:
    """Return how high above its tip a bit that is not flat has its full width."""
    if bit.kind is BitKind.BALL:
        return bit.radius_mm
    return (bit.radius_mm - bit.tip_mm / 2.0) / tan(bit.angle_rad / 2.0)


def hole_not_flat(build: Build) -> Iterator[Finding]:
    """Yield a warning where a pointed bit drills a hole whose floor shall be flat."""
    for face in build.faces:
        for pattern in face.holes:
            holes = pattern.holes
            bit = hole_bit(build.job, pattern)
            if bit is None or holes.through or not holes.flat_bottom or is_flat(bit):
                continue
            point_mm = _point_mm(bit)
            full_mm = max(0.0, holes.depth_mm - point_mm)
            yield Finding.warning(
                "hole-not-flat",
                message=f"The {bit.name} is pointed: the holes of {holes.name} are "
                f"{holes.diameter_mm:g} mm wide only to {full_mm:.2f} of {holes.depth_mm:g} mm, "
                "and their floor was to be flat.",
                remedy=f"Name a flat bit of at most {holes.diameter_mm:g} mm, or write `flat "
                "bottom: no` if the point may stand in the floor.",
                subjects=(Subject("holes", holes.name),),
                source=holes.source,
                measure=Measure("depth at full width", full_mm, holes.depth_mm, "mm"),
            )


def drilling_wears(build: Build) -> Iterator[Finding]:
    """Yield a note where one bit drills more holes than it stays sharp for, and when it changes."""
    for face in build.faces:
        for pattern in face.holes:
            bit = hole_bit(build.job, pattern)
            if bit is None:
                continue
            if bit.kind is BitKind.DRILL and bit.spindle_rpm > BURNS_RPM:
                yield Finding.warning(
                    "drill-burns",
                    message=f"{bit.name} turns at {bit.spindle_rpm:.0f} rpm: a drill at "
                    "router speed burns hardwood after a few holes.",
                    remedy="Give it a slower speed in the shop file, or take a small flat bit.",
                    subjects=(Subject("holes", pattern.holes.name),),
                    source=pattern.holes.source,
                    measure=Measure("speed", bit.spindle_rpm, BURNS_RPM, "rpm"),
                )
    names = piece_names(build.job)
    for life in bit_lives(build.job, build.faces):
        if not life.changes:
            continue
        yield Finding.note(
            "drilling-wears",
            message=f"{change_text(life, names)}.",
            remedy=f"Have {counted(len(life.changes), 'spare bit')} at hand; change it sooner at "
            "the first dark hole, and write how many holes it lasted into `sharp for` of the bit.",
            subjects=(Subject("bit", life.bit.name),),
            source=_first_drilled(build, life.bit),
            measure=Measure("holes", float(life.holes), float(life.life), ""),
        )


def _first_drilled(build: Build, bit: Bit) -> Source:
    return next(
        pattern.holes.source
        for face in build.faces
        for pattern in face.holes
        if hole_bit(build.job, pattern) == bit
    )


RULES = (hole_against_hole, hole_in_hidden_border, peg_fit, hole_not_flat, drilling_wears)
