"""What a setup's card tells in detail: its steps one by one, and where its bits sweep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import reduce
from typing import Final

from flushwork.art.drawn import LaidPlank
from flushwork.core.units.kinds import INCH_MM
from flushwork.core.words import counted
from flushwork.fit.grip import speaks_of_pins
from flushwork.gcode.swept import CLAMP_GAP_MM, Box, Swept, swept
from flushwork.job.records import Job
from flushwork.process.orders.waste_cuts import kerf_of
from flushwork.process.stages import Setup, Stage, StageKind
from flushwork.process.tape import TapePlan
from flushwork.process.waste import free_ends_mm, goes_through, keep_outs_of, recesses
from flushwork.shelf.items import LOCATED_BY, Locating
from flushwork.toolpaths.moves import Move, MoveKind, Program
from flushwork.toolpaths.orders import GcodeFile
from flushwork.views.book_records import Fact, SetupView
from flushwork.views.context import ViewContext
from flushwork.views.figures import NO_BREAK, Lengths, clean, joined, number

# ---- What a setup's card tells of its stages one by one: a setup may be sanded between two files
#
# How thick the blank then is comes from the replay's thickness table.


THICKNESS = "Thickness now"
OVER_WORK = "bit high over the work"
OUT_OF_THE_WAY = "red dashes clear"
IN_AIR = "each file in air first"
BY_HAND_MM: Final = (6.0, 5.0, 4.0, 3.0)
"""Dowels that are sold everywhere, the stoutest first (common practice, no source)."""
BOARD_MM: Final = 8.0
"""How deep they stand in the spoilboard: what `locating` takes where nothing is said."""


def stage_of(context: ViewContext, file: GcodeFile) -> int:
    """Return the number of the stage a file runs in, 0 where it is in no replay."""
    runs = (cut.stage for cut in context.build.replay.cuts if cut.file_name == file.file_name)
    return next(runs, 0)


def stands_mm(context: ViewContext, stage: int) -> float:
    """Return the blank's thickness when a stage begins."""
    return context.build.replay.before_mm(stage, context.build.job.blank.thickness_mm)


def done_before(
    context: ViewContext, setup: Setup, files: Sequence[GcodeFile], lengths: Lengths
) -> dict[str, str]:
    """Return what is done between a file and the one before it in its setup, by its name."""
    told: dict[str, str] = {}
    last = 0
    for file in files:
        stage = stage_of(context, file)
        between = [
            context.build.plan.stage(number) for number in setup.stages if 0 < last < number < stage
        ]
        if between:
            told[file.file_name] = _between(between, lengths.say(stands_mm(context, stage)))
        last = stage or last
    return told


def _between(stages: Sequence[Stage], thickness: str) -> str:
    titles = joined([f"stage {stage.number}, {clean(stage.title)}" for stage in stages])
    if not any(stage.kind is StageKind.SAND for stage in stages):
        return f"First {titles}, still held."
    return f"First {titles}, still held; then Z0 on the sanded wood, {thickness} thick."


def into_spoilboard(context: ViewContext, file: GcodeFile, lengths: Lengths) -> tuple[Fact, ...]:
    """Return how deep a file goes into the spoilboard under the blank, none where it does not."""
    order, stage = file.order, stage_of(context, file)
    over = swept(file.program, order.bit)
    if over is None or order.bare or not stage:
        return ()
    below_mm = order.face_above_mm - over.deepest_mm - stands_mm(context, stage)
    return (Fact("into the spoilboard", lengths.say(below_mm)),) if below_mm > 0.005 else ()


def step_checks(setup: Setup, plan_stages: Sequence[Stage], number: int) -> tuple[str, ...]:
    """Return what is looked at before a later stage of a setup begins."""
    before = [stage for stage in plan_stages if stage.setup == setup.number]
    sanded = any(stage.kind is StageKind.SAND and stage.number < number for stage in before)
    zero = "Z0 set again on the sanded wood" if sanded else "Z0 set again for this bit, on wood"
    return (
        f"{setup.face} face up, located and held as before",
        "X0 Y0 as it was",
        f"{zero}, not on resin or tape",
        OUT_OF_THE_WAY,
        OVER_WORK,
        IN_AIR,
    )


