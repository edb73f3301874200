"""The card of a setup, to be read at arm's length: what the shared card tells, and what bites."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from flushwork.book.card_steps import LONGEST, Gathered, day_of, step_lines, turns_of
from flushwork.core.units.kinds import INCH_MM
from flushwork.gcode.swept import swept
from flushwork.process.stages import StageKind
from flushwork.shelf.items import Bit, BitKind
from flushwork.toolpaths.orders import GcodeFile, Work
from flushwork.views.book_records import (
    Fact,
    FileRow,
    GcodeFileView,
    HowToView,
    SetupCard,
    SetupView,
    StageView,
    StepLine,
)
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.figures import (
    MINUS,
    NO_BREAK,
    TO,
    Lengths,
    clean,
    duration,
    headed,
    joined,
    number,
    short,
)
from flushwork.views.setup_details import THICKNESS
from flushwork.views.setup_views import CORNER, asked, files_of, first_place, setup_view
from flushwork.views.warning_lines import AIR_FIRST, BITES, bites

ELSEWHERE: Final = (
    *(THICKNESS, "Held by", "Located by", "Comes back to"),
    *("X0 Y0", "Z0", "Before going on", "On the machine"),
    *("Stage", "Stages", "Their places", "Change card"),
)
"""Facts of the shared card that stand in another place of this one, or once for all setups."""
REGIONS: Final = ("Keep out", "Crosses", "Holder")
RANGE: Final = re.compile(r"(?<=[XY] )([0-9.]+) to ([0-9.]+)")
"""Facts that are told under the picture, over the whole width."""
LARGE: Final = ("spindle", "feed", "plunge", "deepest Z", "runs")
"""Figures of a file that stand large, in the file's own units."""
TICKED: Final = (BITES[AIR_FIRST],)
"""What is ticked on the card is not said beside it once more."""
NAMED: Final = (StageKind.CUT, StageKind.DRILL)
"""Stages whose titles name what is cut."""
MOST_NAMES: Final = 3
PICTURE_SHARE: Final = 0.62
PAGE_TEXT_MM: Final = 82.0
FILE_MM: Final = 20.0
STEP_MM: Final = 10.5
LEAST_PICTURE_MM: Final = 54.0
MOST_PICTURE_MM: Final = 104.0
"""A picture takes what a card's words leave of its page."""


def setup_card(
    context: ViewContext,
    card: Gathered,
    arts: Mapping[str, FaceArt],
    lengths: Lengths,
    views: Sequence[StageView],
    how_to: Sequence[HowToView],
) -> SetupCard:
    """Return the card of one setup with the stages that stand on it."""
    setup = next(each for each in context.build.plan.setups if each.number == card.setup)
    files, live = files_of(context, setup), context.live()
    blank = context.build.job.blank
    words_mm = PAGE_TEXT_MM + FILE_MM * len(files)
    words_mm += STEP_MM * (len(card.before) + len(card.own) + len(card.after))
    high_mm = min(max(live.height_mm - words_mm, LEAST_PICTURE_MM), MOST_PICTURE_MM)
    space = Space(PICTURE_SHARE * live.width_mm, high_mm)
    told = setup_view(context, setup, arts[setup.face], lengths, space)
    figures = {fact.label: fact.value for fact in told.facts}
    origin = figures["X0 Y0"]
    inch = any(file.order.machine.dialect.inch for file in files)
    day = day_of(context, card.own)
    cut = [set(each.subjects) for each in card.own if each.kind in NAMED]
    whole = cut[0] if len(cut) == 1 and len(joined([*cut[0]])) <= LONGEST else set()
    turned = "top to bottom: the far edge comes near"
    if not blank.turn_about_x:
        turned = "side to side: the right end comes left"
    apart = {*ELSEWHERE, *REGIONS}
    if any(each.face == setup.face for each in context.build.plan.setups[: setup.number - 1]):
        # told by the first setup of a face, shown by the picture of every one
        apart.add("Tape")
    return SetupCard(
        heading=_heading(context, card.setup) + f": {setup.face} up" + (f", {day}" if day else ""),
        flip=f"Flip the blank {turned}." if setup.turned else "",
        turns=turns_of(context, [*card.before, *card.own]),
        before=step_lines(context, card.before, views, how_to, day),
        own=_own(step_lines(context, card.own, views, how_to, day, on_card=True)),
        after=step_lines(context, card.after, views, how_to, day),
        size=context.lengths.size(blank.length_mm, blank.width_mm) if card.setup == 1 else "",
        thickness=figures[THICKNESS],
        lasts=duration(sum(file.run_s for file in files)),
        facts=(
            *(
                [Fact("Hold", clean(f"{setup.holding.how}; {setup.holding.locates_by}"))]
                if setup.holding != context.build.job.holding
                else []
            ),
            *([Fact("X0 Y0", origin)] if origin != CORNER else []),
            *(_brief(fact) for fact in told.facts if fact.label not in apart),
        ),
        regions=_regions(told),
        picture=told.picture,
        feed_unit="in/min" if inch else "mm/min",
        z_unit="in" if inch else "mm",
        files=tuple(
            _row(file, replace(view, before=_untitled(view.before, card)), lengths, whole)
            for file, view in zip(files, told.files, strict=True)
        ),
        checks=told.checks,
        bites=tuple(line for line in bites(told.warnings) if line not in TICKED),
    )


