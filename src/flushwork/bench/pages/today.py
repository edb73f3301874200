"""Today: what was ticked last, what comes next, what to mix, and when the run is done by that.

The days are planned again from what is ticked: what is done lies in the past, the rest begins now.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from flushwork.bench.pages.day_wishes import BuildById, DayWishes, held_back, planned
from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.resume import Done, Progress
from flushwork.schedule.schedule import Schedule, Step
from flushwork.usecases.plan import planned_anew, schedule_options_of
from flushwork.views.figures import clean, grams, joined
from flushwork.views.stage_views import stage_keys, ticks

AGAIN_MIN: Final = 30
"""The rest is planned again after so long, whether something was ticked or not."""
LAST_TICKED: Final = 6
"""So many steps that were ticked last are told."""


@dataclass(frozen=True, slots=True)
class TickedView:
    """A step that was ticked: when in words (empty where nobody knows), for which pieces."""

    stage: int
    title: str
    pieces: str
    when: str


@dataclass(frozen=True, slots=True)
class NextView:
    """A step still to do on the day: when it begins, for which pieces, its pour if it has one."""

    stage: int
    title: str
    begins: str
    pieces: str
    manner: str


@dataclass(frozen=True, slots=True)
class MixView:
    """A batch to be mixed on the day."""

    pour: int
    mix: str
    colour: str
    batch: str
    begins: str


@dataclass(frozen=True, slots=True)
class TodayView:
    """One day at the bench.

    ``stage`` is the step the work is at, 0 where all is done; ``state`` says so in words.  ``day``
    names the day that is told of, which is another than today where the shop is shut.
    """

    state: str
    stage: int
    day: str
    next: tuple[NextView, ...]
    mixes: tuple[MixView, ...]
    ticked: tuple[TickedView, ...]
    done: str


def at_stage(made: Build, log: Mapping[str, Any]) -> int:
    """Return the step the work is at: the first not ticked for all pieces; 0 where all are.

    It is the first of all where nothing is ticked.
    """
    pieces = set(ticks(made.job))
    keys, ticked = stage_keys(made.plan), log.get("ticks", {})
    return next(
        (
            stage.number
            for stage in made.plan.stages
            if not pieces <= set(ticked.get(keys[stage.number], ()))
        ),
        0,
    )


def begun(log: Mapping[str, Any]) -> bool:
    """Whether anything is ticked."""
    return any(log.get("ticks", {}).values())


def state_words(made: Build, log: Mapping[str, Any]) -> str:
    """Return how far the work has come, in words."""
    stage, last = at_stage(made, log), len(made.plan.stages)
    if not begun(log):
        return "Nothing is ticked yet"
    return f"Under way, step {stage} of {last}" if stage else "All steps are ticked: done"


def today_view(
    made: Build, log: Mapping[str, Any], wished: DayWishes, now: dt.datetime
) -> TodayView:
    """Return what is told of the day ``now``, in the shop's own time.

    Only days that were planned, or dated by what is ticked, have hours.
    """
    plan = replanned(made, log, wished, now)
    steps, day = _of_day(plan, now)
    pieces = len(plan.pieces) if plan is not None else 0
    return TodayView(
        state=state_words(made, log),
        stage=at_stage(made, log),
        day=_day_words(plan, day, now),
        next=_next(plan, steps, pieces),
        mixes=_mixes(made, plan, steps),
        ticked=_ticked(made, log, now),
        done=_done(plan),
    )


def replanned(
    made: Build, log: Mapping[str, Any], wished: DayWishes, now: dt.datetime
) -> Schedule | None:
    """Return the days of what is left; the days as wished where nothing is ticked."""
    if made.schedule is None or made.schedule.hindrance is not None:
        return None
    by_id = BuildById(made)
    if not begun(log):
        return planned(by_id, wished) if wished else made.schedule
    return _rest(by_id, wished, _told(made, log), _half_hour(now))


def _half_hour(now: dt.datetime) -> dt.datetime:
    plain = now.replace(tzinfo=None, second=0, microsecond=0)
    return plain - dt.timedelta(minutes=plain.minute % AGAIN_MIN)


Told = tuple[tuple[int, int, float], ...]
"""What is ticked: stage, index of the piece, and when in seconds after 1970 (0 for unknown)."""


def _told(made: Build, log: Mapping[str, Any]) -> Told:
    names = ticks(made.job)
    tests = made.job.test_pieces
    # the run's pieces are ticked before the test pieces, and planned after them
    index = {
        name: at + tests if at < made.job.pieces else at - made.job.pieces
        for at, name in enumerate(names)
    }
    keys, when = stage_keys(made.plan), log.get("when", {})
    return tuple(
        (stage.number, index[piece], float(when.get(keys[stage.number], {}).get(piece, 0.0)))
        for stage in made.plan.stages
        for piece in log["ticks"].get(keys[stage.number], ())
        if piece in index
    )


@lru_cache(maxsize=4)
def _rest(made_by: BuildById, wished: DayWishes, told: Told, now: dt.datetime) -> Schedule | None:
    made = made_by.made
    own = schedule_options_of(made.job)
    times = [_local(at_s) for _, _, at_s in told if at_s > 0.0]
    asked = dt.date.fromisoformat(wished.first) if wished.first else own.first
    first = min(each for each in (asked, now.date(), *(t.date() for t in times)) if each)
    midnight = dt.datetime.combine(first, dt.time())

    def minute(moment: dt.datetime) -> int:
        return max(0, int((moment - midnight).total_seconds() // 60))

    now_min = minute(now)
    ends: dict[int, int] = {}
    done: list[Done] = []
    for stage, piece, at_s in told:
        # no step is done before the one that came before it, and none is yet to come
        end = minute(_local(at_s)) if at_s > 0.0 else ends.get(piece, now_min)
        ends[piece] = min(now_min, max(end, ends.get(piece, 0)))
        done.append(Done(stage, ends[piece], piece))
    off = own.off if wished.off is None else frozenset(map(dt.date.fromisoformat, wished.off))
    options = replace(
        own,
        first=first,
        off=off,
        held=held_back(made, wished, first),
        progress=Progress(now_min, tuple(done)),
    )
    plan = planned_anew(made, options)
    return None if plan.hindrance is not None else plan


def _local(at_s: float) -> dt.datetime:
    """Return a moment by the clock of this machine, which stands in the shop."""
    return dt.datetime.fromtimestamp(at_s, tz=dt.UTC).astimezone().replace(tzinfo=None)


def _of_day(plan: Schedule | None, now: dt.datetime) -> tuple[tuple[Step, ...], int]:
    """Return the steps to do on the next day that has any, and that day; today if it can be."""
    if plan is None:
        return (), 0
    today = (now.date() - plan.days.first).days if plan.days.dated else 0
    left = [step for step in plan.steps if not step.done]
    day = min(
        (step.begin_min // DAY_MIN for step in left if step.begin_min // DAY_MIN >= today),
        default=min((step.begin_min // DAY_MIN for step in left), default=today),
    )
    return tuple(step for step in left if step.begin_min // DAY_MIN == day), day


def _day_words(plan: Schedule | None, day: int, now: dt.datetime) -> str:
    if plan is None:
        return ""
    words = plan.days.day_text(day * DAY_MIN)
    if plan.days.dated and plan.days.date(day) == now.date():
        return "today"
    return words


def _next(plan: Schedule | None, steps: tuple[Step, ...], pieces: int) -> tuple[NextView, ...]:
    if plan is None:
        return ()
    found: dict[int, list[Step]] = {}
    for step in steps:
        found.setdefault(step.stage, []).append(step)
    return tuple(
        NextView(
            stage=stage,
            title=clean(own[0].title),
            begins=plan.days.clock_text(own[0].begin_min),
            pieces=_piece_words([piece.name for step in own for piece in step.pieces], pieces),
            manner="at the machine" if any(step.machine for step in own) else "by hand",
        )
        for stage, own in found.items()
    )


def _piece_words(names: list[str], whole: int) -> str:
    own = list(dict.fromkeys(names))
    return "all pieces" if len(own) == whole else joined(own)


def _mixes(made: Build, plan: Schedule | None, steps: tuple[Step, ...]) -> tuple[MixView, ...]:
    begins = {step.pour: step.begin_min for step in reversed(steps) if step.pour}
    return tuple(
        MixView(
            pour=pour.number,
            mix=clean(pour.mix.name),
            colour=made.palette.mixes[pour.mix.name].hex,
            batch=f"out of pour {pour.out_of}'s cup" if pour.out_of else grams(pour.batch_g),
            begins=plan.days.clock_text(begins[pour.number]) if plan is not None else "",
        )
        for pour in made.pours
        if pour.number in begins
    )


def _ticked(made: Build, log: Mapping[str, Any], now: dt.datetime) -> tuple[TickedView, ...]:
    keys, when = stage_keys(made.plan), log.get("when", {})
    whole = len(ticks(made.job))
    rows: list[tuple[float, TickedView]] = []
    for stage in made.plan.stages:
        own = log.get("ticks", {}).get(keys[stage.number], [])
        if not own:
            continue
        last_s = max(when.get(keys[stage.number], {}).values(), default=0.0)
        names = "all pieces" if len(own) == whole else f"for {joined(sorted(map(clean, own)))}"
        view = TickedView(stage.number, clean(stage.title), names, _when_words(last_s, now))
        rows.append((last_s, view))
    rows.sort(key=lambda row: (row[0], row[1].stage), reverse=True)
    return tuple(view for _, view in rows[:LAST_TICKED])


def _when_words(at_s: float, now: dt.datetime) -> str:
    if at_s <= 0.0:
        return ""
    at = _local(at_s)
    return (
        f"{at:%H:%M}" if at.date() == now.date() else f"{at:%A} {at.date().isoformat()}, {at:%H:%M}"
    )


def _done(plan: Schedule | None) -> str:
    if plan is None or not plan.steps:
        return ""
    return f"{plan.days.day_text(plan.finish_min)} at {plan.days.clock_text(plan.finish_min)}"