def step_facts(
    card: SetupView, context: ViewContext, stage: int, lengths: Lengths
) -> tuple[Fact, ...]:
    """Return a card's figures as they are when one of its stages begins."""
    now = lengths.say(stands_mm(context, stage))
    return tuple(
        replace(fact, value=now) if fact.label == THICKNESS else fact for fact in card.facts
    )


# ---- What the card of a setup tells of where its bits sweep: in words, and as a drawn region
#
# What the cards say of dowels, discs and registration marks.


_ROUNDED = 1e-6


def stays_within(found: Swept | None, lengths: Lengths) -> str:
    """Return what a file's bit sweeps over, by the file's own zero."""
    if found is None:
        return ""
    over = lengths.say(found.over_mm)
    return (
        f"{_box(found.low, lengths)} below Z{NO_BREAK}{over}, and at that height "
        f"{_box(found.all, lengths)}, the bit's radius counted"
    )


def keep_out_facts(setup: Setup, files: Sequence[GcodeFile], lengths: Lengths) -> tuple[Fact, ...]:
    """Return where no clamp, screw or pin may stand, by the setup's zero.

    A file for the bare spoilboard runs before anything is held.
    """
    known = [
        (file, found)
        for file in files
        if not file.order.bare and (found := swept(file.program, file.order.bit))
    ]
    low = keep_out_box(setup, files)
    if low is None:
        return ()
    whole = reduce(Box.and_also, (_here(setup, file, found.all) for file, found in known))
    crossed_mm = [found.over_mm - file.order.face_above_mm for file, found in known]
    below = f"{lengths.say(max(crossed_mm))} above the wood"
    over = f"{lengths.say(min(crossed_mm))} above the wood"
    return (
        Fact(
            "Keep out",
            f"{_box(low, lengths)}, {lengths.say(CLAMP_GAP_MM, 1)} around: bits pass under {below}",
        ),
        Fact("Crosses", f"{_box(whole, lengths)}: nothing higher than {over}"),
        _holder(setup, known, lengths),
    )


def _holder(setup: Setup, known: Sequence[tuple[GcodeFile, Swept]], lengths: Lengths) -> Fact:
    """Return how low the holders of a setup's files come, and where they are."""

    def low_mm(each: tuple[GcodeFile, Swept]) -> float:
        file, found = each
        return found.deepest_mm + file.order.bit.reach_mm - file.order.face_above_mm

    lowest = min(known, key=low_mm)
    across_mm = max(file.order.machine.holder_mm for file, _ in known)
    room = reduce(
        Box.and_also,
        (
            _here(setup, file, found.all.grown(max(across_mm / 2.0 - found.radius_mm, 0.0)))
            for file, found in known
        ),
    )
    return Fact(
        "Holder",
        f"hits anything over {lengths.say(low_mm(lowest))} above the wood within "
        f"{_box(room, lengths)}",
    )


def keep_out_box(setup: Setup, files: Sequence[GcodeFile]) -> Box | None:
    """Return the region of a setup's card, by its zero; none where nothing is cut."""
    found = [
        _here(setup, file, seen.low)
        for file in files
        if not file.order.bare and (seen := swept(file.program, file.order.bit))
    ]
    return reduce(Box.and_also, found) if found else None


def _here(setup: Setup, file: GcodeFile, box: Box) -> Box:
    """Return a file's region by the zero of its setup; an imported file has its own."""
    (x, y), (base_x, base_y) = file.order.origin_mm, setup.origin_mm
    return box.moved(x - base_x, y - base_y)


def _box(box: Box, lengths: Lengths) -> str:
    return (
        f"X {_span(box.left_mm, box.right_mm, lengths)}, "
        f"Y {_span(box.near_mm, box.far_mm, lengths)}{NO_BREAK}{lengths.head}"
    )


