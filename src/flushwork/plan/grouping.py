"""Pieces poured apart: while some cure, others are on the machine.

One batch of each colour for all pieces is the least work, and every piece then waits for every
other.  Poured in groups, each with batches of its own, the pieces interleave.  More groups are
taken where they finish at least a day sooner; within a day fewer batches are worth more.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.plan.gathering import gathered
from flushwork.plan.pouring import goes_ahead, pour_requests
from flushwork.plan.progress import NOTHING_DONE
from flushwork.plan.schedule import Grouping, Schedule
from flushwork.plan.scheduling import schedule_of
from flushwork.plan.stages import Plan
from flushwork.plan.tasks import DAY_MIN
from flushwork.plan.wishes import ScheduleOptions
from flushwork.resin.batches import plan_pours, split_pieces
from flushwork.resin.pours import Pour
from flushwork.strata.board import Poured
from flushwork.toolpaths.orders import CutFile

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


def groups_of(job: Job, count: int) -> tuple[int, ...]:
    """Return how many pieces each of so many groups holds, test pieces among the first.

    Test pieces that go ahead are a group of their own besides.
    """
    ahead = (job.test_pieces,) if goes_ahead(job) else ()
    rest = job.pieces + (0 if ahead else job.test_pieces)
    return (*ahead, *split_pieces(rest, min(count, rest)))


def groups_in(job: Job, schedule: Schedule | None) -> int:
    """Return in how many groups a run is poured, test pieces that go ahead not counted."""
    if schedule is None or not schedule.groups:
        return job.groups or 1
    return max(1, len(schedule.groups) - goes_ahead(job))


def undated_pours(
    job: Job, faces: Sequence[DrawnFace], plan: Plan, poured: Sequence[Poured]
) -> tuple[Pour, ...]:
    """Return the pours of a run whose days nobody asks for, in the groups the job says, or one."""
    groups = groups_of(job, job.groups or 1)
    return plan_pours(pour_requests(job, faces, plan, poured, groups), job.shop)


def days_of(
    job: Job,
    faces: Sequence[DrawnFace],
    plan: Plan,
    poured: Sequence[Poured],
    cut_files: Mapping[int, Sequence[CutFile]],
    wishes: ScheduleOptions,
) -> Days:
    """Return the pours and days of a run, in as many groups as the job says or finish soonest."""

    def in_groups(count: int, wishes: ScheduleOptions) -> Days:
        groups = groups_of(job, count)
        pours = plan_pours(pour_requests(job, faces, plan, poured, groups), job.shop)
        schedule = schedule_of(job, plan, cut_files, pours, wishes)
        return Days(pours, replace(schedule, groups=groups))

    # what is done already was poured in the groups that were chosen before it was begun
    fresh = replace(wishes, progress=NOTHING_DONE, limits=replace(wishes.limits, effort=0.0))
    tried = {1: in_groups(1, fresh)}
    rest = job.pieces + (0 if goes_ahead(job) else job.test_pieces)
    least = math.ceil(rest / max(1, job.shop.cure_places))
    for count in range(max(2, least), max(MOST_GROUPS, least + 1) + 1):
        if count > rest or not _may_help(list(tried.values())):
            break
        tried[count] = in_groups(count, fresh)
    best = job.groups or min(tried, key=lambda count: tried[count].rank)
    chosen = in_groups(best, wishes)
    if chosen.schedule.hindrance is None:
        groups = chosen.schedule.groups

        def planned(pours: tuple[Pour, ...], wishes: ScheduleOptions = wishes) -> Schedule:
            return replace(schedule_of(job, plan, cut_files, pours, wishes), groups=groups)

        begun = bool(wishes.progress.done)
        before = in_groups(best, fresh) if begun else chosen
        pours, schedule = gathered(
            before.pours, before.schedule, job.shop, lambda pours: planned(pours, fresh)
        )
        if pours != chosen.pours:
            chosen = Days(pours, planned(pours) if begun else schedule)
    groupings = tuple(
        days.told()
        for count, days in tried.items()
        if count != best and days.schedule.hindrance is None
    )
    return replace(chosen, schedule=replace(chosen.schedule, groupings=groupings))


def _may_help(tried: Sequence[Days]) -> bool:
    """Whether one more group is worth trying: the last one was, or nothing fits yet."""
    hindered = all(days.schedule.hindrance is not None for days in tried)
    return hindered or len(tried) < 2 or tried[-1].rank < min(days.rank for days in tried[:-1])
