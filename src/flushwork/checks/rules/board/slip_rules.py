"""Does a number look like another number written wrong?  Nothing is ever changed silently.

The few ways a right number gets written wrong: a decimal point one place off, inches taken for
millimetres or the other way, a whole inch too many in a fraction.  (Common practice, no source:
these are the slips that shops tell of.)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from flushwork.built import Build
from flushwork.core.findings import BLANK, Finding, Measure, Severity, Subject
from flushwork.core.units.kinds import INCH_MM
from flushwork.fit.reach import Fit
from flushwork.job.records import EDGES, StrokeArt, thing_at, told_at
from flushwork.process.orders.drill_orders import hole_bit
from flushwork.shelf.items import Bit, BitKind

CLOSE = 0.04
"""Two sizes within this share of each other count as the same size."""

COMMON_SIZES_MM = (
    *(
        INCH_MM * part
        for part in (1 / 64, 1 / 32, 1 / 16, 3 / 32, 1 / 8, 3 / 16, 1 / 4, 3 / 8, 1 / 2)
    ),
    *(0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0),
)
"""Bit diameters that are commonly sold (common practice, no source)."""
LEAST_BIT_MM = 0.3
"""No shop routs wood with less (common practice, no source)."""
GREATEST_BIT_MM = 60.0
"""No small router turns more (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A likely intended value and how it came to be written otherwise."""

    meant_mm: float
    how: str


def candidates(written_mm: float) -> tuple[Slip, ...]:
    """Return what may have been meant by a length, the likeliest first."""
    found = [
        Slip(written_mm / 10.0, "a decimal point one place to the right"),
        Slip(written_mm * 10.0, "a decimal point one place to the left"),
        Slip(written_mm * INCH_MM, "inches written as mm"),
        Slip(written_mm / INCH_MM, "mm written as inches"),
    ]
    whole = int(written_mm // INCH_MM)
    rest_mm = written_mm - whole * INCH_MM
    if whole and rest_mm > 0.1:
        found.insert(0, Slip(rest_mm, f"{whole} whole inch{'es' if whole > 1 else ''} too many"))
    return tuple(found)


def slip_towards(written_mm: float, wanted_mm: float) -> Slip | None:
    """Return the slip that turns a written length into the one wanted, if there is one."""
    return next((slip for slip in candidates(written_mm) if _same(slip.meant_mm, wanted_mm)), None)


def slip_into(
    written_mm: float, low_mm: float, high_mm: float, sizes_mm: Iterable[float] = ()
) -> Slip | None:
    """Return the slip whose intended length lies between two bounds (and is a common size)."""
    sizes = tuple(sizes_mm)
    return next(
        (
            slip
            for slip in candidates(written_mm)
            if low_mm <= slip.meant_mm <= high_mm
            and (not sizes or any(_same(slip.meant_mm, size) for size in sizes))
        ),
        None,
    )


def _same(first: float, second: float) -> bool:
    return abs(first - second) <= CLOSE * max(abs(first), abs(second))


def bit_size_slips(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for bits in use whose diameter no bit has."""
    used = {file.order.bit.name for file in build.gcode_files}
    named = {bit.name for drawn in build.things for bit in drawn.thing.bits}
    for bit in build.job.shop.bits:
        if bit.kind is BitKind.V_BIT:
            continue
        if LEAST_BIT_MM <= bit.diameter_mm <= GREATEST_BIT_MM:
            continue
        slip = slip_into(bit.diameter_mm, LEAST_BIT_MM, GREATEST_BIT_MM, COMMON_SIZES_MM)
        yield Finding(
            code="bit-size-slip",
            severity=Severity.MUST_FIX if bit.name in used | named else Severity.WARNING,
            message=f"{bit.name} is given as {bit.diameter_mm:g} mm across: no router bit "
            f"is that size.{_guess(slip)}",
            remedy="Measure the bit and correct the shop file; nothing was changed for you.",
            subjects=(Subject("bit", bit.name),),
            source=thing_at(build.job, bit.name),
            measure=Measure("diameter", bit.diameter_mm, None, "mm"),
        )


def bit_against_work_slips(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where a chosen bit does not fit but a slip of its size would."""
    for fit in build.fits:
        for bit in fit.drawn.thing.bits:
            wanted_mm = _wanted_mm(fit)
            reach = fit.reach(bit)
            if wanted_mm is None or (reach is not None and reach.passes):
                continue
            slip = slip_towards(bit.diameter_mm, wanted_mm)
            if slip is not None:
                yield _work_slip(fit.drawn.subject, bit, wanted_mm, slip, build)
    for face in build.faces:
        for pattern in face.holes:
            chosen = hole_bit(build.job, pattern)
            if chosen is None or chosen.diameter_mm <= pattern.holes.diameter_mm:
                continue
            slip = slip_towards(chosen.diameter_mm, pattern.holes.diameter_mm)
            if slip is not None:
                holes = Subject("holes", pattern.holes.name)
                yield _work_slip(holes, chosen, pattern.holes.diameter_mm, slip, build)


def _wanted_mm(fit: Fit) -> float | None:
    """Return the width of the narrowest part of an inlay made of lines, where it is one."""
    drawn = fit.drawn
    if drawn.thing.seam is not None:
        return drawn.thing.seam.width_mm
    lines = [item.art.width_mm for item in drawn.thing.artwork if isinstance(item.art, StrokeArt)]
    if lines and min(lines) > 0.0:
        return min(lines)
    if not drawn.strokes.is_empty and drawn.strokes.length > 0.0:
        return float(drawn.region.area / drawn.strokes.length)
    return fit.narrowest_needed.diameter_mm if fit.narrowest_needed is not None else None


def _work_slip(subject: Subject, bit: Bit, wanted_mm: float, slip: Slip, build: Build) -> Finding:
    return Finding.must_fix(
        "bit-size-slip",
        message=f"{subject.name} wants {wanted_mm:g} mm and cannot be cut by {bit.name}, given "
        f"as {bit.diameter_mm:g} mm.{_guess(slip)}",
        remedy="Measure the bit and correct its diameter; nothing was changed for you.",
        subjects=(subject,),
        source=told_at(build.job, f"bits.{bit.name}", otherwise=build.source_of(subject)),
        measure=Measure("diameter", bit.diameter_mm, wanted_mm, "mm"),
    )


def depth_slips(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for depths beyond the blank, with what was likely meant."""
    thickness_mm = build.job.blank.thickness_mm
    deep = [
        (Subject("inlay", inlay.name), inlay.depth_mm, inlay.depth_source)
        for inlay in build.job.inlays
    ] + [
        (Subject("holes", holes.name), holes.depth_mm, holes.depth_source)
        for face in build.job.faces
        for holes in face.holes
        if not holes.through
    ]
    for subject, depth_mm, source in deep:
        if depth_mm < thickness_mm:
            continue
        slip = slip_into(depth_mm, 0.3, thickness_mm / 2.0)
        yield Finding.must_fix(
            "deeper-than-blank",
            message=f"{subject.name} is {depth_mm:g} mm deep, but the blank is only "
            f"{thickness_mm:g} mm thick.{_guess(slip)}",
            remedy="Correct the depth, or write `depth: through` for a hole that goes through.",
            subjects=(subject,),
            source=source,
            measure=Measure("depth", depth_mm, thickness_mm, "mm"),
        )


def blank_slips(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for a blank the machine cannot hold.

    A warning for an odd thickness.
    """
    blank, machine = build.job.blank, build.job.shop.machine
    for name, size_mm, room_mm in (
        ("length", blank.length_mm, machine.travel_x_mm),
        ("width", blank.width_mm, machine.travel_y_mm),
    ):
        if size_mm <= room_mm:
            continue
        slip = slip_into(size_mm, room_mm / 20.0, room_mm)
        yield Finding.must_fix(
            "blank-larger-than-machine",
            message=f"The blank's {name} is {size_mm:g} mm, but the machine moves only "
            f"{room_mm:g} mm that way.{_guess(slip)}",
            remedy="Correct the size, turn the job by a right angle, or use a smaller blank.",
            subjects=(BLANK,),
            source=blank.source,
            measure=Measure(name, size_mm, room_mm, "mm"),
        )
    least_mm = min(blank.length_mm, blank.width_mm)
    on_edge = build.job.of_box is not None and build.job.of_box.piece in EDGES
    if blank.thickness_mm > least_mm and not on_edge:
        yield Finding.warning(
            "blank-thicker-than-wide",
            message=f"The blank is {blank.thickness_mm:g} mm thick but {least_mm:g} mm across: "
            "thickness may have changed places with width, or its unit may be wrong.",
            remedy="Check the three sizes of the blank.",
            subjects=(BLANK,),
            source=blank.thickness_source,
            measure=Measure("thickness", blank.thickness_mm, least_mm, "mm"),
        )


def _guess(slip: Slip | None) -> str:
    if slip is None:
        return ""
    inches = slip.meant_mm / 25.4
    return f" It looks like {slip.how}: did you mean {slip.meant_mm:.4g} mm ({inches:.4g} in)?"


RULES = (bit_size_slips, bit_against_work_slips, depth_slips, blank_slips)