def _span(low_mm: float, high_mm: float, lengths: Lengths) -> str:
    """Return a range, rounded outwards to 0.01 mm or 0.001 in."""
    steps, places = (100.0, 2) if lengths.units == "metric" else (1000.0 / INCH_MM, 3)
    low = math.floor(low_mm * steps + _ROUNDED) / 10.0**places
    high = math.ceil(high_mm * steps - _ROUNDED) / 10.0**places
    return f"{number(low, places)} to {number(high, places)}"


def waste_words(context: ViewContext, stage: Stage, lengths: Lengths) -> dict[str, str]:
    """Return what the names in braces of the cards LOCATE and MARK stand for."""
    locating = context.build.job.locating
    setup = next((each for each in context.build.plan.setups if each.number == stage.setup), None)
    reads = setup.reads if setup is not None else 0
    words = {
        "read_first": f"Read the marks of setup {reads} and give them to `flushwork marks`; it "
        "shows shift, turn and stretch and writes this setup's files corrected"
        if reads
        else "Nothing is read in this setup: it is the first of its face",
        "located_by": "",
        "locating_bit": "",
        "board_depth": "",
        "blank_depth": "",
        "put_in": "",
    }
    if locating is not None:
        through = goes_through(locating)
        bits = [
            file.order.bit.name
            for file in context.build.gcode_files
            if file.order.setup == stage.setup and file.order.bare
        ]
        words |= {
            "located_by": f"Two {locating.by} of {lengths.say(locating.diameter_mm)}",
            "locating_bit": clean(joined(bits)),
            "board_depth": lengths.say(locating.board_mm),
            "blank_depth": "right through" if through else f"{lengths.say(locating.blank_mm)} deep",
            "put_in": f"Push the {locating.by} in"
            if through
            else f"Put the {locating.by} in when the blank is flipped onto them",
        }
    return words


def waste_facts(
    job: Job, setup: Setup, lengths: Lengths, laid: LaidPlank | None = None
) -> tuple[Fact, ...]:
    """Return the lines of a setup's card on what stands in its waste.

    Where the dowels are let in is told in the setup that does it, the axis where it is used too.
    """
    facts: list[Fact] = []
    if job.locating is not None and setup.recesses and setup.number == 1:
        facts.append(Fact(job.locating.by.capitalize(), _places(setup.recesses, lengths)))
    if job.locating is not None and setup.recesses and (setup.number == 1 or setup.turned):
        blank = job.blank
        axis = (
            f"Y {lengths.say(blank.width_mm / 2.0)}, along the length"
            if blank.turn_about_x
            else f"X {lengths.say(blank.length_mm / 2.0)}, along the width"
        )
        facts.append(Fact("Flip axis", axis))
    clamps = keep_outs_of(job, setup.face, setup.number)
    if clamps:
        told = [f"{clean(keep.name)}, {lengths.say(keep.height_mm)} high" for keep in clamps]
        facts.append(Fact("Keep clear of", joined(told)))
    if job.bed.pieces > 1:
        step = f"X {lengths.say(job.bed.step_x_mm)} Y {lengths.say(job.bed.step_y_mm)}"
        facts.append(Fact("On the bed", f"{job.bed.pieces} pieces, each {step} on"))
    facts += _plank_facts(laid, lengths)
    if setup.marks:
        facts.append(Fact("Marks cut", _places(setup.marks, lengths)))
    if setup.reads:
        facts.append(Fact("Marks read", f"those of setup {setup.reads}, before cutting"))
    return tuple(facts)


def _plank_facts(laid: LaidPlank | None, lengths: Lengths) -> list[Fact]:
    """Return what lies on a plank and how much of it ends in pieces."""
    if laid is None:
        return []
    pieces = counted(len(laid.pieces), "piece")
    share = f"{pieces}, cut free in the order of their numbers; {100.0 * laid.share:.0f} % of the"
    told = f"{share} {lengths.say(laid.used_mm)} they take along the plank ends in pieces"
    return [Fact("On the plank", told)]