def _brief(fact: Fact) -> Fact:
    """Return a fact in fewer words where the picture beside it shows the rest."""
    if fact.label != "Tape":
        return fact
    strips, _, area = fact.value.partition(" of ")
    return replace(fact, value=f"{strips}, {area.rpartition(': ')[2].partition(',')[0]}")


def _heading(context: ViewContext, number: int) -> str:
    part = headed(context.build.job.part, ", ")
    return f"{part}setup {number}" if part else f"Setup {number}"


def _own(lines: tuple[StepLine, ...]) -> tuple[StepLine, ...]:
    """Return the stages at the machine: the first tells when they begin."""
    return tuple(replace(line, when="" if at else line.when) for at, line in enumerate(lines))


def _untitled(before: str, card: Gathered) -> str:
    """Return what is done before a file without titles: its stages stand at the card's head."""
    for stage in card.own:
        before = before.replace(
            f"stage {stage.number}, {clean(stage.title)}", f"stage {stage.number}"
        )
    # in fewer words: what comes first is told above, and on this card nothing is let go
    return (
        before.replace("First stage", "After stage")
        .replace(", still held; then", ":")
        .replace(" thick.", ".")
    )


def _regions(told: SetupView) -> tuple[Fact, ...]:
    """Return where nothing may stand; told once where regions are alike."""
    found = {fact.label: fact for fact in told.facts if fact.label in REGIONS}
    keep, crosses = found.get("Keep out"), found.get("Crosses")
    if keep and crosses and crosses.value.partition(":")[0] in keep.value:
        del found["Crosses"]
    holder = found.get("Holder")
    if keep:
        found["Keep out"] = replace(keep, value=_short(keep.value))
    if keep and holder:
        over, _, box = holder.value.partition(" within ")
        where = "there" if box and box in keep.value else f"within {box}"
        # the line before it says from where heights count
        line = f"{over.replace(' above the wood', '')} {where}"
        found["Holder"] = replace(holder, value=_short(line))
    return tuple(found.values())


def _short(told: str) -> str:
    """Return a line on a region in fewer words: ranges with a dash where none begins below zero."""
    if MINUS not in told:
        told = RANGE.sub("\\1\N{EN DASH}\\2", told)
    return told.replace("bits pass under", "bits below")


def _row(file: GcodeFile, told: GcodeFileView, lengths: Lengths, whole: set[str]) -> FileRow:
    """Return a file's row, its figures in the units it is written in.

    ``whole`` are the subjects of the one stage that cuts in this setup: its title names them.
    """
    bit, reach = file.order.bit, asked(file.program)
    over, inch = swept(file.program, bit), file.order.machine.dialect.inch
    unit_mm, places = (INCH_MM, 4) if inch else (1.0, 2)
    more = [f"{fact.label} {fact.value}" for fact in told.figures if fact.label not in LARGE]

    def rate(mm_min: float) -> str:
        return short(mm_min / unit_mm, 1 if inch else 0) if mm_min > 0.0 else TO

    return FileRow(
        order=told.order,
        file_name=told.file_name,
        bit=bit_words(bit, lengths),
        rpm=short(reach.spindle_rpm or bit.spindle_rpm, 0),
        feed=rate(reach.feed_mm_min or reach.plunge_mm_min),
        lowest_z=number(over.deepest_mm / unit_mm, places) if over else TO,
        does=_does(file, told, whole),
        more=", ".join(more),
        starts=_starts(file) if told.order == 1 else "",
        before=told.before,
    )


def _does(file: GcodeFile, told: GcodeFileView, whole: set[str]) -> str:
    """Return what a file does; of many subjects how many, none where it does the ``whole``."""
    if {each.work for each in file.order.operations} == {Work.MILL_FLUSH}:
        return "mills flush"
    names = list(dict.fromkeys(each.subject for each in file.order.operations if each.subject))
    if names and set(names) == whole:
        return f"{told.does.removesuffix(clean(joined(names)))}all"
    listed = clean(joined(names))
    if len(names) <= MOST_NAMES or listed not in told.does:
        return told.does
    return told.does.replace(listed, clean(f"{', '.join(names[:2])} and {len(names) - 2} more"))


def _starts(file: GcodeFile) -> str:
    """Return over which place a file first stands, as the machine shows it."""
    unit_mm, places = (INCH_MM, 3) if file.order.machine.dialect.inch else (1.0, 1)
    place = first_place(file)
    if place is None:
        return ""
    x, y = (number(each / unit_mm, places) for each in place)
    unit = "in" if file.order.machine.dialect.inch else "mm"
    return f"starts X{NO_BREAK}{x} Y{NO_BREAK}{y}{NO_BREAK}{unit}"


def bit_words(bit: Bit, lengths: Lengths) -> str:
    """Return a bit by its name, with angle and size where the name does not tell them."""
    text = clean(bit.name)
    if bit.kind is BitKind.V_BIT:
        angle = short(math.degrees(bit.angle_rad), 1)
        return text if angle in text else f"{text}, {angle}\N{DEGREE SIGN}"
    named = any(letter.isdigit() for letter in text)
    return text if named else f"{text}, {lengths.say(bit.diameter_mm, 3)}"
