"""Can the bits owned make what is drawn?"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from shapely import MultiPolygon

from flushwork.art.drawn import DrawnInlay
from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Place, Subject
from flushwork.core.tolerances import SLOT_WIDTH_MM, VISIBLE_MM
from flushwork.fit.reach import TIGHT_MM, Fit, Reach
from flushwork.process.orders.drill_orders import facing_bit, hole_bit, trim_bit
from flushwork.process.stages import StageKind
from flushwork.shelf.equipment import BitKind
from flushwork.toolpaths.orders import EngraveCut, GcodeFile, Operation

FINEST_BIT_MM = 0.2
"""Flat bits for wood are hardly made finer (common practice, no source; from memory): finer ones
are for metal and for circuit boards, and break before they are a few tenths deep."""
LOST_SHARE = 0.01
"""Rounded corners that lose less of an inlay than this are the look of routed work (assumed,
0.5 to 3 %)."""


def bit_cannot_pass(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for everything that no bit on offer can go through."""
    for fit in build.fits:
        thing = fit.drawn.thing
        narrow = _narrowest(fit)
        if narrow is None:
            if fit.bits:
                continue
            yield Finding.must_fix(
                "bit-cannot-pass",
                message=f"No bit in the shop file can cut {thing.name}: {fit.reason}",
                remedy="Add a fitting bit to the shop file, or change the drawing.",
                subjects=(fit.drawn.subject,),
                source=thing.source,
            )
            continue
        if narrow.passes and fit.bits:
            continue
        v_bits = any(bit.kind is BitKind.V_BIT for bit in build.job.shop.bits)
        yield _blocked(fit, narrow, carves=v_bits and isinstance(fit.drawn, DrawnInlay))


def _narrowest(fit: Fit) -> Reach | None:
    tried = [fit.reach(bit) for bit in fit.bits] if fit.bits else list(fit.reaches)
    found = [reach for reach in tried if reach is not None]
    return min(found, key=lambda reach: reach.bit.diameter_mm, default=None)


def _blocked(fit: Fit, narrow: Reach, *, carves: bool) -> Finding:
    thing = fit.drawn.thing
    diameter_mm = narrow.bit.diameter_mm
    name = narrow.bit.name
    if not narrow.necks:
        return Finding.must_fix(
            "bit-cannot-pass",
            message=f"{thing.name} is nowhere as wide as the {name} ({diameter_mm:g} mm). "
            + fit.reason,
            remedy="Use a narrower bit, or draw it wider.",
            subjects=(fit.drawn.subject,),
            source=thing.source,
        )
    neck = min(narrow.necks, key=lambda item: item.width_mm)
    count = len(narrow.necks)
    places = "one place" if count == 1 else f"{count} places"
    return Finding.must_fix(
        "bit-cannot-pass",
        message=f"The {name} ({diameter_mm:g} mm) cannot pass {thing.name} at {places}; the "
        f"narrowest is {neck.width_mm:.3f} mm wide.",
        remedy=_remedy(neck.width_mm + TIGHT_MM, diameter_mm, carves=carves),
        subjects=(fit.drawn.subject,),
        source=thing.source,
        place=Place(thing.face, neck.x_mm, neck.y_mm),
        measure=Measure("width", neck.width_mm, diameter_mm - TIGHT_MM, "mm"),
    )


def _remedy(fits_mm: float, diameter_mm: float, *, carves: bool) -> str:
    """Return how a bit of ``diameter_mm`` or one of at most ``fits_mm`` comes through.

    ``carves`` says that a V-bit of the shop can engrave it.
    """
    wide = f"that place at least {ceil(100.0 * diameter_mm - 1e-9) / 100.0:.2f} mm wide"
    if fits_mm < FINEST_BIT_MM:
        way = "Engrave it with a V-bit (`engrave: yes`), draw" if carves else "Draw"
        return f"{way} {wide}, or leave it out: no flat bit for wood is made so fine."
    fits_mm = floor(100.0 * fits_mm + 1e-9) / 100.0
    return f"Use a bit of at most {fits_mm:.2f} mm, or draw {wide}."


