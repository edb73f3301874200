"""From a build to the book's view records: the door of this room."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date
from typing import Final

from flushwork.book.compose import view_of
from flushwork.book.light_views import light_view
from flushwork.built import Build
from flushwork.checks.catalogue import catalogue
from flushwork.checks.risk import Risk
from flushwork.core.units import System
from flushwork.job.text.dump import resolved_text
from flushwork.process.bright_lines import BrightLine, bright_lines
from flushwork.schedule.cost_table import CostTable
from flushwork.schedule.schedule import Schedule
from flushwork.strata.section import section
from flushwork.views.book_records import BookView, LightView, PageSize, SectionView, UnitSystem
from flushwork.views.context import ViewContext, live_space, page_of
from flushwork.views.drawing.drawing_marks import Space, tint
from flushwork.views.drawing.face_art import mix_letters
from flushwork.views.drawing.section_drawing import SectionLook, section_drawing, section_layers
from flushwork.views.drawing.tricky_places import tricky_places
from flushwork.views.figures import Lengths

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
    page: PageSize | None = None,
    costs: CostTable | None = None,
    risk: Risk | None = None,
) -> BookView:
    """Return the shop book of a build; ``pictures`` are those of ``book.pictures.pictures_of``.

    They are looked at only by who prints the book, and may be put in its ``pngs`` later.

    ``page`` is US Letter in a shop that reads inches and A4 in another, where it is left out;
    ``costs`` and ``risk`` are told of where they are given.
    """
    units: UnitSystem = made.job.shop.units.value
    page = page or page_of(units)
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
