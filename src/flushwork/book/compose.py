"""The whole book as view records: where the pieces of a build become words and pictures."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from flushwork.book.card_steps import begins, gathered, how_to_views
from flushwork.book.care import care_view
from flushwork.book.day_strip import days_view
from flushwork.book.face_pages import finished_look, map_page, seen_page
from flushwork.book.figure_chapters import bits_view, cost_view, odds_view
from flushwork.book.light_views import light_view
from flushwork.book.parts_in_one import PartBook, in_one
from flushwork.book.pour_cards import batches, pour_sheet
from flushwork.book.run_sheet import run_sheet
from flushwork.book.setup_cards import setup_card
from flushwork.book.shopping import buy_groups, lay_out_lines
from flushwork.built import Build
from flushwork.checks.catalogue import catalogue
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.no_return_points import Risk
from flushwork.core.units import System
from flushwork.core.units.shown import shown_data
from flushwork.job.text.dump import resolved_text
from flushwork.process.bright_lines import BrightLine, bright_lines
from flushwork.schedule.cost_table import CostTable
from flushwork.schedule.schedule import Schedule
from flushwork.strata.section import section
from flushwork.views.book_records import (
    BookView,
    CardView,
    HowToView,
    LightView,
    PageSize,
    SectionView,
    SheetView,
    StageView,
    UnitSystem,
)
from flushwork.views.box.box_drawings import corner_sheet
from flushwork.views.box.box_views import box_view
from flushwork.views.box.cut_list_views import cut_list_view
from flushwork.views.check_views import check_view, no_returns_view
from flushwork.views.context import ViewContext, live_space, page_of
from flushwork.views.drawing.drawing_marks import Space, tint
from flushwork.views.drawing.face_art import FaceArt, face_art, mix_letters
from flushwork.views.drawing.face_drawings import as_drawn
from flushwork.views.drawing.finding_pictures import Places
from flushwork.views.drawing.outline_sheet import outline_sheet
from flushwork.views.drawing.section_drawing import SectionLook, section_drawing, section_layers
from flushwork.views.drawing.tricky_places import tricky_places
from flushwork.views.figures import Lengths, clean
from flushwork.views.reference_views import (
    hole_groups,
    settings,
    thickness_table,
)
from flushwork.views.setup_views import files_of
from flushwork.views.stage_views import stage_views
from flushwork.views.warning_lines import (
    SAFETY_FIRST,
    bites,
    pour_warnings,
    safety_lines,
    setup_warnings,
)
from flushwork.views.year_views import year_view

PLACES_HEIGHT_MM = 60.0
COVER_MM, LEAST_COVER_MM, MOST_COVER_MM = 64.0, 34.0, 110.0
"""How wide and high the pictures of page 1 may be, which long runs leave less room."""

LONGEST_MARK = 18


def view_of(context: ViewContext, others: Sequence[ViewContext] = ()) -> BookView:
    """Return the shop book of a build, in the units of its shop; ``others`` are further parts."""
    reads = replace(context.build.job.shop.reads, system=System(context.units))
    made = _of_parts(context, others) if others else _in_metric(context)
    view: BookView = shown_data(made, reads, ("setup",))
    return view


def _of_parts(context: ViewContext, others: Sequence[ViewContext]) -> BookView:
    """Return the book of a job of several parts; ``context`` has the findings of them all."""
    found = context.build.findings
    own = tuple(each for each in found if not each.part)
    parts = (replace(context, build=replace(context.build, findings=own)), *others)
    told = [(each, stage_views(each, each.letters, each.lengths)) for each in parts]
    how_to = how_to_views(*told)
    books: list[PartBook] = []
    pins = 0
    for each in parts:
        view = _in_metric(each, how_to, pins)
        pins += sum(finding.place is not None for finding in each.build.findings)
        starts = begins(each.schedule)
        rows = tuple(
            min((starts.get(stage.number, 0) for stage in card.own), default=0)
            for card in gathered(each)
        )
        books.append(PartBook(each, view, rows))
    return in_one(context, books)


def _in_metric(
    context: ViewContext, how_to: tuple[HowToView, ...] | None = None, pins: int = 0
) -> BookView:
    """Return the book of one part, or the only one; ``how_to`` is what all parts have in common."""
    job = context.build.job
    letters = mix_letters(job)
    lengths = Lengths(context.units)
    worked = tuple(face for face in context.build.faces if face.worked)
    arts: dict[str, FaceArt] = {
        face.name: face_art(job, face, context.build.fits, context.colours, letters)
        for face in context.build.faces
    }
    shown = tuple(arts[face.name] for face in worked)
    live = context.live()
    places = Space((live.width_mm - 6.0) / 2.0, PLACES_HEIGHT_MM)
    wood = tint(job.blank.wood.colour, 0.35)
    views = stage_views(context, letters, lengths)
    how_to = how_to_views((context, views)) if how_to is None else how_to
    rows = sum(max(1, len(card.own)) for card in gathered(context))
    small = Space(COVER_MM, max(LEAST_COVER_MM, (MOST_COVER_MM - 4.0 * rows) / max(len(shown), 1)))
    seen = Places(arts, context.build.replay, SectionLook(wood, context.colours, letters), lengths)
    return BookView(
        pngs=context.pictures,
        page=context.page,
        units=context.units,
        title=clean(job.title),
        mark=_mark(clean(job.title)),
        today=context.today,
        run=run_sheet(
            context,
            tuple(finished_look(context, art, small) or as_drawn(art, small) for art in shown),
            lengths,
        ),
        buy=buy_groups(context, lengths),
        lay_out=lay_out_lines(context, lengths),
        cards=_cards(context, arts, letters, views, how_to),
        how_to=how_to,
        safety=SAFETY_FIRST,
        safety_lines=safety_lines(_told(context, views)),
        dye_bites=bites(_dyed(context)),
        check=check_view(context.build.findings, arts, context.causes, lengths, places, seen, pins),
        maps=tuple(map_page(context, face, arts[face.name], letters, lengths) for face in worked),
        seen=tuple(seen_page(context, art) for art in shown),
        sections=context.sections,
        holes=hole_groups(context, lengths),
        hole_note=(
            "x and y are measured from the lower left corner of the blank, looking at the face "
            f"named; in {lengths.head}."
        ),
        sheets=(
            *(outline_sheet(art, context.sheet(), inch=context.units == "inch") for art in shown),
            *_corner(context, lengths),
        ),
        thickness_table=thickness_table(
            context.build.replay.thickness_table, context.build.plan, lengths
        ),
        thickness_note=(
            "Heights count up out of a face from its as-sawn plane, so a lowered face stands "
            "below zero. Every depth in this book refers to a line of this table."
        ),
        settings=settings(job, lengths),
        resolved=clean(context.resolved),
        care=care_view(job),
        batches=batches(context.build.pours),
        light=context.light,
        days=days_view(context.schedule, context.build.plan, live)
        if context.schedule is not None
        else None,
        cost=cost_view(context.costs) if context.costs is not None else None,
        odds=odds_view(context.risk.odds, arts, lengths, places) if context.risk else None,
        no_returns=no_returns_view(context.risk, live)
        if context.risk and context.risk.points
        else None,
        cut_list=cut_list_view(context.build, live.width_mm, lengths),
        box=box_view(context.build, lengths, arts),
        year=year_view(context.build, live.width_mm, lengths),
        bits=bits_view(
            context.build.gcode_files, context.build.bit_sets, inch=context.units == "inch"
        ),
    )


def _corner(context: ViewContext, lengths: Lengths) -> tuple[SheetView, ...]:
    """Return the true-size corner of the box, where it has splines."""
    made = box_of_build(context.build)
    sheet = corner_sheet(made, context.sheet(), lengths) if made is not None else None
    return (sheet,) if sheet is not None else ()


def _mark(title: str) -> str:
    """Return the first words of a title, which every page carries so that none is mixed up."""
    return textwrap.shorten(title, LONGEST_MARK, placeholder="")


def _cards(
    context: ViewContext,
    arts: Mapping[str, FaceArt],
    letters: Mapping[str, str],
    views: tuple[StageView, ...],
    how_to: tuple[HowToView, ...],
) -> tuple[CardView, ...]:
    """Return the cards in the order of work."""
    machine = context.build.job.shop.machine_reads
    return tuple(
        CardView(
            shown_data(setup_card(context, card, arts, Lengths("metric"), views, how_to), machine),
            None,
        )
        if card.setup
        else CardView(None, pour_sheet(context, card, arts, letters, views, how_to))
        for card in gathered(context)
    )


def _told(context: ViewContext, views: tuple[StageView, ...]) -> tuple[tuple[str, ...], ...]:
    """Return every line of warning of the book, where it is told first before where it is again."""
    made = context.build.plan.setups
    cards = [
        setup_warnings(context.build.job, context.build.plan, each, files_of(context, each))
        for each in made
    ]
    pours = [
        pour_warnings(context.build.job, context.build.plan, pour) for pour in context.build.pours
    ]
    return (*(view.warnings for view in views), *cards, *pours, _dyed(context))


def _dyed(context: ViewContext) -> tuple[str, ...]:
    return context.light.dyed.warnings if context.light and context.light.dyed else ()


# ---- From a build to the book's view records: the door of this room


SECTION_MM: Final = 66.0
"""Greatest height on paper of a section: three share a page."""

MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def book_view(
    made: Build,
    pictures: Mapping[str, bytes],
    today: date,
    *,
    costs: CostTable | None = None,
    risk: Risk | None = None,
    other_risks: Sequence[Risk | None] = (),
) -> BookView:
    """Return the shop book of a build; ``pictures`` are those of ``views.drawing.pictures``.

    They are looked at only by who prints the book, and may be put in its ``pngs`` later.

    ``costs`` and ``risk`` are told of where they are given, ``other_risks`` of the further parts.
    """
    if not made.parts:
        return view_of(_context(made, pictures, today, costs, risk))
    risks = other_risks or [None] * len(made.parts)
    others = [
        _context(
            replace(part, findings=tuple(each for each in made.findings if each.part == name)),
            _pictures_of(name, pictures),
            today,
            None,
            at_risk,
        )
        for part, at_risk in zip(made.parts, risks, strict=True)
        for name in (part.job.part,)
    ]
    whole = _context(made, _pictures_of(made.job.part, pictures), today, costs, risk)
    view = view_of(whole, others)
    return replace(view, pngs=pictures)


def _pictures_of(part: str, pictures: Mapping[str, bytes]) -> dict[str, bytes]:
    before = f"{part}-"
    own = ((name, data) for name, data in pictures.items() if name.startswith(before))
    return {name.removeprefix(before): data for name, data in own}


def _context(
    made: Build,
    pictures: Mapping[str, bytes],
    today: date,
    costs: CostTable | None,
    risk: Risk | None,
) -> ViewContext:
    units: UnitSystem = made.job.shop.units.value
    page = page_of(units)
    colours = made.palette.hex_by_mix()
    lines = bright_lines(made.job, made.faces, made.plan.planes)
    return ViewContext(
        build=made,
        today=f"{today.day} {MONTHS[today.month - 1]} {today.year}",
        colours=colours,
        pictures=pictures,
        sections=_sections(made, colours, page),
        causes={code: entry.cause for code, entry in catalogue().items()},
        resolved=resolved_text(made.job),
        page=page,
        units=units,
        lines=lines,
        light=_light(made, lines, pictures, page, units),
        schedule=_schedule(made),
        costs=costs,
        risk=risk,
    )


def _schedule(made: Build) -> Schedule | None:
    plan = made.schedule
    return plan if plan is not None and plan.hindrance is None and plan.steps else None


def _light(
    made: Build,
    lines: tuple[BrightLine, ...],
    pictures: Collection[str],
    page: PageSize,
    units: UnitSystem,
) -> LightView | None:
    if not made.replay.states or not any(face.inlays for face in made.faces):
        return None
    return light_view(made, lines, pictures, live_space(page), Lengths(units))


def _sections(made: Build, colours: Mapping[str, str], page: PageSize) -> tuple[SectionView, ...]:
    """Cut the replayed board through its tricky places."""
    if not made.replay.states:
        return ()
    look = SectionLook(tint(made.palette.wood.hex, 0.35), colours, mix_letters(made.job))
    space = Space(live_space(page).width_mm, SECTION_MM)
    result: list[SectionView] = []
    for place in tricky_places(made.faces, made.findings):
        cut = section(made.replay.final, made.replay.spec, place.face, place.start, place.end)
        result.append(
            SectionView(
                heading=place.heading,
                picture=section_drawing(
                    cut,
                    look,
                    space,
                    f"Section: {place.heading}",
                    inch=made.job.shop.units is System.INCH,
                ),
                layers=section_layers(cut, look),
                note=place.note,
            )
        )
    return tuple(result)
