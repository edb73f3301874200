"""Is there room in the waste for what shall be cut there, and on the bed between the pieces?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Subject
from flushwork.core.units import up_mm
from flushwork.process.orders.drill_orders import MARK_MM, mark_bit, recess_bit
from flushwork.process.orders.waste_cuts import blank_depth_mm, kerf_of
from flushwork.process.waste import BESIDE_MM, recesses

LEAST_GAP_MM: Final = 8.0
"""Between pieces on the bed (assumed, 6 to 30 mm: a trimming bit's run-out and its clamp)."""
LEAST_UNEVEN_MM: Final = 2.0
"""Dowels less uneven than this let the blank in end for end (assumed, 1 to 3 mm)."""


def no_room_to_locate(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where an end of the blank has no waste for its dowel or disc."""
    job = build.job
    found = recesses(job, build.faces, kerf_of(job))
    if found is None or job.locating is None:
        return
    if found.places:
        if found.uneven_mm < LEAST_UNEVEN_MM:
            yield Finding.warning(
                "located-either-way",
                message=f"The two {job.locating.by} are placed so evenly that the blank also "
                "fits end for end.",
                remedy="Mark the corner at zero on blank and spoilboard, or make one end of the "
                "waste a little longer.",
                subjects=(Subject("key", "locating"),),
                source=job.blank.source,
                measure=Measure("uneven", found.uneven_mm, LEAST_UNEVEN_MM, "mm"),
            )
        return
    least = min(found.free_mm)
    sides = ("left", "right") if job.blank.turn_about_x else ("near", "far")
    side = sides[found.free_mm.index(least)]
    yield Finding.must_fix(
        "no-room-to-locate",
        message=f"The {job.locating.diameter_mm:g} mm {job.locating.by} find no room: at the "
        f"{side} end the line the blank is flipped about has {least:.1f} mm of free waste, "
        f"and one of them needs {found.needs_mm:.1f} mm.",
        remedy="Take a longer blank, a smaller trim line or thinner ones, or move the clamp that "
        "stands there.",
        subjects=(Subject("key", "locating"),),
        source=job.blank.source,
        measure=Measure("waste", least, found.needs_mm, "mm"),
    )


def recess_uncut(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where no bit owned can bore the recesses."""
    job = build.job
    found = recesses(job, build.faces, kerf_of(job))
    if found is None or not found.places or job.locating is None or not build.plan.setups:
        return
    deep_mm = max(
        blank_depth_mm(job.locating, build.plan.setups[0].stands_mm), job.locating.board_mm
    )
    if recess_bit(job, job.locating, deep_mm) is None:
        yield Finding.must_fix(
            "no-bit-for-it",
            message=f"Nothing in the shop file can bore recesses of {job.locating.diameter_mm:g} "
            f"mm, {deep_mm:.1f} mm deep.",
            remedy="Add a flat bit with flutes that long, let them in less deep, or take "
            "thicker ones, which a wider bit bores.",
            subjects=(Subject("key", "locating"),),
            source=job.blank.source,
        )


def no_room_for_marks(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for setups whose registration marks find no room, or no bit."""
    job = build.job
    if not job.marks:
        return
    lacking = [each.number for each in build.plan.setups if not each.marks]
    if lacking:
        numbers = ", ".join(map(str, lacking))
        yield Finding.must_fix(
            "no-room-for-marks",
            message=f"The waste has no room for four registration marks, one near each corner, in "
            f"setup {numbers}: each takes {MARK_MM + 2.0 * BESIDE_MM:.1f} mm of wood beside the "
            "kerf, clamps and dowels.",
            remedy="Take a larger blank, or leave `cut registration marks` out.",
            subjects=(Subject("key", "registration marks"),),
            source=job.blank.source,
            measure=Measure("setups without", float(len(lacking)), 0.0, ""),
        )
    elif mark_bit(job, ()) is None:
        yield Finding.must_fix(
            "no-bit-for-it",
            message="Nothing in the shop file can cut registration marks: they need a V-bit or a "
            f"flat one of at most {MARK_MM:g} mm.",
            remedy="Add such a bit to the shop file.",
            subjects=(Subject("key", "registration marks"),),
            source=job.source,
        )


def pieces_overlap(build: Build) -> Iterator[Finding]:
    """Yield a must fix where pieces on the bed would overlap, or a file fits one alone."""
    job = build.job
    bed, blank = job.bed, job.blank
    if bed.pieces < 2:
        return
    gap = max(abs(bed.step_x_mm) - blank.length_mm, abs(bed.step_y_mm) - blank.width_mm)
    if gap < LEAST_GAP_MM:
        yield Finding.must_fix(
            "bed-pieces-overlap",
            message=f"The pieces on the bed lie {gap:.1f} mm apart; {LEAST_GAP_MM:g} mm are wanted "
            "between them, so that no bit that leaves one meets the next.",
            remedy=f"Make the step {up_mm(LEAST_GAP_MM - gap)} mm longer one way.",
            subjects=(Subject("key", "on the bed"),),
            source=blank.source,
            measure=Measure("gap", gap, LEAST_GAP_MM, "mm"),
        )
    for file in build.gcode_files:
        if file.order.imported is not None:
            yield Finding.must_fix(
                "bed-file-for-one",
                message=f"{file.known_as} cuts one piece, but {bed.pieces} lie on the bed.",
                remedy="Take `on the bed` out, or have the file cut every piece and tell of one.",
                subjects=(Subject("file", file.known_as),),
                source=file.order.imported.source,
            )


RULES = (
    pieces_overlap,
    no_room_to_locate,
    recess_uncut,
    no_room_for_marks,
)
