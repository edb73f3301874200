"""The page of the job: its records, and how they come of what is in sight on the desk."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flushwork.bench.pages.things import keyed_findings
from flushwork.built import Build
from flushwork.core.findings import Finding, Severity
from flushwork.job.records import Job
from flushwork.process.stages import POURING
from flushwork.usecases.explain import CatalogueEntry, catalogue
from flushwork.views.book_records import (
    BoxView,
    CutListView,
    FindingView,
    Mark,
    PourView,
    SetupView,
    UnitSystem,
    VerdictView,
    YearView,
)
from flushwork.views.box.box_views import box_view
from flushwork.views.box.cut_list_views import cut_list_view
from flushwork.views.check_views import HEADINGS, MARKS, check_view, verdict
from flushwork.views.context import ViewContext, run_words, summary
from flushwork.views.drawing.drawing_marks import Space, tint
from flushwork.views.drawing.face_art import FaceArt, face_art
from flushwork.views.drawing.finding_pictures import Places
from flushwork.views.drawing.section_drawing import SectionLook
from flushwork.views.figures import clean, headed, joined
from flushwork.views.pour_views import pour_views
from flushwork.views.reference_views import recipe
from flushwork.views.setup_views import setup_views
from flushwork.views.stage_views import stage_views
from flushwork.views.year_views import year_view

# ---- What a page of the bench shows, in words and figures: all a template may know


@dataclass(frozen=True, slots=True)
class StripStage:
    """One stage of the strip; stage 0 is the blank as sawn.

    ``group`` counts the stretches of the strip: each begins with a setup, and what is done by hand
    after it belongs to it.  ``heading`` names the stretch, ``setup`` is its setup, 0 for none.
    """

    number: int
    kind: str
    face: str
    title: str
    because: str
    details: tuple[str, ...]
    wait: str
    colour: str
    warnings: tuple[str, ...]
    group: int = 0
    heading: str = "Blank"
    setup: int = 0


@dataclass(frozen=True, slots=True)
class EditView:
    """One key that a fix changes: its steps, the same in words, as written now and as proposed.

    ``was`` is empty where the key is not in the file; without ``value`` it is taken out, and
    ``told`` is the value in words.  ``number`` tells that another number may be put in its place.
    """

    steps: tuple[str, ...]
    words: str
    was: str
    value: str | None
    told: str | None
    number: bool


@dataclass(frozen=True, slots=True)
class FindingPin:
    """A finding in its place: ``picture`` is the number of its picture, -1 while there is none.

    ``drawn`` tells that its figure is drawn at its place as well; ``fixable`` that a fix for it
    may be looked for.  ``key`` is its address.
    """

    view: FindingView
    face: str
    x_mm: float
    y_mm: float
    picture: int
    sum: str
    drawn: bool = False
    fixable: bool = False
    key: str = ""


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """All findings of one weight."""

    mark: Mark
    heading: str
    pins: tuple[FindingPin, ...]


@dataclass(frozen=True, slots=True)
class SwatchView:
    """A mix with its letter and colour."""

    letter: str
    name: str
    colour: str
    recipe: str


@dataclass(frozen=True, slots=True)
class JobView:
    """The job as the head of the page shows it.

    ``others`` are the faces of its other parts: the part's number, the face, what is seen of it.
    """

    title: str
    summary: str
    parts: str
    others: tuple[tuple[int, str, str], ...]
    run: str
    file: str
    verdict: VerdictView
    swatches: tuple[SwatchView, ...]
    coarse: bool


# ---- From what is in sight on the desk to the records of its page


AS_SAWN = StripStage(
    number=0,
    kind="sawn",
    face="front",
    title="The blank as sawn",
    because="Every height counts from here.",
    details=(),
    wait="",
    colour="",
    warnings=(),
)
YEAR_MM = 180.0
"""Width of the year's picture before the page scales it."""
UNCHECKED = VerdictView("note", "Being checked", "This is the first picture; the check follows.")


def page_context(made: Build, units: UnitSystem, *, coarse: bool) -> ViewContext:
    """Return a build ready for its views."""
    return ViewContext(
        build=made,
        colours=made.palette.hex_by_mix(),
        causes={code: entry.cause for code, entry in entries().items()},
        units=units,
        schedule=made.schedule,
        dated=made.schedule is not None,
        coarse=coarse,
    )


def entries() -> dict[str, CatalogueEntry]:
    """Return the catalogue of findings, or nothing where its page is missing."""
    try:
        return catalogue()
    except OSError:
        return {}


def job_view(context: ViewContext) -> JobView:
    """Return the head of the page."""
    job, made = context.build.job, context.build
    return JobView(
        title=clean(job.title),
        summary=summary(job, made.faces, context.lengths),
        parts=_parts_words(job),
        others=tuple(
            (number, face.name, f"{headed(part.job.part, ', ')}{face.name}, as it will be seen")
            for number, part in enumerate(made.parts)
            for face in part.faces
            if face.worked and not context.coarse
        ),
        run=run_words(made),
        file=job.file,
        verdict=UNCHECKED if context.coarse else verdict(made.findings),
        swatches=tuple(
            SwatchView(
                letter=context.letters[mix.name],
                name=clean(mix.name),
                colour=made.palette.mixes[mix.name].hex,
                recipe=recipe(mix),
            )
            for mix in job.mixes
            if mix.name in context.letters
        ),
        coarse=context.coarse,
    )


