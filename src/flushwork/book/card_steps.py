"""Which stage stands on which card: the setups and pours in the order of work, hand work between.

Hand work before the first card stands at its head; any other follows the card before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from flushwork.core.units.kinds import DAY_MIN
from flushwork.job.records import Job
from flushwork.process.stages import Stage, StageKind
from flushwork.schedule.schedule import Schedule
from flushwork.views.book_records import HowToView, StageView, StepLine
from flushwork.views.context import ViewContext
from flushwork.views.day_sheets import entries_of
from flushwork.views.figures import clean, counted, duration, joined, numbers_text
from flushwork.views.stage_cards import Card
from flushwork.views.stage_views import card_of, ticks
from flushwork.views.warning_lines import bites

LONGEST = 56
"""Letters of a title on one line of a card; a longer one counts what it would name."""
POURED = (StageKind.FILL, StageKind.CAP)


@dataclass(slots=True)
class Gathered:
    """The stages of one card: ``setup`` is its setup's number, 0 for a sheet of pours."""

    setup: int
    before: list[Stage] = field(default_factory=list)
    own: list[Stage] = field(default_factory=list)
    after: list[Stage] = field(default_factory=list)


def gathered(context: ViewContext) -> tuple[Gathered, ...]:
    """Return every stage of the plan on its card, in the order of work."""
    cards: list[Gathered] = []
    waiting: list[Stage] = []
    poured = {pour.stage for pour in context.build.pours}
    for stage in context.build.plan.stages:
        pours = stage.kind in POURED or stage.number in poured
        if not stage.setup and not pours:
            (cards[-1].after if cards else waiting).append(stage)
            continue
        last = cards[-1] if cards else None
        if last is None or last.setup != stage.setup or last.after:
            cards.append(Gathered(stage.setup, before=waiting))
            waiting = []
        cards[-1].own.append(stage)
    return tuple(cards) if cards else (Gathered(0, before=waiting),) if waiting else ()


def short_title(stage: Stage) -> str:
    """Return a stage's title; one that names many things tells how many."""
    if len(stage.title) > LONGEST and len(stage.subjects) > 1:
        return clean(
            stage.title.replace(joined(stage.subjects), counted(len(stage.subjects), "inlay"))
        )
    return clean(stage.title)


def begins(schedule: Schedule | None) -> dict[int, int]:
    """Return when each stage first begins, in minutes from midnight of the first day."""
    found: dict[int, int] = {}
    for step in schedule.steps if schedule is not None else ():
        found[step.stage] = min(step.begin_min, found.get(step.stage, step.begin_min))
    return found


def moment(schedule: Schedule, minute: int) -> str:
    """Return a day and a clock time in few words."""
    days = schedule.days
    date = days.date(minute // DAY_MIN)
    day = f"{date:%a} {date.day} {date:%b}" if days.dated else f"day {minute // DAY_MIN + 1}"
    return f"{day}, {days.clock_text(minute)}"


def step_lines(
    context: ViewContext,
    stages: Sequence[Stage],
    views: Sequence[StageView],
    how_to: Sequence[HowToView],
    day: str,
    *,
    on_card: bool = False,
) -> tuple[StepLine, ...]:
    """Return the lines of some stages; what their how-to says already is left out of them.

    ``day`` stands at the head of the card, ``on_card`` tells that the card itself says what bites.
    """
    starts, names = begins(context.schedule), {each.name: each for each in how_to}
    lines: list[StepLine] = []
    for stage in stages:
        view = views[stage.number - 1]
        how = names[view.how]
        told = set(how.bites)
        start = starts.get(stage.number)
        when = ""
        if context.schedule is not None and start is not None:
            when = moment(context.schedule, start).removeprefix(f"{day}, ")
        own = tuple(line for line in bites(view.warnings) if line not in told)
        lines.append(
            StepLine(
                number=stage.number,
                title=short_title(stage),
                detail=view.differs.strip(),
                airing=_airing(stage),
                when=when,
                ticks=("",) if stage.kind is StageKind.CURE else boxes(context.build.job),
                how=how.number,
                bites=() if on_card else own,
                notes=view.touch_up,
            )
        )
    return tuple(lines)


def _airing(stage: Stage) -> str:
    """Return how the room is aired after a stage, where something gives off vapour that burns."""
    if not stage.airing_s:
        return ""
    dried = "Outdoors, or air" if stage.kind not in POURED else "Air the room"
    return f"{dried} {duration(stage.airing_s)}."


def boxes(job: Job) -> tuple[str, ...]:
    """Return the pieces in the order of work: the test pieces first, a lone one in full."""
    names = ticks(job)
    tests = ("test",) if job.test_pieces == 1 else names[job.pieces :]
    return tests + names[: job.pieces]


def day_of(context: ViewContext, stages: Sequence[Stage]) -> str:
    """Return the day on which the first of some stages begins, where days are planned."""
    starts = begins(context.schedule)
    first = min((starts[each.number] for each in stages if each.number in starts), default=None)
    if context.schedule is None or first is None:
        return ""
    return moment(context.schedule, first).partition(",")[0]


def turns_of(context: ViewContext, stages: Sequence[Stage]) -> tuple[str, ...]:
    """Return which stages each piece goes through before the next piece is taken."""
    if context.schedule is None:
        return ()
    numbers = {stage.number for stage in stages}
    told = dict.fromkeys(
        numbers_text({doing.stage for doing in entry.doings})
        for entry in entries_of(context.schedule)
        if len(entry.turns) > 1
        and len(entry.doings) > 1
        and numbers & {doing.stage for doing in entry.doings}
    )
    stages_text = ", then ".join(joined(list(each)) for each in told)
    return (f"Each piece: {stages_text}.",) if told else ()


Told = tuple[ViewContext, Sequence[StageView]]
"""A part of a job, and its stages in words."""


def how_to_views(*parts: Told) -> tuple[HowToView, ...]:
    """Return how each kind of work of a job's plans is done, in the order it is first met.

    What bites at every stage of a kind of hand work stands here; cards say their own.
    """
    found: dict[str, tuple[Card, list[tuple[Stage, StageView]]]] = {}
    for context, views in parts:
        for stage, view in zip(context.build.plan.stages, views, strict=True):
            card = card_of(context.build.plan, stage, context.build.job.allowances)
            found.setdefault(card.name, (card, []))[1].append((stage, view))
    result: list[HowToView] = []
    for at, (card, stages) in enumerate(found.values(), start=1):
        by_hand = [view for stage, view in stages if not stage.setup and stage.kind not in POURED]
        lines = [bites(view.warnings) for view in by_hand]
        common = [line for line in lines[0] if all(line in each for each in lines)] if lines else []
        result.append(
            HowToView(
                number=at,
                name=card.name,
                steps=card.steps,
                good=card.good,
                if_not=card.if_not,
                bites=tuple(common),
            )
        )
    return tuple(result)