def detail_lost(build: Build) -> Iterator[Finding]:
    """Yield a warning where corners stay visibly rounder than drawn and it is not a trifle."""
    for fit in build.fits:
        thing = fit.drawn.thing
        narrow = _narrowest(fit)
        if narrow is None or not narrow.passes or not fit.bits or narrow.deepest is None:
            continue
        area_mm2 = fit.drawn.region.area
        lost_mm2 = narrow.lost.difference(_hidden_by_seams(build, thing.name)).area
        if narrow.deepest_mm <= VISIBLE_MM or lost_mm2 <= LOST_SHARE * area_mm2:
            continue
        x_mm, y_mm = narrow.deepest
        yield Finding.warning(
            "detail-lost",
            message=f"The {narrow.bit.name} loses {lost_mm2:.2f} mm2 of {thing.name} "
            f"({100 * lost_mm2 / area_mm2:.1f} %); the deepest gap is "
            f"{narrow.deepest_mm:.2f} mm.",
            remedy="Take a narrower bit, engrave the corners with a V-bit, or draw them round.",
            subjects=(fit.drawn.subject,),
            source=thing.source,
            place=Place(thing.face, x_mm, y_mm),
            measure=Measure("deepest gap", narrow.deepest_mm, VISIBLE_MM, "mm"),
        )


def _hidden_by_seams(build: Build, name: str) -> MultiPolygon:
    """Return what seam lines cut along an inlay's edge will hide of it."""
    return united(
        [
            drawn.region
            for drawn in build.inlays
            if drawn.inlay.seam is not None and name in drawn.inlay.seam.along
        ]
    )


def flutes_too_short(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where a cut is deeper than its bit's flutes."""
    for file in build.gcode_files:
        bit = file.order.bit
        if file.order.imported is not None:
            continue
        for operation in file.order.operations:
            depth_mm = _deepest_mm(file, operation)
            if depth_mm <= bit.flute_mm + SLOT_WIDTH_MM:
                continue
            yield Finding.must_fix(
                "flutes-too-short",
                message=f"{operation.subject} is cut {depth_mm:.2f} mm deep, but the "
                f"{bit.name} has only {bit.flute_mm:g} mm of flutes: its shank would rub.",
                remedy=f"Use a bit with more than {depth_mm:.1f} mm of flutes, or cut less deep.",
                subjects=(thing := build.cut_thing(operation.subject),),
                source=build.source_of(thing),
                measure=Measure("depth", depth_mm, bit.flute_mm, "mm"),
            )


def _deepest_mm(file: GcodeFile, operation: Operation) -> float:
    """Return how deep the tip goes; an engraving's goes only as deep as its walls are apart."""
    if not isinstance(operation, EngraveCut):
        return -operation.floor_mm
    spans = [
        span
        for span in file.spans
        if (span.subject, span.work) == (operation.subject, operation.work)
    ]
    moves = [move for span in spans for move in file.program.moves[span.first : span.last + 1]]
    return -min((move.z_mm for move in moves), default=0.0)


def no_bit_for(build: Build) -> Iterator[Finding]:
    """Yield a must fix where flush milling, trimming or a hole pattern finds no bit."""
    job = build.job
    kinds = {stage.kind for stage in build.plan.stages}
    if StageKind.MILL_FLUSH in kinds and facing_bit(job) is None:
        yield _missing(Subject("stage", "flush milling"), "a flat bit", build)
    if StageKind.TRIM in kinds and trim_bit(job) is None:
        yield _missing(
            TRIM_LINE,
            f"a flat bit of 3 mm or more with flutes as long as the blank is thick "
            f"({job.blank.thickness_mm - 2 * job.allowances.surface_mm:.1f} mm)",
            build,
        )
    for face in build.faces:
        for pattern in face.holes:
            holes = pattern.holes
            bit = hole_bit(job, pattern)
            if bit is None:
                yield _missing(
                    Subject("holes", holes.name),
                    f"a bit of at most {holes.diameter_mm:g} mm that can plunge "
                    f"{holes.depth_mm:g} mm deep",
                    build,
                )
            elif bit.diameter_mm > holes.diameter_mm + SLOT_WIDTH_MM:
                yield Finding.must_fix(
                    "hole-bit-too-wide",
                    message=f"The {bit.name} ({bit.diameter_mm:g} mm) is wider than the "
                    f"holes of {holes.name} ({holes.diameter_mm:g} mm).",
                    remedy=f"Name a bit of at most {holes.diameter_mm:g} mm.",
                    subjects=(Subject("holes", holes.name),),
                    source=holes.source,
                    measure=Measure("diameter", bit.diameter_mm, holes.diameter_mm, "mm"),
                )


def _missing(subject: Subject, wanted: str, build: Build) -> Finding:
    return Finding.must_fix(
        "no-bit-for-it",
        message=f"Nothing in the shop file can do the work for {subject.name}: it needs {wanted}.",
        remedy="Add such a bit to the shop file, or change the job.",
        subjects=(subject,),
        source=build.source_of(subject),
    )


RULES = (bit_cannot_pass, detail_lost, flutes_too_short, no_bit_for)
