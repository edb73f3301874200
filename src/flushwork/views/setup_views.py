"""The card of each setup: how the blank lies, where zero is, what runs in which order."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely import MultiPolygon

from flushwork.art.regions import many
from flushwork.gcode.swept import swept
from flushwork.job.records import Job
from flushwork.process.orders.drill_orders import hole_bit
from flushwork.process.stages import Setup, StageKind
from flushwork.process.tape import tape_plan
from flushwork.process.waste import SUBJECT, keep_outs_of, stop_boxes
from flushwork.process.waste import keep_out_box as clamp_box
from flushwork.schedule.bit_changes import bit_lives, change_text, piece_names
from flushwork.shelf.items import LOCATED_BY, Bit, BitKind
from flushwork.toolpaths.moves import Program, table_of
from flushwork.toolpaths.orders import (
    DrillCut,
    EngraveCut,
    GcodeFile,
    HangerCut,
    LevelCut,
    LineCut,
    PocketCut,
    TrimCut,
    Work,
)
from flushwork.views.book_records import Fact, GcodeFileView, SetupView
from flushwork.views.context import ViewContext
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.face_drawings import CutHere, setup_drawing
from flushwork.views.drawing.svg import edges
from flushwork.views.figures import (
    NO_BREAK,
    PLUS_MINUS,
    Lengths,
    clean,
    duration,
    joined,
    short,
)
from flushwork.views.setup_details import (
    IN_AIR,
    OUT_OF_THE_WAY,
    OVER_WORK,
    THICKNESS,
    done_before,
    dowels_of_choice,
    first_motion,
    into_spoilboard,
    keep_out_box,
    keep_out_facts,
    stays_within,
    tape_facts,
    waste_facts,
)
from flushwork.views.warning_lines import accepted_lines, setup_warnings

PICTURE_HEIGHT_MM = 72.0
DOES = {
    Work.POCKET: "clears",
    Work.LINE: "cuts the line",
    Work.ENGRAVE: "engraves",
    Work.DRILL: "drills",
    Work.EDGE: "shapes",
    Work.HANGER: "cuts, in and out at its entry only,",
}
CORNER = "lower left corner of the blank"
SHAPES = {
    BitKind.FLAT: "flat",
    BitKind.V_BIT: "V-bit",
    BitKind.BALL: "ball",
    BitKind.DRILL: "drill",
    BitKind.ROUND_OVER: "round-over",
    BitKind.KEYHOLE: "keyhole",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What a program asks of the machine."""

    feed_mm_min: float
    plunge_mm_min: float
    spindle_rpm: float


@lru_cache(maxsize=64)
def asked(program: Program) -> Asked:
    """Return what all moves ask; feeds are the greatest along and straight down."""
    table = table_of(program)
    across = np.any(table.to_mm[:, :2] != table.from_mm[:, :2], axis=1) | table.arc
    along, down = table.cuts & across, table.cuts & ~across
    return Asked(
        feed_mm_min=float(table.feed_mm_min[along].max(initial=0.0)),
        plunge_mm_min=float(table.feed_mm_min[down].max(initial=0.0)),
        spindle_rpm=float(table.rpm.max(initial=0.0)),
    )


def setup_views(
    context: ViewContext, arts: Mapping[str, FaceArt], lengths: Lengths
) -> tuple[SetupView, ...]:
    """Return a card for every setup of the plan."""
    return tuple(
        setup_view(context, setup, arts[setup.face], lengths)
        for setup in context.build.plan.setups
        if setup.face in arts
    )


def files_of(context: ViewContext, setup: Setup) -> tuple[GcodeFile, ...]:
    """Return the files of a setup in the order they run."""
    mine = (file for file in context.build.gcode_files if file.order.setup == setup.number)
    return tuple(sorted(mine, key=lambda file: file.order.sequence))


def setup_view(
    context: ViewContext,
    setup: Setup,
    art: FaceArt,
    lengths: Lengths,
    space: Space | None = None,
) -> SetupView:
    """Return the card of a setup, its picture drawn into a space on paper."""
    files = files_of(context, setup)
    before = done_before(context, setup, files, lengths)
    space = space or Space(context.live().width_mm * 0.62, PICTURE_HEIGHT_MM)
    return SetupView(
        number=setup.number,
        heading=f"Setup {setup.number}: {setup.face} face up",
        turned=_turned(context.build.job, setup),
        facts=(
            *_facts(setup, files, lengths),
            *waste_facts(context.build.job, setup, lengths, context.build.faces[0].laid),
            *tape_facts(tape_plan(context.build.job, context.build.faces, setup), lengths),
            *dowels_of_choice(context, lengths),
            *_bit_changes(context, setup),
        ),
        picture=setup_drawing(art, _cut_here(context, setup, files), space),
        files=tuple(
            replace(
                _file(order, file, lengths, into_spoilboard(context, file, lengths)),
                before=before.get(file.file_name, ""),
            )
            for order, file in enumerate(files, start=1)
        ),
        checks=_checks(setup, files),
        warnings=(
            *accepted_lines(context.build.findings),
            *setup_warnings(context.build.job, context.build.plan, setup, files),
        ),
    )


