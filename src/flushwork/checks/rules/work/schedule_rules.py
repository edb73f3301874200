"""Can it be done in the shop's days and in the order insisted on, or in less on a fuller bed?"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Final

import numpy as np

from flushwork.built import Build
from flushwork.checks.rules.machine.as_cut_rules import box_of
from flushwork.checks.rules.machine.waste_rules import LEAST_GAP_MM
from flushwork.core.findings import Finding, Measure, Subject
from flushwork.core.units.kinds import DAY_MIN
from flushwork.job.records import thing_at, told_at
from flushwork.process.user_order import keeps_order, known_steps, stages_named
from flushwork.schedule.schedule import Hindrance, Obstacle, Reached, Schedule, Wait
from flushwork.shelf.working import HandTimes

SLOW_CURE_DAYS = 4.0
"""A resin not hard enough to cut after this long is too cold for good curing (assumed, 3 to 7
days; a cure stick kept in the shop replaces it)."""
LEAST_SAVED_MIN: Final = 60.0
LEAST_SHARE: Final = 0.1
"""Less than an hour, or than this share of the run's work, is not worth a word (assumed)."""


def order_broken(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for orders that name no step of the plan or cannot all be kept."""
    stages = build.plan.stages
    known = known_steps(stages)
    for each in build.job.order_constraints:
        for step in (each.first, each.then):
            if not stages_named(stages, step):
                close = get_close_matches(step, known, n=1)
                meant = f"Did you mean `{close[0]}`? " if close else ""
                yield Finding.must_fix(
                    "order-step-unknown",
                    message=f"The order names `{step}`, but no step of this plan is called so.",
                    remedy=f"{meant}`flushwork stages` lists the steps.",
                    subjects=(Subject("stage", step),),
                    source=each.source,
                )
    broken = [each for each in build.job.order_constraints if not keeps_order(stages, each)]
    if broken:
        told = "; ".join(f"{each.first} before {each.then}" for each in build.job.order_constraints)
        yield Finding.must_fix(
            "order-circle",
            message=f"The orders insisted on go round in a circle: {told}.",
            remedy="Take one of them out.",
            subjects=(Subject("stage", broken[0].first),),
            source=broken[0].source,
        )


def no_days(build: Build) -> Iterator[Finding]:
    """Yield a warning where no days could be planned, with the one reason."""
    schedule = build.schedule
    if schedule is None or schedule.hindrance is None:
        return
    yield _hindered(build, schedule, schedule.hindrance)


def _hindered(build: Build, schedule: Schedule, hindrance: Hindrance) -> Finding:
    hours = schedule.days.open_min / 60.0
    told = {
        Obstacle.NO_HOURS: (
            "shop-without-hours",
            "The shop has no hours in which anything could be done.",
            "Set `hours` and `days` in the shop file, and fewer `days off` in the job.",
        ),
        Obstacle.TOO_LONG: (
            "stage-longer-than-day",
            f"{hindrance.task} takes {hindrance.minutes} min without a break, but the shop is open "
            f"for {hours:g} h a day.",
            "Open longer on that day, cut with a wider bit first, or split the inlay.",
        ),
        Obstacle.NO_PLACE: (
            "cure-places-too-few",
            f"{hindrance.task} fills {hindrance.minutes} pieces from one batch, but the shop has "
            f"places for {hindrance.limit_min} to cure.",
            "Make more level places (`cure places` in the shop file), or pour in more `groups`.",
        ),
        Obstacle.TOO_COLD: (
            "cure-never",
            f"{hindrance.task} may stall below {_floor_c(build, hindrance.task):g} degrees C, and "
            "no hour of this shop's day is warmer: on no day is it sure to be hard.",
            "Keep the pieces in a warm box with a thermostat and an independent cut-out, and write "
            "the air of that box as `air` in the shop file.",
        ),
        Obstacle.NO_PLAN: (
            "days-impossible",
            "No plan of days exists: the waits and the orders insisted on cannot all be kept.",
            "Take an order out, allow more cure places, or let the test piece go along with the "
            "others.",
        ),
        Obstacle.NOT_FOUND: (
            "days-not-found",
            "No plan of days was found in the time given to the search.",
            "Plan fewer pieces at once.",
        ),
    }
    code, message, remedy = told[hindrance.kind]
    measure = (
        Measure("time", hindrance.minutes, hindrance.limit_min, "min")
        if hindrance.kind is Obstacle.TOO_LONG
        else None
    )
    cold = hindrance.kind is Obstacle.TOO_COLD
    return Finding.warning(
        code,
        message=message,
        remedy=remedy,
        subjects=(Subject("material" if cold else "stage", hindrance.task),),
        source=build.job.source,
        measure=measure,
    )


def _floor_c(build: Build, resin: str) -> float:
    return max(
        (mix.resin.floor_c for mix in build.job.mixes if mix.resin.name == resin), default=0.0
    )


def window_missed(build: Build) -> Iterator[Finding]:
    """Yield a warning for each cap that cannot be poured while its window is open."""
    schedule = build.schedule
    if schedule is None:
        return
    told: set[tuple[str, str]] = set()
    for wait in schedule.missed:
        if (wait.task, wait.until) in told or wait.closes_min is None:
            continue
        told.add((wait.task, wait.until))
        days = schedule.days
        mix = wait.mix
        what = f"{mix} poured" if wait.reaches is not Reached.SEALED else "The seal put on"
        on = "poured on" if wait.reaches is not Reached.SEALED else "filled"
        yield Finding.warning(
            "recoat-window-missed",
            message=f"{what} until {_when(schedule, wait.since_min)} can be {on} from "
            f"{_when(schedule, wait.ready_min)} until {_when(schedule, wait.closes_min)}, but the "
            f"shop is open from {days.clock_text(days.opens_min)} to "
            f"{days.clock_text(days.closes_min)}: the plan washes and scuff-sands it first.",
            remedy="Open for that pour, warm or cool the shop overnight, or take a resin with a "
            "longer window; scuff-sanded as planned it holds too.",
            subjects=(poured := Subject("mix", mix),),
            source=build.source_of(poured),
            measure=Measure("window", (wait.closes_min - wait.ready_min) / 60.0, None, "h"),
        )


def _when(schedule: Schedule, minute: int) -> str:
    return f"{schedule.days.day_text(minute)} {schedule.days.clock_text(minute)}"


def cure_too_slow(build: Build) -> Iterator[Finding]:
    """Yield a warning for a resin that the shop's air keeps soft for days on end.

    A cure that outlasts the time there is gets told as that alone.
    """
    schedule = build.schedule
    if schedule is None:
        return
    outlasting = _outlasting(schedule, build.job.wanted_by)
    slowest: dict[str, Wait] = {}
    for wait in schedule.waits:
        if wait.resin and wait.reaches is Reached.HARD:
            known = slowest.get(wait.resin)
            if known is None or _lasts(wait) > _lasts(known):
                slowest[wait.resin] = wait
    for resin, wait in slowest.items():
        days = _lasts(wait) / DAY_MIN
        told = outlasting is not None and outlasting.resin == resin
        if days > SLOW_CURE_DAYS and not told:
            yield Finding.warning(
                "cure-too-slow",
                message=f"{resin} takes {days:.1f} days in this shop's air until it can be cut.",
                remedy="Warm the shop, or a box around the pieces; below a resin's floor it may "
                "never get hard.",
                subjects=(Subject("material", resin),),
                source=thing_at(build.job, resin),
                measure=Measure("cure", days, SLOW_CURE_DAYS, "days"),
            )


def _lasts(wait: Wait) -> int:
    return wait.ready_min - wait.since_min


def too_late(build: Build) -> Iterator[Finding]:
    """Yield a warning where the pieces are finished after the day they are wanted.

    Where one cure alone lasts longer than the time there is, that is the finding.
    """
    schedule, wanted = build.schedule, build.job.wanted_by
    if schedule is None or not schedule.steps or wanted is None or not schedule.days.dated:
        return
    ready_min = max((item.ship_min for item in schedule.milestones), default=0)
    until_min = ((wanted - schedule.days.first).days + 1) * DAY_MIN
    if ready_min < until_min:
        return
    there_min = until_min - schedule.begin_min
    longest = _outlasting(schedule, wanted)
    source = told_at(build.job, "wanted by")
    if longest is not None:
        yield Finding.warning(
            "cure-longer-than-job",
            message=f"{longest.resin} alone takes {_lasts(longest) / DAY_MIN:.1f} days "
            f"{_until(longest)}, and the pieces are wanted "
            f"{there_min / DAY_MIN:.1f} days after the work begins.",
            remedy="Begin earlier, promise a later day, warm the shop, or take a faster resin.",
            subjects=(Subject("material", longest.resin),),
            source=source,
            measure=Measure("cure", _lasts(longest) / DAY_MIN, there_min / DAY_MIN, "days"),
        )
        return
    yield Finding.warning(
        "finish-after-wanted",
        message=f"The last piece can be sent off on {schedule.days.day_text(ready_min)}, after "
        f"{wanted.isoformat()}, the day they are wanted.",
        remedy="Begin earlier, promise a later day, leave the test piece or a coat out.",
        source=source,
        measure=Measure("late", (ready_min - until_min) / DAY_MIN, 0.0, "days"),
    )


def _outlasting(schedule: Schedule, wanted: dt.date | None) -> Wait | None:
    """Return the longest cure where it alone lasts longer than the time until a day."""
    if wanted is None or not schedule.days.dated:
        return None
    there_min = ((wanted - schedule.days.first).days + 1) * DAY_MIN - schedule.begin_min
    longest = max((wait for wait in schedule.waits if wait.resin), key=_lasts, default=None)
    return longest if longest is not None and _lasts(longest) > there_min else None


def _until(wait: Wait) -> str:
    return Reached.HARD if wait.reaches is Reached.HARD else Reached.CURED


def plan_unproven(build: Build) -> Iterator[Finding]:
    """Yield a note where a better plan of days may exist, with the gap."""
    schedule = build.schedule
    if schedule is None or not schedule.steps or schedule.proven:
        return
    yield Finding.note(
        "days-unproven",
        message=f"The days planned hold, but they are {schedule.status()}.",
        remedy="Nothing has to be done.",
        source=build.job.source,
    )


def bed_fuller_saves(build: Build) -> Iterator[Finding]:
    """Yield a note where more pieces on the bed at once would save much of the work."""
    job, schedule = build.job, build.schedule
    if schedule is None or not schedule.steps or any(step.done for step in schedule.steps):
        return
    if any(file.order.imported is not None for file in build.gcode_files):
        return
    count = job.pieces + job.test_pieces
    fits, along_x = _fits(build)
    together = min(fits, count)
    if together <= job.bed.pieces or not build.plan.setups:
        return
    setups = len(build.plan.setups)
    now = _handled_min(job.shop.hands, count, job.bed.pieces, setups, _changes(schedule))
    then = _handled_min(job.shop.hands, count, together, setups, _changes(schedule))
    saved = now - then
    if saved < max(LEAST_SAVED_MIN, LEAST_SHARE * schedule.hands_min):
        return
    blank = job.blank
    reach_mm = _step_mm(blank.length_mm if along_x else blank.width_mm)
    step = f"[{reach_mm} mm, 0 mm]" if along_x else f"[0 mm, {reach_mm} mm]"
    yield Finding.note(
        "bed-fuller-saves",
        message=f"{count} pieces are set up {job.bed.pieces} at a time. {together} of them fit "
        f"side by side on this machine, or as one panel parted at the end: set-ups and bit "
        f"changes once for {together} pieces save about {saved / 60.0:.1f} of the "
        f"{schedule.hands_min / 60.0:.1f} h of work.",
        remedy=f"Write `on the bed: {{pieces: {together}, step: {step}}}`, or glue up one blank "
        "for several pieces.",
        subjects=(Subject("key", "on the bed"),),
        source=blank.source,
        measure=Measure("work saved", saved / 60.0, None, "h"),
    )


def _fits(build: Build) -> tuple[int, bool]:
    """Return how many pieces fit on the machine in one row, and whether the row lies along X.

    By what the G-code files reach, which is more than the blank where they mill over its edges.
    """
    blank, machine, bed = build.job.blank, build.job.shop.machine, build.job.bed
    fits: list[int] = []
    for axis, side_mm, step_mm, travel_mm in (
        (0, blank.length_mm, bed.step_x_mm, machine.travel_x_mm),
        (1, blank.width_mm, bed.step_y_mm, machine.travel_y_mm),
    ):
        spans = [
            float(np.ptp(np.array(box_of(file.program))[:, axis])) for file in build.gcode_files
        ]
        own_mm = max([side_mm, *(span - (bed.pieces - 1) * abs(step_mm) for span in spans)])
        fits.append(1 + int(max(0.0, travel_mm - own_mm) // _step_mm(side_mm)))
    return max(fits), fits[0] >= fits[1]


def _step_mm(side_mm: float) -> int:
    return math.ceil(side_mm + LEAST_GAP_MM)


def _changes(schedule: Schedule) -> float:
    """Return how many bits are put in for one bed load."""
    loads = {step.pieces for step in schedule.steps if step.tools}
    return sum(len(step.tools) for step in schedule.steps) / max(1, len(loads))


def _handled_min(hands: HandTimes, count: int, bed: int, setups: int, changes: float) -> float:
    """Return the minutes of setup and changing bits on a run, with so many on the bed."""
    loads = math.ceil(count / bed)
    each = setups * hands.mount_min + changes * hands.change_min
    return loads * each + (count - loads) * setups * hands.mount_next_min


RULES = (
    order_broken,
    no_days,
    window_missed,
    cure_too_slow,
    too_late,
    plan_unproven,
    bed_fuller_saves,
)
