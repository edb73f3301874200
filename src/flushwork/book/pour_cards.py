"""The sheets of pours, to be read at arm's length: what differs on each, what is alike once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from flushwork.book.card_steps import Gathered, day_of, step_lines
from flushwork.resin.composition import HARDENER, PIGMENT
from flushwork.resin.pours import Pour
from flushwork.shelf.items import ToolKind
from flushwork.views.book_records import (
    Fact,
    HowToView,
    MeasureStep,
    Picture,
    PourCard,
    PourSheet,
    StageView,
    TableView,
)
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.face_drawings import pour_drawing
from flushwork.views.figures import (
    NO_BREAK,
    TO,
    clean,
    counted,
    duration,
    grams,
    joined,
    no_longer_than,
    volume,
)
from flushwork.views.pour_views import own_notes, pour_view
from flushwork.views.warning_lines import bites

PICTURE: Final = Space(44.0, 34.0)


def pour_sheet(
    context: ViewContext,
    card: Gathered,
    arts: Mapping[str, FaceArt],
    letters: Mapping[str, str],
    views: Sequence[StageView],
    how_to: Sequence[HowToView],
) -> PourSheet:
    """Return the sheet of pours that follow each other."""
    numbers = {stage.number for stage in card.own}
    day = day_of(context, card.own)
    pours = [pour for pour in context.build.pours if pour.stage in numbers]
    told = [_card(context, pour, arts, letters, views, how_to, day) for pour in pours]
    alike = (
        [line for line in told[0].bites if all(line in each.bites for each in told)] if told else []
    )
    details = {each.step.detail for each in told}
    detail = details.pop() if len(told) > 1 and len(details) == 1 else ""
    scales = [each.scale for each in told]
    scale = max(scales, key=scales.count, default="")
    names = joined([str(pour.number) for pour in pours])
    measured = {stage.number for stage in card.own} - {pour.stage for pour in pours}
    return PourSheet(
        heading=(f"Pour {names}" if len(pours) == 1 else f"Pours {names}" if pours else "By hand")
        + (f", {clean(context.build.job.part)}" if context.build.job.part else "")
        + (f", {day}" if day else ""),
        facts=_facts(context, pours, _from_zero(told, pours, scale)),
        detail=detail,
        before=step_lines(
            context,
            [*card.before, *(stage for stage in card.own if stage.number in measured)],
            views,
            how_to,
            day,
        ),
        pours=tuple(
            replace(
                each,
                bites=tuple(line for line in each.bites if line not in alike),
                step=replace(
                    each.step, detail="" if each.step.detail == detail else each.step.detail
                ),
                scale="" if each.scale == scale else each.scale,
            )
            for each in told
        ),
        after=step_lines(context, card.after, views, how_to, day),
        bites=tuple(alike),
    )


def _from_zero(told: Sequence[PourCard], pours: Sequence[Pour], scale: str) -> str:
    """Return how a sheet's parts are measured; a scale is set to zero before each."""
    weighed = any(
        part.tool is not None
        and part.tool.kind is ToolKind.SCALE
        and clean(part.tool.name) == scale
        for pour in pours
        for part in (*pour.clear_parts, *pour.parts)
    )
    adds = all(not step.reads for each in told for step in (*each.clear_steps, *each.steps))
    return f"{scale}, zeroed each time" if weighed and adds else scale


def _card(
    context: ViewContext,
    pour: Pour,
    arts: Mapping[str, FaceArt],
    letters: Mapping[str, str],
    views: Sequence[StageView],
    how_to: Sequence[HowToView],
    day: str,
) -> PourCard:
    view = pour_view(context, pour, letters)
    (step,) = step_lines(
        context, [context.build.plan.stage(pour.stage)], views, how_to, day, on_card=True
    )
    tools = [each.tool for each in (*view.clear_steps, *view.steps)]
    scale = max(tools, key=tools.count, default="")
    return PourCard(
        number=pour.number,
        letter=view.letter,
        colour=view.colour,
        heading=view.heading,
        makes=_makes(pour),
        fills=_fills(pour, context.build.parted_into),
        step=step,
        picture=_picture(pour, arts),
        scale=scale,
        clear_steps=tuple(_spanned(each, scale) for each in view.clear_steps),
        colouring=view.colouring,
        steps=tuple(_spanned(each, scale) for each in view.steps),
        too_much=_made_good(view.overshoot) if view.overshoot else (),
        notes=own_notes(context, pour),
        bites=bites(view.warnings),
    )


