"""The whole book as view records: where the pieces of a build become words and pictures."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date
from typing import Final

from flushwork.art.drawn import DrawnFace
from flushwork.book.card_steps import gathered, how_to_views
from flushwork.book.care import care_view
from flushwork.book.day_strip import days_view
from flushwork.book.figure_chapters import bits_view, cost_view, odds_view
from flushwork.book.light_views import light_view
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
from flushwork.job.records import FaceName
from flushwork.job.text.dump import resolved_text
from flushwork.process.bright_lines import BrightLine, bright_lines
from flushwork.schedule.cost_table import CostTable
from flushwork.schedule.schedule import Schedule
from flushwork.strata.section import section
from flushwork.views.book_records import (
    BookView,
    CardView,
    FaceMapView,
    HowToView,
    LightView,
    PageSize,
    Picture,
    SectionView,
    SeenView,
    SheetView,
    StageView,
    UnitSystem,
)
from flushwork.views.box.box_drawings import corner_sheet
from flushwork.views.box.box_views import box_view
from flushwork.views.check_views import check_view, no_returns_view
from flushwork.views.context import ViewContext, live_space, page_of
from flushwork.views.cut_list_views import cut_list_view
from flushwork.views.drawing.drawing_marks import Space, tint
from flushwork.views.drawing.face_art import FaceArt, face_art, mix_letters
from flushwork.views.drawing.face_drawings import as_drawn, colour_map, kept
from flushwork.views.drawing.finding_pictures import Places
from flushwork.views.drawing.outline_sheet import outline_sheet
from flushwork.views.drawing.pictures import finished_name
from flushwork.views.drawing.section_drawing import SectionLook, section_drawing, section_layers
from flushwork.views.drawing.tricky_places import tricky_places
from flushwork.views.figures import Lengths, clean
from flushwork.views.reference_views import (
    hole_groups,
    hole_lines,
    legend,
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

SEEN_TEXT_MM = 45.0
MAP_TEXT_MM = 52.0
"""Room on a colour map's page for heading, captions, grain arrows and the closing note."""

LEAST_MAP_MM = 62.0
"""Where the legend leaves a map less, it goes to a page of its own."""

LONGEST_MARK = 18
BETWEEN_MM = 6.0
"""Gap between pictures that stand beside each other."""


def view_of(context: ViewContext) -> BookView:
    """Return the shop book of a build, in the units of its shop."""
    reads = replace(context.build.job.shop.reads, system=System(context.units))
    view: BookView = shown_data(_in_metric(context), reads, ("setup",))
    return view


def _in_metric(context: ViewContext) -> BookView:
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
    how_to = how_to_views(context, views)
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
            tuple(_look(context, art, small) or as_drawn(art, small) for art in shown),
            lengths,
        ),
        buy=buy_groups(context, lengths),
        lay_out=lay_out_lines(context, lengths),
        cards=_cards(context, arts, letters, views, how_to),
        how_to=how_to,
        safety=SAFETY_FIRST,
        safety_lines=safety_lines(_told(context, views)),
        dye_bites=bites(_dyed(context)),
        check=check_view(context.build.findings, arts, context.causes, lengths, places, seen),
        maps=tuple(_map(context, face, arts[face.name], letters, lengths) for face in worked),
        seen=tuple(_seen(context, art) for art in shown),
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


def _map(
    context: ViewContext,
    face: DrawnFace,
    art: FaceArt,
    letters: Mapping[str, str],
    lengths: Lengths,
) -> FaceMapView:
    """Return the colour map of a face, sized so that its views share a page with the legend."""
    live = context.live()
    inlays: dict[str, int] = {}
    for drawn in face.inlays:
        inlays[drawn.inlay.mix.name] = inlays.get(drawn.inlay.mix.name, 0) + 1
    legend_mm = sum(2.0 + max(11.0, 8.5 * count) for count in inlays.values())
    room_mm = (
        live.height_mm
        - MAP_TEXT_MM
        - legend_mm
        - 5.0 * (len(face.holes) + len(face.pockets) + len(face.edges))
    )
    if room_mm < 2.0 * LEAST_MAP_MM:
        room_mm = live.height_mm - MAP_TEXT_MM
    space, beside = _half(Space(live.width_mm, room_mm), art)
    return FaceMapView(
        face=face.name,
        heading=f"{face.name.capitalize()} face",
        working=colour_map(art, space, behind=False),
        behind=colour_map(art, space, behind=True),
        legend=legend(context, art, letters, lengths),
        holes=hole_lines(context, face, lengths),
        beside=beside,
    )


def _half(space: Space, art: FaceArt) -> tuple[Space, bool]:
    """Return the half of a space in which a face shows larger, and whether it is the side half."""
    below = Space(space.width_mm, space.height_mm / 2.0)
    beside = Space((space.width_mm - BETWEEN_MM) / 2.0, space.height_mm)

    def scale(half: Space) -> float:
        return min(half.width_mm / art.length_mm, half.height_mm / art.width_mm)

    return (beside, True) if scale(beside) > scale(below) else (below, False)


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


def _seen(context: ViewContext, art: FaceArt) -> SeenView:
    live = context.live()
    space, beside = _half(Space(live.width_mm, live.height_mm - SEEN_TEXT_MM), art)
    return SeenView(
        face=art.name,
        heading=f"{art.name.capitalize()} face",
        drawn=as_drawn(art, space),
        seen=_look(context, art, space),
        note=(
            "The second picture is the replay of the G-code files themselves, cut, filled, milled "
            "flush and sanded to the final plane."
        ),
        beside=beside,
    )


def _look(context: ViewContext, art: FaceArt, space: Space) -> Picture | None:
    """Return the finished look of a face, at the size its drawing has."""
    png = finished_name(_face(art))
    if png not in context.pictures:
        return None
    left, low, right, top = kept(art)
    scale = min(space.width_mm / (right - left), space.height_mm / (top - low))
    alt = f"The {art.name} face as it will be seen, replayed from the G-code files"
    caption = "As it will be seen"
    return Picture(alt, caption, (right - left) * scale, (top - low) * scale, png=png)


def _face(art: FaceArt) -> FaceName:
    return art.name


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
) -> BookView:
    """Return the shop book of a build; ``pictures`` are those of ``views.drawing.pictures``.

    They are looked at only by who prints the book, and may be put in its ``pngs`` later.

    ``costs`` and ``risk`` are told of where they are given.
    """
    units: UnitSystem = made.job.shop.units.value
    page = page_of(units)
    colours = made.palette.hex_by_mix()
    lines = bright_lines(made.job, made.faces, made.plan.planes)
    return view_of(
        ViewContext(
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
