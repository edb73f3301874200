"""Is there room in the waste for what shall be cut there, and does nothing run into a clamp?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.checks.rules.machine.file_rules import imported_line
from flushwork.core.findings import Finding, Measure, Place, Severity, Source, Subject
from flushwork.core.units import up_mm
from flushwork.gcode.reader.program_text import lines_with
from flushwork.gcode.swept import CLAMP_GAP_MM, known_from, radius_mm
from flushwork.job.records import held_at, told_at
from flushwork.process.orders.drill_orders import MARK_MM, mark_bit, recess_bit
from flushwork.process.orders.waste_cuts import blank_depth_mm, kerf_of
from flushwork.process.waste import BESIDE_MM, keep_out_box, keep_outs_of, recesses
from flushwork.shelf.items import KeepOut
from flushwork.strata.cutting import segments
from flushwork.strata.steps import CutStep
from flushwork.toolpaths.moves import table_of
from flushwork.toolpaths.orders import GcodeFile

LEAST_GAP_MM: Final = 8.0
"""Between pieces on the bed (assumed, 6 to 30 mm: a trimming bit's run-out and its clamp)."""
LEAST_UNEVEN_MM: Final = 2.0
"""Dowels less uneven than this let the blank in end for end (assumed, 1 to 3 mm)."""
Hit = tuple[int, float, float, float]


def no_room_to_locate(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where an end of the blank has no waste for its dowel or disc."""
    job = build.job
    found = recesses(job, build.faces, kerf_of(job))
    if found is None or job.locating is None:
        return
    if found.places:
        if found.uneven_mm < LEAST_UNEVEN_MM:
            yield Finding(
                code="located-either-way",
                severity=Severity.WARNING,
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
    yield Finding(
        code="no-room-to-locate",
        severity=Severity.MUST_FIX,
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
        yield Finding(
            code="no-bit-for-it",
            severity=Severity.MUST_FIX,
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
        yield Finding(
            code="no-room-for-marks",
            severity=Severity.MUST_FIX,
            message=f"The waste has no room for four registration marks, one near each corner, in "
            f"setup {numbers}: each takes {MARK_MM + 2.0 * BESIDE_MM:.1f} mm of wood beside the "
            "kerf, clamps and dowels.",
            remedy="Take a larger blank, or leave `cut registration marks` out.",
            subjects=(Subject("key", "registration marks"),),
            source=job.blank.source,
            measure=Measure("setups without", float(len(lacking)), 0.0, ""),
        )
    elif mark_bit(job, ()) is None:
        yield Finding(
            code="no-bit-for-it",
            severity=Severity.MUST_FIX,
            message="Nothing in the shop file can cut registration marks: they need a V-bit or a "
            f"flat one of at most {MARK_MM:g} mm.",
            remedy="Add such a bit to the shop file.",
            subjects=(Subject("key", "registration marks"),),
            source=job.source,
        )


def clamp_hit(build: Build) -> Iterator[Finding]:
    """Yield a must fix for each G-code file that drives its bit, or its nut, into a clamp."""
    for file in build.gcode_files:
        order = file.order
        for keep in keep_outs_of(build.job, order.face, order.setup):
            hit = _struck(file, keep_out_box(build.job, keep), keep, zero_mm(build, file))
            if hit is None:
                continue
            part, (move, x_mm, y_mm, z_mm) = hit
            line = file.program.moves[move].line
            yield Finding(
                code="clamp-hit",
                severity=Severity.MUST_FIX,
                message=f"{file.known_as}, line {line}, drives {part}"
                f"{order.bit.name} into {keep.name}: it comes there "
                f"{keep.height_mm - z_mm:.1f} mm lower than {keep.name} stands "
                f"({keep.height_mm:g} mm above the face).",
                remedy="Move the clamp, take a lower one, let the bit stand out further, or "
                "raise the clear height above it.",
                subjects=(Subject("keep out", keep.name),),
                source=imported_line(file, line) or _clamp_at(build, keep),
                place=Place(order.face, x_mm, y_mm),
                measure=Measure("below its top", keep.height_mm - z_mm, 0.0, "mm"),
            )


def first_way_low(build: Build) -> Iterator[Finding]:
    """Yield a warning for each G-code file that goes to its first place lower than a clamp stands.

    From where it goes there nobody knows.  One that has not said how high it is then is told of by
    ``gcode-file-leaves-open``.
    """
    for file in build.gcode_files:
        order, known = file.order, known_from(file.program)
        table = table_of(file.program)
        keeps = keep_outs_of(build.job, order.face, order.setup)
        if not keeps or known >= len(table.rapid) or not table.rapid[known]:
            continue
        line = file.program.moves[known].line
        if next((number for number, _ in lines_with(file.text, "z")), line + 1) > line:
            continue
        on_way = table.to_mm[max(known - 1, 0) : known + 1, 2]
        z_mm = float(on_way.min()) + zero_mm(build, file)
        highest = max(keeps, key=lambda keep: keep.height_mm)
        if z_mm >= highest.height_mm:
            continue
        yield Finding(
            code="first-way-low",
            severity=Severity.WARNING,
            message=f"{file.known_as}, line {line}, goes to its first place {z_mm:.1f} mm above "
            f"the face, and {highest.name} stands {highest.height_mm:g} mm above it: whether the "
            "bit meets it depends on where the spindle stands when the file is started.",
            remedy="Lift higher than all that holds the work before the first X or Y of the file; "
            "else bring the spindle over the work, higher than that, before you start it.",
            subjects=(Subject("file", file.known_as),),
            source=imported_line(file, line) or _clamp_at(build, highest),
            measure=Measure("first way", z_mm, highest.height_mm, "mm"),
        )


def _clamp_at(build: Build, keep: KeepOut) -> Source:
    """Return where the job, or else its holding, speaks of a clamp."""
    return told_at(build.job, f"keep clear of.{keep.name}", otherwise=held_at(build.job))


def zero_mm(build: Build, file: GcodeFile) -> float:
    """Return how high a file's own Z0 lies above the wood of the face."""
    order = file.order
    if not order.bare:
        return -order.face_above_mm
    return -build.plan.setup(order.setup).stands_mm


def _struck(file: GcodeFile, box: Polygon, keep: KeepOut, zero: float) -> tuple[str, Hit] | None:
    """Return what of a file's bit and holder first comes into a clamp, and how."""
    order = file.order
    path, owners = known_path(file, zero)
    parts = (
        ("the ", 0.0, radius_mm(order.bit)),
        ("the holder of the ", order.bit.reach_mm, order.machine.holder_mm / 2.0),
    )
    for part, above_mm, wide_mm in parts:
        raised = path + np.array((0.0, 0.0, above_mm, 0.0, 0.0, above_mm))
        hit = _met(raised, owners, box, keep.height_mm, wide_mm + CLAMP_GAP_MM)
        if hit is not None:
            return part, hit
    return None


def known_path(file: GcodeFile, zero: float) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return a file's ways as ``segments`` does, by the heights of a zero that lies ``zero`` high.

    The way to a file's first place is not known; only where it ends is looked at.
    """
    order = file.order
    ran = CutStep(order.face, file.file_name, file.program, order.bit, order.origin_mm, zero)
    path, owners = segments(ran)
    known = known_from(file.program)
    return path[owners >= known], owners[owners >= known]


def _met(
    path: NDArray[np.float64],
    owners: NDArray[np.int64],
    box: Polygon,
    height_mm: float,
    reach_mm: float,
) -> Hit | None:
    """Return the first move that comes nearer to a box than its reach, where, and how high."""
    if not len(path):
        return None
    low = _lowered(path, height_mm)
    path, owners = path[low], owners[low]
    parts = _below(path, height_mm)
    ends = np.stack([parts[:, :2], parts[:, 3:5]], axis=1)
    lines = [LineString(each) for each in ends]
    struck = np.flatnonzero(shapely.distance(lines, box) < reach_mm)
    if not struck.size:
        return None
    first = int(struck[0])
    spot = shapely.get_coordinates(shapely.shortest_line(lines[first], box))[0]
    lowest = float(min(parts[first, 2], parts[first, 5]))
    return int(owners[first]), float(spot[0]), float(spot[1]), lowest


def _lowered(path: NDArray[np.float64], height_mm: float) -> NDArray[np.bool_]:
    lowest: NDArray[np.bool_] = np.minimum(path[:, 2], path[:, 5]) < height_mm
    return lowest


def _below(path: NDArray[np.float64], height_mm: float) -> NDArray[np.float64]:
    """Return segments that dip below a height, cut off where they are above it."""
    parts = path.copy()
    for near, far in ((0, 3), (3, 0)):
        above = parts[:, near + 2] > height_mm
        rise = parts[above, near + 2] - parts[above, far + 2]
        share = ((height_mm - parts[above, far + 2]) / rise)[:, None]
        ends = parts[above, far : far + 3]
        parts[above, near : near + 3] = ends + share * (parts[above, near : near + 3] - ends)
    return parts


def clamp_over_work(build: Build) -> Iterator[Finding]:
    """Yield a warning for clamps that stand on what is to be worked."""
    for keep in build.job.keep_outs:
        for face in build.faces:
            if keep.face not in ("", face.name):
                continue
            box = keep_out_box(build.job, keep)
            covered = united([item.region for item in face.inlays]).intersection(box)
            if covered.area > 0.1:
                spot = covered.representative_point()
                yield Finding(
                    code="clamp-over-work",
                    severity=Severity.WARNING,
                    message=f"{keep.name} stands on {covered.area:.1f} mm2 of the inlays of the "
                    f"{face.name}.",
                    remedy="Move it, or say in which `setups` it is there.",
                    subjects=(Subject("keep out", keep.name),),
                    source=_clamp_at(build, keep),
                    place=Place(face.name, spot.x, spot.y),
                    measure=Measure("area", float(covered.area), 0.1, "mm2"),
                )


def pieces_overlap(build: Build) -> Iterator[Finding]:
    """Yield a must fix where pieces on the bed would overlap, or a file fits one alone."""
    job = build.job
    bed, blank = job.bed, job.blank
    if bed.pieces < 2:
        return
    gap = max(abs(bed.step_x_mm) - blank.length_mm, abs(bed.step_y_mm) - blank.width_mm)
    if gap < LEAST_GAP_MM:
        yield Finding(
            code="bed-pieces-overlap",
            severity=Severity.MUST_FIX,
            message=f"The pieces on the bed lie {gap:.1f} mm apart; {LEAST_GAP_MM:g} mm are wanted "
            "between them, so that no bit that leaves one meets the next.",
            remedy=f"Make the step {up_mm(LEAST_GAP_MM - gap)} mm longer one way.",
            subjects=(Subject("key", "on the bed"),),
            source=blank.source,
            measure=Measure("gap", gap, LEAST_GAP_MM, "mm"),
        )
    for file in build.gcode_files:
        if file.order.imported is not None:
            yield Finding(
                code="bed-file-for-one",
                severity=Severity.MUST_FIX,
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
    clamp_hit,
    first_way_low,
    clamp_over_work,
)