def _bit_changes(context: ViewContext, setup: Setup) -> tuple[Fact, ...]:
    """Return, where a setup drills, when each of its bits is changed."""
    drills = any(
        context.build.plan.stage(number).kind is StageKind.DRILL for number in setup.stages
    )
    faces = tuple(face for face in context.build.faces if face.name == setup.face)
    bits = {hole_bit(context.build.job, pattern) for face in faces for pattern in face.holes}
    names = piece_names(context.build.job)
    return tuple(
        Fact("Change card", clean(change_text(life, names)))
        for life in bit_lives(context.build.job, context.build.faces)
        if drills and life.bit in bits
    )


def _turned(job: Job, setup: Setup) -> str:
    if not setup.turned:
        return ""
    if job.blank.turn_about_x:
        return "Flip the blank top to bottom: the far edge comes near."
    return "Flip the blank side to side: the right end comes left."


def _facts(setup: Setup, files: tuple[GcodeFile, ...], lengths: Lengths) -> tuple[Fact, ...]:
    holding = setup.holding
    stages = [str(stage) for stage in setup.stages]
    run_s = sum(file.run_s for file in files)
    beds = {len(file.order.places) for file in files}
    lying = f"the {max(beds)} pieces on the bed" if max(beds, default=1) > 1 else "each piece"
    place = f"{PLUS_MINUS}{lengths.say(holding.repeat_mm)}"
    return (
        Fact("Held by", clean(f"{holding.name}: {holding.how}")),
        Fact("Located by", clean(holding.locates_by)),
        Fact("Comes back to", f"{place} ({clean(holding.source)})" if holding.source else place),
        Fact("X0 Y0", _origin(setup, lengths)),
        Fact("Z0", "the wood of this face"),
        Fact(THICKNESS, lengths.say(setup.stands_mm)),
        *keep_out_facts(setup, files, lengths),
        *_first_way(files, lengths),
        Fact("Stage" if len(stages) == 1 else "Stages", joined(stages)),
        Fact("On the machine", f"{duration(run_s)} for {lying}, bit changes apart"),
    )


def _origin(setup: Setup, lengths: Lengths) -> str:
    x, y = setup.origin_mm
    if abs(x) < 0.005 and abs(y) < 0.005:
        return CORNER
    return f"{lengths.say(x)} right of and {lengths.say(y)} beyond the blank's lower left corner"


def _checks(setup: Setup, files: tuple[GcodeFile, ...]) -> tuple[str, ...]:
    checks = [f"{setup.face} up, located, held"]
    if setup.turned:
        checks.insert(0, "flipped the right way")
    bare = any(file.order.bare for file in files)
    checks += [
        "X0 Y0 at the cross",
        "Z0 anew on the blank" if bare else "Z0 on wood, not resin",
    ]
    if len(files) > 1:
        checks.append("Z0 for each bit")
    checks += [OUT_OF_THE_WAY, OVER_WORK, IN_AIR]
    return tuple(checks)


def _first_way(files: Sequence[GcodeFile], lengths: Lengths) -> tuple[Fact, ...]:
    """Return what is to be seen to before a file goes on: its first way begins anywhere."""
    lifts = [file.program.moves[0].z_mm for file in files if file.program.moves]
    if not lifts:
        return ()
    return (
        Fact(
            "Before going on",
            f"stand clear: each file rises to Z {lengths.say(min(lifts))}, then goes straight to "
            f"its "
            "first place, outside these regions too",
        ),
    )


def _file(
    order: int, file: GcodeFile, lengths: Lengths, beneath: tuple[Fact, ...] = ()
) -> GcodeFileView:
    bit = file.order.bit
    reach, over = asked(file.program), swept(file.program, bit)
    feed = f"{short(reach.feed_mm_min, 0)}{NO_BREAK}mm/min"
    if reach.plunge_mm_min > 0.0 and reach.feed_mm_min <= 0.0:
        feed = ""
    figures = [
        Fact("stick-out", lengths.say(bit.reach_mm, 1)),
        Fact("spindle", f"{short(reach.spindle_rpm or bit.spindle_rpm, 0)}{NO_BREAK}rpm"),
        Fact("feed", feed),
        Fact(
            "plunge",
            f"{short(reach.plunge_mm_min, 0)}{NO_BREAK}mm/min" if reach.plunge_mm_min else "",
        ),
        Fact("deepest Z", lengths.say(over.deepest_mm) if over else ""),
        *beneath,
        Fact("runs", duration(file.run_s)),
        *_imported_zero(file, lengths),
    ]
    return GcodeFileView(
        order=order,
        file_name=clean(file.file_name),
        bit=bit_words(bit, lengths),
        does=_does(file),
        figures=tuple(figure for figure in figures if figure.value),
        first_motion=first_motion(file.program, inch=file.order.machine.dialect.inch),
        within=stays_within(over, lengths),
    )