def _parts_words(job: Job) -> str:
    """Return what the page shows of a job of several parts; nothing for an only one."""
    if not job.parts:
        return ""
    others = clean(joined([part.part for part in job.parts]))
    return (
        f"This page shows {clean(job.part)}, its steps and days. {headed(others)}checked, poured "
        "and planned with it; steps, days and cards are in the book, keys in the text."
    )


def strip(context: ViewContext) -> tuple[StripStage, ...]:
    """Return the stages for the strip, the blank as sawn before them."""
    views = stage_views(context, context.letters, context.lengths)
    colours, groups = _colours(context), _groups(context.build)
    return (
        AS_SAWN,
        *(
            StripStage(
                number=view.number,
                kind=str(stage.kind),
                face=view.face,
                title=view.title,
                because=view.because,
                details=view.details,
                wait=view.wait,
                colour=colour,
                warnings=view.warnings,
                group=group,
                heading=heading,
                setup=setup,
            )
            for view, stage, colour, (group, heading, setup) in zip(
                views, context.build.plan.stages, colours, groups, strict=True
            )
        ),
    )


def _groups(made: Build) -> list[tuple[int, str, int]]:
    """Return for each stage the stretch of the strip it lies in: its number, name and setup."""
    setup, group, heading = 0, 1, "By hand"
    result = []
    for stage in made.plan.stages:
        if stage.setup and stage.setup != setup:
            setup, group = stage.setup, group + 1
            heading = f"Setup {setup}, {made.plan.setup(setup).face}"
        result.append((group, heading, setup))
    return result


def _colours(context: ViewContext) -> list[str]:
    """Return the colour of each stage: of what was poured last, or of what is to be poured."""
    mixes = context.build.palette.mixes
    held = {inlay.name: inlay.mix.name for inlay in context.build.job.inlays}
    result: list[str] = []
    last = ""
    for stage in context.build.plan.stages:
        if stage.kind in POURING:
            last = stage.mix
        own = next((held[subject] for subject in stage.subjects if subject in held), last)
        mix = stage.mix or own
        result.append(mixes[mix].hex if mix in mixes else "")
    return result


def check(context: ViewContext) -> tuple[CheckGroup, ...]:
    """Return the check, heaviest first, each finding with its picture's number."""
    groups: list[CheckGroup] = []
    number = 0
    keys = {id(finding): key for key, finding in keyed_findings(context.build)}
    for severity in Severity:
        pins: list[FindingPin] = []
        for index, finding in enumerate(context.build.findings):
            if finding.severity is severity:
                here = finding.place is not None and not finding.part
                number += here
                shown = number if here else 0
                pin = _pin(context, finding, index, shown)
                pins.append(replace(pin, key=keys[id(finding)]))
        if pins:
            groups.append(CheckGroup(MARKS[severity], HEADINGS[severity], tuple(pins)))
    return tuple(groups)


def places_of(context: ViewContext) -> Places:
    """Return what the pictures of findings are taken from."""
    wood = tint(context.build.palette.wood.hex, 0.35)
    look = SectionLook(wood, context.colours, context.letters)
    return Places(arts(context), context.build.replay, look, context.lengths)


def _pin(context: ViewContext, finding: Finding, index: int, number: int) -> FindingPin:
    # the page shows the faces of the first part
    place = finding.place if not finding.part else None
    entry = entries().get(finding.code)
    worked = {face.name for face in context.build.faces}
    told = check_view((finding,), {}, context.causes, context.lengths, Space(1.0, 1.0))
    return FindingPin(
        view=replace(told.groups[0].findings[0], number=number),
        face=place.face if place else "",
        x_mm=place.x_mm if place else 0.0,
        y_mm=place.y_mm if place else 0.0,
        picture=-1 if context.coarse or finding.part else index,
        drawn=not context.coarse and place is not None and place.face in worked,
        sum=clean(entry.sum) if entry else "",
        fixable=not context.coarse
        and not finding.part
        and finding.severity is not Severity.NOTE
        and finding.accepted is None,
    )


def arts(context: ViewContext) -> dict[str, FaceArt]:
    """Return both faces ready for drawing."""
    return {
        face.name: face_art(
            context.build.job, face, context.build.fits, context.colours, context.letters
        )
        for face in context.build.faces
    }


def setups(context: ViewContext) -> tuple[SetupView, ...]:
    """Return the card of every setup."""
    return setup_views(context, arts(context), context.lengths)


def pours(context: ViewContext) -> tuple[PourView, ...]:
    """Return the card of every pour."""
    return pour_views(context, context.letters)


def year(context: ViewContext) -> YearView:
    """Return what a year where it will live does to the board."""
    return year_view(context.build, YEAR_MM, context.lengths)


def cut_list(context: ViewContext) -> CutListView | None:
    """Return what is sawn out of which board."""
    return cut_list_view(context.build, YEAR_MM, context.lengths)


def box(context: ViewContext) -> BoxView | None:
    """Return the box around the board: its sizes, drawings, saw cuts and gluing."""
    return box_view(context.build, context.lengths, arts(context))
