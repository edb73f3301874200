"""Does no bit come near a clamp, and is there room for clamps beside what the bits sweep over?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.checks.rules.machine.file_rules import imported_line
from flushwork.core.findings import Finding, Measure, Place, Severity, Source, Subject
from flushwork.fit.grip import grip_of
from flushwork.gcode.reader.program_text import lines_with
from flushwork.gcode.swept import CLAMP_GAP_MM, SAME_HEIGHT_MM, known_from, radius_mm, swept
from flushwork.job.records import EDGES, held_at, told_at
from flushwork.process.stages import Setup
from flushwork.process.waste import keep_out_box, keep_outs_of
from flushwork.shelf.items import KeepOut
from flushwork.strata.cutting import segments
from flushwork.strata.steps import CutStep
from flushwork.toolpaths.moves import table_of
from flushwork.toolpaths.orders import GcodeFile

CLAMP_FOOT_MM: Final = 15.0
"""What the foot of a clamp covers of the waste, along and across (assumed, 10 to 25 mm)."""
STEP_MM: Final = 2.0
"""Places along the edge of the blank are tried so far apart."""

Hit = tuple[int, float, float, float]
"""A move, by its number, and where its tip meets a clamp: x, y, z in mm."""


def clamp_hit(build: Build) -> Iterator[Finding]:
    """Yield a must fix for each G-code file that drives its bit, or its nut, into a clamp."""
    for file in build.gcode_files:
        order = file.order
        for keep in keep_outs_of(build.job, order.face, order.setup):
            hit = _struck(file, keep_out_box(build.job, keep), keep, _zero_mm(build, file))
            if hit is None:
                continue
            part, (move, x_mm, y_mm, z_mm) = hit
            line = file.program.moves[move].line
            yield Finding.must_fix(
                "clamp-hit",
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
        z_mm = float(on_way.min()) + _zero_mm(build, file)
        highest = max(keeps, key=lambda keep: keep.height_mm)
        if z_mm >= highest.height_mm:
            continue
        yield Finding.warning(
            "first-way-low",
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


def _zero_mm(build: Build, file: GcodeFile) -> float:
    """Return how high a file's own Z0 lies above the wood of the face."""
    order = file.order
    if not order.bare:
        return -order.face_above_mm
    return -build.plan.setup(order.setup).stands_mm


def _struck(file: GcodeFile, box: Polygon, keep: KeepOut, zero: float) -> tuple[str, Hit] | None:
    """Return what of a file's bit and holder first comes into a clamp, and how."""
    order = file.order
    path, owners = _known_path(file, zero)
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


def _known_path(file: GcodeFile, zero: float) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
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
                yield Finding.warning(
                    "clamp-over-work",
                    message=f"{keep.name} stands on {covered.area:.1f} mm2 of the inlays of the "
                    f"{face.name}.",
                    remedy="Move it, or say in which `setups` it is there.",
                    subjects=(Subject("keep out", keep.name),),
                    source=_clamp_at(build, keep),
                    place=Place(face.name, spot.x, spot.y),
                    measure=Measure("area", float(covered.area), 0.1, "mm2"),
                )


def clamps_without_room(build: Build) -> Iterator[Finding]:
    """Yield a finding for each setup held by clamps with no place left for one.

    A foot is tried all along the edge of the blank, on the waste.  Where the job tells where its
    clamps stand, ``clamp_hit`` looks at them instead.  A wall on edge is gripped by its faces.
    """
    grip, of_box = grip_of(build.job.holding), build.job.of_box
    if grip is None or not grip.clamps or (of_box is not None and of_box.piece in EDGES):
        return
    only = not grip.tape_share and not grip.pins
    for setup in build.plan.setups:
        files = [
            file
            for file in build.gcode_files
            if file.order.setup == setup.number and not file.order.bare
        ]
        if not files or keep_outs_of(build.job, setup.face, setup.number):
            continue
        feet = _feet(build, setup)
        for file in files:
            feet = _clear_of(build, file, feet)
        if not feet:
            yield _no_room(build, setup, only=only)


def _feet(build: Build, setup: Setup) -> list[shapely.Polygon]:
    """Return where a clamp's foot may stand: along the blank's edge, off what is trimmed out."""
    blank = build.job.blank
    half = CLAMP_FOOT_MM / 2.0
    across, away = blank.length_mm - half, blank.width_mm - half
    if min(across, away) < half:
        return []
    xs, ys = _steps(half, across), _steps(half, away)
    middles = {(x, y) for x in xs for y in (half, away)} | {
        (x, y) for x in (half, across) for y in ys
    }
    kept = build.face(setup.face).trim
    trimmed = build.job.outline.artwork is not None
    feet = [shapely.box(x - half, y - half, x + half, y + half) for x, y in sorted(middles)]
    return [foot for foot in feet if not (trimmed and foot.intersection(kept).area > 0.0)]


def _steps(low: float, high: float) -> list[float]:
    count = max(2, int((high - low) / STEP_MM) + 1)
    return [float(each) for each in np.linspace(low, high, count)]


def _clear_of(
    build: Build, file: GcodeFile, feet: Sequence[shapely.Polygon]
) -> list[shapely.Polygon]:
    """Return the feet that a file's bit passes by, at any height it comes lower than it crosses.

    The nut above it is left out: how high a clamp stands nobody says.
    """
    over = swept(file.program, file.order.bit)
    if over is None or not feet:
        return list(feet)
    path, _ = _known_path(file, _zero_mm(build, file))
    level = over.over_mm + _zero_mm(build, file) - SAME_HEIGHT_MM
    low: NDArray[np.float64] = path[np.minimum(path[:, 2], path[:, 5]) < level]
    if not len(low):
        return list(feet)
    ends = np.stack([low[:, :2], low[:, 3:5]], axis=1)
    ways = [shapely.LineString(each) for each in ends]
    reach_mm = radius_mm(file.order.bit) + CLAMP_GAP_MM
    met = shapely.STRtree(ways).query(feet, predicate="dwithin", distance=reach_mm)[0]
    struck = set(met.tolist())
    return [foot for index, foot in enumerate(feet) if index not in struck]


def _no_room(build: Build, setup: Setup, *, only: bool) -> Finding:
    holding = setup.holding
    return Finding(
        code="clamps-without-room",
        severity=Severity.MUST_FIX if only else Severity.WARNING,
        message=f"Setup {setup.number} is held by {holding.how} ({holding.name}), but its "
        f"bits come low over the whole edge of the blank: nowhere are {CLAMP_FOOT_MM:g} mm by "
        f"{CLAMP_FOOT_MM:g} mm of waste left for a clamp.",
        remedy="Hold it with tape, or with stops and screws that end below the face; take a longer "
        "blank; or say with `keep clear of` where its clamps stand.",
        subjects=(Subject("holding", holding.name),),
        source=held_at(build.job),
    )


RULES = (clamp_hit, first_way_low, clamp_over_work, clamps_without_room)