def tape_facts(plan: TapePlan | None, lengths: Lengths) -> tuple[Fact, ...]:
    """Return how many strips of tape go under the blank, how wide, how far apart."""
    if plan is None:
        return ()
    apart = f", every {lengths.say(plan.pitch_mm)}" if plan.rows > 1 else ""
    area = f"{number(plan.taped.area / 100.0, 0)}{NO_BREAK}cm\N{SUPERSCRIPT TWO}"
    told = f"{counted(plan.rows, 'strip')} of {lengths.say(plan.wide_mm)}{apart}: {area}"
    return (Fact("Tape", f"{told}, {number(100.0 * plan.share, 0)}{NO_BREAK}%"),)


def dowels_of_choice(context: ViewContext, lengths: Lengths) -> tuple[Fact, ...]:
    """Return how wide the dowels may be, and where they stand, that no G-code file lets in."""
    job = context.build.job
    if job.locating is not None or not speaks_of_pins(job.holding):
        return ()
    if job.outline.artwork is None:
        room = "off all that is cut; no trim line sets waste apart"
    else:
        free_mm = free_ends_mm(job, context.build.faces, kerf_of(job))
        ends = ("left", "right") if job.blank.turn_about_x else ("near", "far")
        told = [
            f"{lengths.say(each)} at the {end} end" for each, end in zip(free_mm, ends, strict=True)
        ]
        if lengths.say(free_mm[0]) == lengths.say(free_mm[1]):
            told = [f"{lengths.say(free_mm[0])} at both ends"]
        room = f"the centre line is free for {joined(told)}"
        for diameter_mm in BY_HAND_MM:
            locating = Locating(LOCATED_BY[0], diameter_mm, BOARD_MM, 0.0, 0.0)
            found = recesses(replace(job, locating=locating), context.build.faces, kerf_of(job))
            if found is not None and found.places:
                room = (
                    f"two of {lengths.say(diameter_mm)}, at {_places(found.places, lengths)}, "
                    f"through the blank and {lengths.say(BOARD_MM)} into the spoilboard"
                )
                break
        else:
            room += ", too little for two of them"
    return (
        Fact(
            "Their places",
            f"bore for the dowels by hand, {room}; or write `locating` in the job",
        ),
    )


def _places(places: tuple[tuple[float, float], ...], lengths: Lengths) -> str:
    return "; ".join(
        f"{number}: X {lengths.say(x)} Y {lengths.say(y)}"
        for number, (x, y) in enumerate(places, start=1)
    )


# ---- How a file begins


def first_motion(program: Program, *, inch: bool = False) -> str:
    """Return the first three changes of place in words, so that the operator can expect them.

    Figures are as the machine shows them: in inches where the G-code files are written in them.
    """
    x, y, z = program.start
    steps: list[str] = []
    for move in program.moves:
        if move.kind is MoveKind.DWELL:
            continue
        step = _motion(move, x, y, z, inch=inch)
        x, y, z = move.x_mm, move.y_mm, move.z_mm
        if step:
            steps.append(step)
        if len(steps) == 3:
            break
    unit = f"{NO_BREAK}{'in' if inch else 'mm'}" if steps else ""
    return f"{', then '.join(steps)}{unit}"


def _motion(move: Move, x_mm: float, y_mm: float, z_mm: float, *, inch: bool) -> str:
    across = math.hypot(move.x_mm - x_mm, move.y_mm - y_mm) > 1e-6
    lift = move.z_mm - z_mm
    if not across and abs(lift) < 1e-6:
        return ""
    word = "rapid" if move.kind is MoveKind.RAPID else "feed"
    unit_mm, finer = (INCH_MM, 2) if inch else (1.0, 0)
    down = f"Z{NO_BREAK}{number(move.z_mm / unit_mm, 2 + finer)}"
    if not across:
        return f"{word} {'up' if lift > 0 else 'down'} to {down}"
    x, y = (number(each / unit_mm, 1 + finer) for each in (move.x_mm, move.y_mm))
    to = f"X{NO_BREAK}{x} Y{NO_BREAK}{y}"
    return f"{word} to {to}" + (f" {down}" if abs(lift) > 1e-6 else "")
