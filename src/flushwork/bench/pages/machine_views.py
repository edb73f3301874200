"""The stages as screens for a phone beside the machine: one step each."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.bench.pages.odds_on_page import Stakes
from flushwork.bench.pages.whole_page import arts, pours, strip
from flushwork.core.units.factors import MINUTE_S
from flushwork.core.words import plural
from flushwork.process.stages import POURING, Stage, StageKind
from flushwork.resin.pours import Pour
from flushwork.usecases.plan import about, planned_waits
from flushwork.views.book_records import CutFileView, Fact, GateView, PourView
from flushwork.views.context import ViewContext
from flushwork.views.figures import clean, grams, joined
from flushwork.views.setup_steps import step_checks, step_facts
from flushwork.views.setup_views import mounting_views
from flushwork.views.stage_views import ticks


@dataclass(frozen=True, slots=True)
class TimerView:
    """A timer a step can start."""

    name: str
    lasts_s: float


@dataclass(frozen=True, slots=True)
class ScreenView:
    """One step: ``key`` is what the log knows it by, ``after`` the title of the step that follows.

    ``have_ready`` is what that one needs.  ``checks`` are to be looked at before pressing start;
    ``files`` run in this step, ``facts`` are those of its mounting's card and ``pours`` the cards
    of what is poured in it.  ``gate`` says what is at stake where there is no way back from it,
    ``gate_after`` where there is none from the step that follows.
    """

    number: int
    key: str
    kind: str
    face: str
    title: str
    because: str
    details: tuple[str, ...]
    colour: str
    cautions: tuple[str, ...]
    pieces: tuple[str, ...]
    timers: tuple[TimerView, ...]
    checks: tuple[str, ...]
    files: tuple[CutFileView, ...]
    after: str
    have_ready: tuple[str, ...] = ()
    gate: GateView | None = None
    gate_after: GateView | None = None
    facts: tuple[Fact, ...] = ()
    pours: tuple[PourView, ...] = ()


def screens(context: ViewContext, stakes: Stakes | None = None) -> tuple[ScreenView, ...]:
    """Return the screens of all stages, with their gates once the job is proved."""
    made = context.build
    cards = {
        card.number: card for card in mounting_views(context, arts(context), context.lengths)
    }
    stages = strip(context)[1:]
    mountings = {each.number: each for each in made.plan.mountings}
    measured = pours(context)
    begun: set[int] = set()
    result: list[ScreenView] = []
    for view, stage in zip(stages, made.plan.stages, strict=True):
        card = cards.get(stage.mounting)
        runs = {file.file_name for file in made.staged_files.get(stage.number, ())}
        first = stage.mounting not in begun
        begun.add(stage.mounting)
        checks: tuple[str, ...] = card.checks if card is not None and first else ()
        if card is not None and runs and not first:
            checks = step_checks(mountings[card.number], made.plan.stages, stage.number)
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
                cautions=view.cautions,
                pieces=ticks(made.job),
                timers=_timers(context, stage.number),
                checks=checks,
                files=tuple(file for file in card.files if file.file_name in runs) if card else (),
                after=stages[view.number].title if view.number < len(stages) else "",
                have_ready=_needs(context, view.number + 1),
                gate=stakes.gate(view.number) if stakes else None,
                gate_after=stakes.gate(view.number + 1) if stakes else None,
                facts=step_facts(card, context, stage.number, context.lengths)
                if card
                else (),
                pours=tuple(pour for pour in measured if pour.stage == stage.number),
            )
        )
    return tuple(result)


def _needs(context: ViewContext, number: int) -> tuple[str, ...]:
    """Return what a stage needs at hand: cutters, or batches to be measured, or what to mount."""
    made = context.build
    stage = next((each for each in made.plan.stages if each.number == number), None)
    if stage is None:
        return ()
    before = next((each for each in made.plan.stages if each.number == number - 1), None)
    turned = before is not None and before.face != stage.face and stage.mounting > 0
    tools = dict.fromkeys(file.order.cutter.name for file in made.staged_files.get(number, ()))
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
