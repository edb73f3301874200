"""The stages as screens for a phone beside the machine: one step each."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.bench.pages.odds_on_page import Stakes
from flushwork.bench.pages.whole_page import arts, pours, strip
from flushwork.core.units.kinds import MINUTE_S
from flushwork.core.words import plural
from flushwork.process.stages import POURING, Stage, StageKind
from flushwork.resin.pours import Pour
from flushwork.usecases.plan import about, planned_waits
from flushwork.views.book_records import Fact, GcodeFileView, NoReturnView, PourView, SetupView
from flushwork.views.context import ViewContext
from flushwork.views.figures import clean, grams, joined
from flushwork.views.setup_details import step_checks, step_facts
from flushwork.views.setup_views import setup_views
from flushwork.views.stage_views import card_of, stage_views, ticks


@dataclass(frozen=True, slots=True)
class TimerView:
    """A timer a step can start."""

    name: str
    lasts_s: float


@dataclass(frozen=True, slots=True)
class ScreenView:
    """One step: ``key`` is what the log knows it by, ``after`` the title of the step that follows.

    ``have_ready`` is what that one needs.  ``checks`` are to be looked at before pressing start;
    ``files`` run in this step, ``facts`` are those of its setup's card and ``pours`` the cards
    of what is poured in it.  ``do`` is done in that order once what to ``lay_out`` is at hand;
    ``good`` tells when it is, ``if_not`` what helps where it is not.  ``setup`` is the card of the
    setup that begins here.  ``no_return`` says what is at stake where this step is a point of no
    return, ``no_return_after`` where the one that follows is.
    """

    number: int
    key: str
    kind: str
    face: str
    title: str
    because: str
    details: tuple[str, ...]
    colour: str
    warnings: tuple[str, ...]
    pieces: tuple[str, ...]
    timers: tuple[TimerView, ...]
    checks: tuple[str, ...]
    files: tuple[GcodeFileView, ...]
    after: str
    have_ready: tuple[str, ...] = ()
    no_return: NoReturnView | None = None
    no_return_after: NoReturnView | None = None
    facts: tuple[Fact, ...] = ()
    pours: tuple[PourView, ...] = ()
    lay_out: str = ""
    do: tuple[str, ...] = ()
    good: str = ""
    if_not: str = ""
    setup: SetupView | None = None


def screens(context: ViewContext, stakes: Stakes | None = None) -> tuple[ScreenView, ...]:
    """Return the screens of all stages, with their points of no return once the job is checked."""
    made = context.build
    cards = {card.number: card for card in setup_views(context, arts(context), context.lengths)}
    stages = strip(context)[1:]
    told = {view.number: view for view in stage_views(context, context.letters, context.lengths)}
    setups = {each.number: each for each in made.plan.setups}
    measured = pours(context)
    begun: set[int] = set()
    result: list[ScreenView] = []
    for view, stage in zip(stages, made.plan.stages, strict=True):
        card = cards.get(stage.setup)
        runs = {file.file_name for file in made.staged_files.get(stage.number, ())}
        first = stage.setup not in begun
        begun.add(stage.setup)
        checks: tuple[str, ...] = card.checks if card is not None and first else ()
        if card is not None and runs and not first:
            checks = step_checks(setups[card.number], made.plan.stages, stage.number)
        how = card_of(made.plan, stage, made.job.allowances)
        result.append(
            ScreenView(
                number=view.number,
                key=f"{view.title} ({view.face})",
                kind=view.kind,
                face=view.face,
                title=view.title,
                because=view.because,
                details=tuple(line for line in (*view.details, view.wait) if line),
                colour=view.colour,
                warnings=view.warnings,
                pieces=ticks(made.job),
                timers=_timers(context, stage.number),
                checks=checks,
                files=tuple(file for file in card.files if file.file_name in runs) if card else (),
                after=stages[view.number].title if view.number < len(stages) else "",
                have_ready=_needs(context, view.number + 1),
                no_return=stakes.no_return(view.number) if stakes else None,
                no_return_after=stakes.no_return(view.number + 1) if stakes else None,
                facts=step_facts(card, context, stage.number, context.lengths) if card else (),
                pours=tuple(pour for pour in measured if pour.stage == stage.number),
                lay_out=how.lay_out,
                do=tuple(line for line in (told[view.number].differs, *how.steps) if line),
                good=how.good,
                if_not=how.if_not,
                setup=card if first and stage.setup else None,
            )
        )
    return tuple(result)


def _needs(context: ViewContext, number: int) -> tuple[str, ...]:
    """Return what a stage needs at hand: bits, or batches to be measured, or what to set up."""
    made = context.build
    stage = next((each for each in made.plan.stages if each.number == number), None)
    if stage is None:
        return ()
    before = next((each for each in made.plan.stages if each.number == number - 1), None)
    turned = before is not None and before.face != stage.face and stage.setup > 0
    tools = dict.fromkeys(file.order.bit.name for file in made.staged_files.get(number, ()))
    pours = tuple(
        f"pour {pour.number}: {pour.mix.name}, "
        + (f"out of pour {pour.out_of}'s cup" if pour.out_of else grams(pour.batch_g))
        for pour in made.pours
        if pour.stage == number
    )
    over = (f"the board turned to its {stage.face}",) if turned else ()
    return tuple(clean(line) for line in (*over, *tools, *pours))


def _timers(context: ViewContext, number: int) -> tuple[TimerView, ...]:
    stage = context.build.plan.stage(number)
    lives = tuple(
        TimerView(clean(f"Pot life, {_poured(pour)}: {pour.mix.name}"), MINUTE_S * _life_min(pour))
        for pour in context.build.pours
        if pour.stage == number and pour.pot_life_s > 0.0 and pour.clock_of == pour.number
    )
    if stage.kind in POURING:
        return lives
    return (*lives, *_waits(context, stage))


def _poured(pour: Pour) -> str:
    """Return the pours that a clock runs for: one batch has one clock, begun at first contact."""
    numbers = [str(number) for number in (pour.number, *pour.clock_with)]
    return f"{plural(len(numbers), 'pour')} {joined(numbers)}"


def _life_min(pour: Pour) -> float:
    return float(pour.pot_life_min) or pour.pot_life_s / MINUTE_S


def _waits(context: ViewContext, stage: Stage) -> tuple[TimerView, ...]:
    """Return the timers of a wait: one where it is alike for all, none until the days tell it."""
    schedule = context.build.schedule
    waits = planned_waits(context.build.plan, schedule, stage)
    if len({each.minutes for each in waits}) == 1:
        return (TimerView(clean(stage.title), MINUTE_S * waits[0].minutes),)
    if waits:
        return tuple(
            TimerView(clean(f"{stage.title}: {about(each)}"), MINUTE_S * each.minutes)
            for each in waits
        )
    untold = stage.kind is StageKind.CURE and schedule is None
    if 0.0 < stage.lag_s < math.inf and not untold:
        return (TimerView(clean(stage.title), stage.lag_s),)
    return ()
