"""Pieces poured apart: while some cure, others are on the machine.

One batch of each colour for all pieces is the least work, and every piece then waits for every
other.  Poured in groups, each with batches of its own, the pieces interleave.  More groups are
taken where they finish at least a day sooner; within a day fewer batches are worth more.

Pours of one colour gathered over the faces, pieces and stages of a day, to be measurable; those of
several parts of a job wherever that costs no day.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from flushwork.core.units.kinds import DAY_MIN
from flushwork.job.records import Job
from flushwork.process.pour_requests import goes_ahead
from flushwork.resin.cup.batches import in_one_cup, too_small
from flushwork.resin.pours import Pour
from flushwork.schedule.plan_days import schedule_of
from flushwork.schedule.resume import NOTHING_DONE
from flushwork.schedule.run_problem import ScheduleOptions
from flushwork.schedule.schedule import Grouping, Schedule
from flushwork.schedule.several_parts import (
    PartPoured,
    grouped,
    groups_of,
    in_cups,
    place_of,
    poured_together,
    pours_in_groups,
)
from flushwork.shelf.items import Shop

MOST_TRIES = 8
"""So many pairs are put to the planner; every one of them costs a plan."""


def gathered(
    pours: tuple[Pour, ...],
    schedule: Schedule,
    shop: Shop,
    plan: Callable[[tuple[Pour, ...]], Schedule],
) -> tuple[tuple[Pour, ...], Schedule]:
    """Return pours and days with those gathered that fall on one day and are too small alone.

    Those of several parts of a job are gathered whatever they weigh.

    ``plan`` plans the days of other pours.  A pair is taken where no window more is missed, the
    run ends no day later and no more work is done.
    """
    for _ in range(max(MOST_TRIES, len(pours))):
        found = _next(pours, schedule, shop, plan)
        if found is None:
            break
        pours, schedule = found
    return pours, schedule


def _next(
    pours: tuple[Pour, ...],
    schedule: Schedule,
    shop: Shop,
    plan: Callable[[tuple[Pour, ...]], Schedule],
) -> tuple[tuple[Pour, ...], Schedule] | None:
    for first, second in _pairs(pours, schedule)[:MOST_TRIES]:
        made = in_one_cup(first, second, shop)
        if made is None:
            continue
        by_number = {pour.number: pour for pour in made}
        other = tuple(by_number.get(pour.number, pour) for pour in pours)
        days = plan(other)
        if days.hindrance is None and _no_worse(days, schedule):
            return other, days
    return None


def _no_worse(other: Schedule, schedule: Schedule) -> bool:
    if len(other.missed) > len(schedule.missed) or other.hands_min > schedule.hands_min:
        return False
    return other.finish_min // DAY_MIN <= schedule.finish_min // DAY_MIN


def _pairs(pours: Sequence[Pour], schedule: Schedule) -> list[tuple[Pour, Pour]]:
    """Return pours of one colour made on one day, of which one is too small, in stage order.

    Of several parts of a job those of one colour, the soonest poured first.
    """
    when = {step.pour: step.begin_min for step in reversed(schedule.steps) if step.pour}
    several = len({pour.part for pour in pours}) > 1
    row = sorted(
        (pour for pour in pours if pour.number in when and not pour.out_of),
        key=lambda pour: (when[pour.number] if several else 0, pour.stage, pour.first),
    )
    pairs = [
        (one, two)
        for place, one in enumerate(row)
        for two in row[place + 1 :]
        if one.mix.name == two.mix.name
        and (
            one.part != two.part
            or (
                when[one.number] // DAY_MIN == when[two.number] // DAY_MIN
                and (too_small(one) or too_small(two))
            )
        )
        and not two.also_fills
    ]
    return sorted(pairs, key=lambda pair: abs(when[pair[0].number] - when[pair[1].number]))


MOST_GROUPS = 4
"""More groups are not tried unless the places to cure on ask for them: every one of them mixes each
colour once more (assumed, 2 to 6)."""


@dataclass(frozen=True, slots=True)
class Days:
    """The pours and the days of a run."""

    pours: tuple[Pour, ...]
    schedule: Schedule

    @property
    def rank(self) -> tuple[bool, int, int, int, int]:
        """What is better comes first: windows met, the day it ends, set-ups, work, batches."""
        schedule = self.schedule
        return (
            schedule.hindrance is not None,
            len(schedule.missed),
            schedule.finish_min // DAY_MIN,
            schedule.set_ups,
            schedule.hands_min,
        )

    def told(self) -> Grouping:
        """Return what the shop is told of it where it was not chosen."""
        schedule = self.schedule
        return Grouping(
            len(schedule.groups), schedule.finish_min, schedule.hands_min, schedule.batches
        )


def groups_in(job: Job, schedule: Schedule | None) -> int:
    """Return in how many groups a run is poured, test pieces that go ahead not counted."""
    if schedule is None or not schedule.groups:
        return job.groups or 1
    return max(1, len(schedule.groups) - goes_ahead(job))


def undated_pours(parts: Sequence[PartPoured]) -> tuple[Pour, ...]:
    """Return the pours of a run whose days nobody asks for, in the groups the job says, or one."""
    job = parts[0].job
    return pours_in_groups(parts, job.groups or 1)


def days_of(parts: Sequence[PartPoured], options: ScheduleOptions) -> Days:
    """Return the pours and days of a run, in as many groups as the job says or finish soonest.

    All parts of a job are made in the same days, by one pair of hands at one machine.
    """
    job, others = parts[0].job, tuple(part.work for part in parts[1:])
    largest = max((part.job for part in parts), key=grouped)
    plan, gcode_files = parts[0].plan, parts[0].gcode_files

    def in_groups(count: int, options: ScheduleOptions) -> Days:
        groups = groups_of(largest, count)
        pours = pours_in_groups(parts, count)
        schedule = schedule_of(job, plan, gcode_files, pours, options, others)
        return Days(pours, replace(schedule, groups=groups))

    # what is done already was poured in the groups that were chosen before it was begun
    fresh = replace(options, progress=NOTHING_DONE, limits=replace(options.limits, effort=0.0))
    tried = {1: in_groups(1, fresh)}
    rest = grouped(largest)
    least = math.ceil(rest / max(1, job.shop.cure_places))
    for count in range(max(2, least), max(MOST_GROUPS, least + 1) + 1):
        if count > rest or not _may_help(list(tried.values())):
            break
        tried[count] = in_groups(count, fresh)
    best = job.groups or min(tried, key=lambda count: tried[count].rank)
    chosen = in_groups(best, options)
    if chosen.schedule.hindrance is None:
        groups = chosen.schedule.groups

        def planned(pours: tuple[Pour, ...], options: ScheduleOptions = options) -> Schedule:
            found = schedule_of(job, plan, gcode_files, pours, options, others)
            return replace(found, groups=groups)

        begun = bool(options.progress.done)
        before = in_groups(best, fresh) if begun else chosen
        pours, schedule = gathered(
            before.pours, before.schedule, job.shop, lambda pours: planned(pours, fresh)
        )
        if begun:
            pours = _still_together(pours, chosen, job.shop)
        if pours != chosen.pours:
            chosen = Days(pours, planned(pours) if begun or others else schedule)
    groupings = tuple(
        days.told()
        for count, days in tried.items()
        if count != best and days.schedule.hindrance is None
    )
    return replace(chosen, schedule=replace(chosen.schedule, groupings=groupings))


def _still_together(pours: tuple[Pour, ...], alone: Days, shop: Shop) -> tuple[Pour, ...]:
    """Return pours with those in one cup that can still be: all poured by now, or none of them.

    ``alone`` are the days by the log, with a cup for each pour.
    """
    done = {step.pour for step in alone.schedule.steps if step.done}
    left = {step.pour for step in alone.schedule.steps if not step.done}

    def parted(one: Pour, two: Pour) -> bool:
        return (one.number in done and two.number in left) or (
            two.number in done and one.number in left
        )

    cups = [
        (place_of(one), place_of(two))
        for one, two in poured_together(pours)
        if not parted(one, two)
    ]
    return in_cups(alone.pours, cups, shop)


def _may_help(tried: Sequence[Days]) -> bool:
    """Whether one more group is worth trying: the last one was, or nothing fits yet."""
    hindered = all(days.schedule.hindrance is not None for days in tried)
    return hindered or len(tried) < 2 or tried[-1].rank < min(days.rank for days in tried[:-1])