def _spanned(step: MeasureStep, scale: str) -> MeasureStep:
    """Return a step as the card says it: its tool where it is not the one of the whole card.

    What another tool would show instead is on the page of the pours.
    """
    return replace(
        step,
        # the line before it names the resin
        what=HARDENER
        if step.what.endswith(f" {HARDENER}")
        else step.what.removesuffix(f" ({PIGMENT})"),
        tool="" if step.tool == scale else step.tool,
        reads="" if step.reads == step.add else step.reads,
        stop_between=step.stop_between.rpartition(NO_BREAK)[0].replace(" and ", TO),
        also=step.also if not step.reads and not step.tool else "",
    )


def _made_good(table: TableView) -> tuple[str, ...]:
    """Return a table of overshoots in few words: one of the resin, one of the hardener."""
    told: dict[str, str] = {}
    for row in table.rows:
        reads, then, between = (each.replace("reads ", "") for each in row)
        part = reads.partition(" ")[0]
        more = "" if between[0].isdigit() else f", {between}"
        if then.startswith("from zero"):
            then, more = f"add {between.removeprefix('at ')} resin", ""
        told.setdefault(part, f"{reads}: {then}{more}")
    return tuple(told.values())


def _makes(pour: Pour) -> str:
    if pour.out_of:
        takes = volume(pour.needed_cm3 + pour.allowance_cm3)
        return f"{takes} out of the cup of pour {pour.out_of}"
    cups = counted(pour.cups, "cup")
    return (
        f"{grams(pour.batch_g)}, {volume(pour.batch_cm3)}, {cups}; takes {duration(pour.working_s)}"
    )


def _fills(pour: Pour, parted: int) -> str:
    """Return what a pour fills, how much of it goes into one piece, or a plank of several."""
    told = [
        f"{clean(each.subject)} {volume(each.pocket_cm3 + each.over_cm3)}" for each in pour.serves
    ]
    if parted == 1:
        return f"{', '.join(told)} a piece"
    whole_cm3 = sum(each.pocket_cm3 + each.over_cm3 for each in pour.serves)
    return f"{', '.join(told)} a plank, {volume(whole_cm3 / parted)} a piece on average"


def _picture(pour: Pour, arts: Mapping[str, FaceArt]) -> Picture | None:
    faces = dict.fromkeys(each.face for each in pour.serves)
    face = next((name for name in faces if name in arts), None)
    if face is None:
        return None
    return pour_drawing(arts[face], [each.subject for each in pour.serves], PICTURE)


def _facts(context: ViewContext, pours: Sequence[Pour], scale: str) -> tuple[Fact, ...]:
    """Return what is to be known of the pours of a sheet, said once where it is alike."""
    clocks = [pour for pour in pours if not pour.out_of]
    lives = dict.fromkeys(
        no_longer_than(pour.pot_life_s or pour.mix.resin.pot_life_s) for pour in clocks
    )
    day = f"at {context.build.job.shop.air.day_c:.0f}\N{NO-BREAK SPACE}\N{DEGREE SIGN}C"
    told = (
        Fact("Pot life", f"{joined([*lives])} {day}" if lives else ""),
        Fact("", scale),
    )
    return tuple(fact for fact in told if fact.value)


def batches(pours: Sequence[Pour]) -> TableView:
    """Return how each batch comes about: a table to look things up in."""
    head = ("pour", "needed", "cup, walls, kept", "left over", "ratio within", "smallest")
    rows = tuple(
        (
            f"{pour.number} {clean(pour.mix.name)}",
            volume(pour.needed_cm3),
            volume(pour.allowance_cm3),
            grams(max(pour.surplus_g, 0.0)),
            f"{100.0 * pour.ratio_error:.1f}\N{NO-BREAK SPACE}%",
            grams(pour.smallest_g),
        )
        for pour in pours
        if not pour.out_of and pour.ratio_error < float("inf")
    )
    return TableView(head, rows, wide=(0,))