def _imported_zero(file: GcodeFile, lengths: Lengths) -> tuple[Fact, ...]:
    """Return where the zero of an imported file lies, none for a file of ours."""
    order = file.order
    if order.imported is None:
        return ()
    x_mm, y_mm = order.origin_mm
    place = f"X {lengths.say(x_mm)} Y {lengths.say(y_mm)} of the blank"
    return (Fact("its X0 Y0", place), Fact("its Z0", clean(", ".join(order.notes))))


def bit_words(bit: Bit, lengths: Lengths) -> str:
    """Return a bit in words: number, name, shape and size."""
    size = lengths.say(bit.diameter_mm, 3)
    if bit.kind is BitKind.V_BIT:
        size += f", {short(math.degrees(bit.angle_rad), 1)}\N{DEGREE SIGN}"
        size += f", tip {lengths.say(bit.tip_mm, 2)}" if bit.tip_mm else ", sharp tip"
    if bit.kind is BitKind.ROUND_OVER:
        size += f", radius {lengths.say(bit.round_mm, 3)}"
    if bit.kind is BitKind.KEYHOLE:
        size += f", neck {lengths.say(bit.neck_mm)}, head {lengths.say(bit.head_mm)} high"
    return f"Bit{NO_BREAK}{bit.number}: {clean(bit.name)} ({SHAPES[bit.kind]}, {size})"


def _does(file: GcodeFile) -> str:
    """Return what a file does, each kind of work once with its subjects."""
    imported = file.order.imported
    if file.order.bare:
        # its height is the spoilboard's, and the file after it may well have the same bit
        return clean(f"{file.order.name} once, Z0 on it; then the blank")
    if imported is not None:
        return clean(f"imported, as it came ({imported.name}): {_work(file) or 'runs'}")
    return _work(file)


def _work(file: GcodeFile) -> str:
    subjects: dict[Work, list[str]] = {}
    for operation in file.order.operations:
        names = subjects.setdefault(operation.work, [])
        if operation.subject and operation.subject not in names:
            names.append(operation.subject)
    return clean("; ".join(_doing(work, names) for work, names in subjects.items()))


def _doing(work: Work, names: list[str]) -> str:
    if names == [SUBJECT]:
        return f"cuts {SUBJECT}"
    if work is Work.DRILL and names[0] in LOCATED_BY:
        return f"bores for the {names[0]}"
    if work is Work.TRIM:
        return "trims to the final outline"
    if work is Work.MILL_FLUSH:
        return "mills the proud resin flush"
    return f"{DOES[work]} {joined(names)}".strip()


def _cut_here(context: ViewContext, setup: Setup, files: Sequence[GcodeFile]) -> CutHere:
    job = context.build.job
    regions: dict[str, None] = {}
    lines: dict[str, None] = {}
    points: list[tuple[float, float, float]] = []
    for file in files:
        for operation in file.order.operations:
            match operation:
                case TrimCut() | LevelCut():
                    lines[svg.line_path(edges(operation.region))] = None
                case PocketCut() | EngraveCut():
                    regions[svg.region_path(operation.region)] = None
                case LineCut():
                    lines[svg.line_path(operation.lines)] = None
                case HangerCut():
                    # the slot, and around it what the head takes hidden beneath
                    bit = operation.bit
                    slot = many(operation.way.buffer(bit.neck_mm / 2.0))
                    regions[svg.region_path(slot)] = None
                    swath = many(operation.way.buffer(bit.radius_mm))
                    lines[svg.line_path(edges(swath))] = None
                    x_mm, y_mm = operation.way.coords[0]
                    points.append((x_mm, y_mm, bit.diameter_mm))
                case DrillCut():
                    points += [(x, y, operation.hole_mm) for x, y in operation.points]
    dowel_mm = job.locating.diameter_mm if job.locating is not None else 0.0
    tape = tape_plan(job, context.build.faces, setup)
    return CutHere(
        tuple(regions),
        tuple(lines),
        tuple(points),
        setup.origin_mm,
        keep_out_box(setup, files),
        dowels=tuple((x, y, dowel_mm) for x, y in setup.recesses),
        clamps=tuple(
            svg.line_path(edges(MultiPolygon([clamp_box(job, keep)])))
            for keep in keep_outs_of(job, setup.face, setup.number)
        ),
        stops=tuple(
            svg.line_path(edges(MultiPolygon([stop]))) for stop in stop_boxes(job, setup.holding)
        ),
        tape="" if tape is None else svg.region_path(tape.taped),
        first=_first_of(files),
    )


def first_place(file: GcodeFile) -> tuple[float, float] | None:
    """Return the place over which a file first stands, by its own zero; None if it stays."""
    x, y, _ = file.program.start
    for move in file.program.moves:
        if math.hypot(move.x_mm - x, move.y_mm - y) > 1e-6:
            return move.x_mm, move.y_mm
    return None


def _first_of(files: Sequence[GcodeFile]) -> tuple[float, float] | None:
    """Return the place of the first move of some files, in the frame of the face."""
    for file in files:
        if (place := first_place(file)) is not None:
            return place[0] + file.order.origin_mm[0], place[1] + file.order.origin_mm[1]
    return None
