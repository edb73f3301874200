"""From stages to days: the run of a job is put to the solver, and its answer read as a schedule."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from flushwork.core.units.kinds import DAY_MIN
from flushwork.job.records import Job
from flushwork.process.stages import POURING, Plan, StageKind
from flushwork.resin.pours import Pour
from flushwork.resin.thinned import working_resin
from flushwork.schedule.bit_changes import changes, least_changes, setups_of
from flushwork.schedule.lags import drying_min
from flushwork.schedule.out_of_time import out_of_time
from flushwork.schedule.run import StagePart, pieces_of
from flushwork.schedule.run_problem import RunProblem, ScheduleOptions
from flushwork.schedule.schedule import (
    Hindrance,
    Milestones,
    Obstacle,
    Piece,
    Reached,
    Schedule,
    Step,
    Wait,
)
from flushwork.schedule.several_parts import PartWork, all_parts
from flushwork.schedule.shop_days import MOST_DAYS, ShopDays, ready_minute, shop_days, waiting
from flushwork.schedule.solve.decompose import solve_by_segments
from flushwork.schedule.solve.tasks import CureClock, Goal, Solution, real_after
from flushwork.toolpaths.orders import GcodeFile

FINISH_HARD_MIN: Final = 72 * 60
"""From the last coat until a piece may be packed (assumed, 1 to 14 days; the finish's own sheet
replaces it)."""

MOST_BOUNDED = 120
"""Of more setups the fewest changes of bits are not reckoned: their pairs are too many."""


def schedule_of(
    job: Job,
    plan: Plan,
    gcode_files: Mapping[int, Sequence[GcodeFile]],
    pours: Sequence[Pour],
    options: ScheduleOptions | None = None,
    others: Sequence[PartWork] = (),
) -> Schedule:
    """Return the days of a run; ``gcode_files`` are by stage number.

    ``others`` are further parts of the job, made in the same days.
    Where no plan exists the schedule is empty and says what hinders it.
    """
    options = options or ScheduleOptions()
    days = shop_days(job.shop, options.first, options.off, options.zone)
    works = (PartWork(job, plan, gcode_files), *others)
    pieces = tuple(piece for work in works for piece in pieces_of(work.job))
    bed = 1 if options.one_by_one else None
    parts = all_parts(works, pours, days.open_min, options.progress, bed)
    hindrance = _hindrance(days, parts, job.shop.cure_places)
    if hindrance is None:
        run = RunProblem(works, days, pieces, parts, options)
        if run.stalled:
            stalled = Hindrance(Obstacle.TOO_COLD, run.stalled)
            told = out_of_time(run)
            return Schedule(days, pieces, (), (), (), (), stalled, out_of_time=told)
        solution = solve_by_segments(run.problem(), options.limits)
        if solution.spans or not run.left:
            return _schedule(run, solution)
        kind = Obstacle.NO_PLAN if solution.impossible else Obstacle.NOT_FOUND
        hindrance = Hindrance(kind)
    return Schedule(days, pieces, (), (), (), (), hindrance)


def _hindrance(days: ShopDays, parts: Sequence[StagePart], places: int) -> Hindrance | None:
    if days.open_min <= 0 or not any(days.works(day) for day in range(MOST_DAYS)):
        return Hindrance(Obstacle.NO_HOURS)
    parts = [part for part in parts if part.done is None]
    longest = max(parts, key=lambda part: part.minutes, default=None)
    if longest is not None and longest.minutes > days.open_min:
        return Hindrance(Obstacle.TOO_LONG, longest.stage.title, longest.minutes, days.open_min)
    poured = [part for part in parts if part.stage.kind in POURING]
    widest = max(poured, key=lambda part: len(part.pieces), default=None)
    if widest is not None and len(widest.pieces) > places:
        return Hindrance(Obstacle.NO_PLACE, widest.stage.title, len(widest.pieces), places)
    return None


def _schedule(run: RunProblem, solution: Solution) -> Schedule:
    """Return the schedule that a solution tells."""
    missed = {(cure.before, cure.after) for cure in solution.missed}
    steps = [_step(run, part, solution, missed) for part in run.parts]
    steps.sort(key=lambda step: (step.begin_min, step.end_min, step.task))
    waits = _waits(run, steps, missed)
    return Schedule(
        days=run.days,
        pieces=run.pieces,
        steps=tuple(steps),
        waits=waits,
        milestones=_milestones(run.job, run.days, run.kept, tuple(steps), waits, run.clocks),
        spoiled=tuple(run.pieces[index] for index in sorted(run.options.progress.spoiled)),
        goals=(*solution.goals, *_changes(run, tuple(steps))),
        out_of_time=out_of_time(run),
    )


def _changes(run: RunProblem, steps: Sequence[Step]) -> tuple[Goal, ...]:
    """Return how often the bit is changed, of a run of which nothing is done yet.

    Nothing where the days are only tried.
    """
    if run.ended or run.options.limits.effort <= 0.0:
        return ()
    problem = run.problem()
    mounted = setups_of(problem)
    if len(mounted) > MOST_BOUNDED:
        return ()
    spans = {step.task: (step.begin_min, step.end_min) for step in steps}
    least = least_changes(mounted, problem.befores())
    return (Goal("bit changes", changes(mounted, spans), least),)


def _step(
    run: RunProblem, part: StagePart, solution: Solution, missed: set[tuple[str, str]]
) -> Step:
    done = part.done is not None
    begin, until = part.done or solution.spans[part.name]
    return Step(
        task=part.name,
        stage=part.stage.number,
        kind=part.stage.kind,
        title=part.stage.title,
        pieces=tuple(run.pieces[index] for index in part.pieces),
        begin_min=begin,
        end_min=until,
        pour=part.pour,
        coat=part.coat,
        machine=part.machine,
        setup=part.stage.setup,
        mounts=part.mounts,
        tools=part.tools,
        scuffed=not done
        and (until - begin > part.minutes or any(part.name == after for _, after in missed)),
        air_min=part.air_min,
        done=done,
        mix=part.stage.mix,
        airing_min=run.lingers_min(part),
        keeps_clear=run.keeps_clear(part),
        part=part.part,
        out_of=part.out_of,
    )


def _waits(
    run: RunProblem, steps: Sequence[Step], missed: set[tuple[str, str]]
) -> tuple[Wait, ...]:
    ends = {step.task: step.end_min for step in steps}
    found: list[Wait] = []
    for setting in run.settings:
        cure = setting.cure
        since = ends[cure.before]
        if run.stands_still(setting, since):
            continue
        ready, closes = run.moments(setting, since)
        late = closes is not None and ends[cure.after] > closes
        late = late or (cure.before, cure.after) in missed
        found.append(
            Wait(
                piece=run.pieces[setting.piece],
                of=setting.mix.name,
                reaches=setting.reaches,
                resin=setting.mix.resin.name,
                since_min=since,
                ready_min=ready,
                closes_min=closes,
                task=cure.before,
                until=cure.after,
                missed=late,
                mix=setting.mix.name,
            )
        )
    found += [*_drying(run, ends), *_airing(run, steps)]
    return tuple(sorted(found, key=lambda wait: (wait.since_min, wait.ready_min)))


def _drying(run: RunProblem, ends: dict[str, int]) -> list[Wait]:
    found: list[Wait] = []
    for piece, row in enumerate(run.runs):
        for before, after in pairwise(row):
            minutes = drying_min(run.job_of(before), before)
            if minutes:
                since = ends[before.name]
                ready = real_after(run.shifts, since, minutes)
                found.append(
                    Wait(
                        piece=run.pieces[piece],
                        of=before.stage.kind.value,
                        reaches=Reached.DRY,
                        resin="",
                        since_min=since,
                        ready_min=ready,
                        closes_min=None,
                        task=before.name,
                        until=after.name,
                    )
                )
    return found


def _airing(run: RunProblem, steps: Sequence[Step]) -> list[Wait]:
    """Return the waits until the vapour of a coat has gone, where another piece waits for that."""
    found: list[Wait] = []
    for step in steps:
        ready = real_after(run.shifts, step.end_min, step.airing_min)
        awaits = next((other for other in steps if other.keeps_clear and not other.done
                       and ready <= other.begin_min < (ready // DAY_MIN + 1) * DAY_MIN
                       and other.pieces != step.pieces), None)  # fmt: skip
        if not step.airing_min or awaits is None:
            continue
        found += [
            Wait(
                piece=piece,
                of=step.kind.value,
                reaches=Reached.AIRED,
                resin="",
                since_min=step.end_min,
                ready_min=ready,
                closes_min=None,
                task=step.task,
                until=awaits.task,
            )
            for piece in step.pieces
        ]
    return found


def _milestones(
    job: Job,
    days: ShopDays,
    pieces: Sequence[Piece],
    steps: Sequence[Step],
    waits: Sequence[Wait],
    clocks: Mapping[str, CureClock],
) -> tuple[Milestones, ...]:
    """Return each piece's dates, from what is still to be done."""
    own_steps: dict[Piece, list[Step]] = defaultdict(list)
    own_waits: dict[Piece, list[Wait]] = defaultdict(list)
    for step in steps:
        for piece in step.pieces:
            own_steps[piece].append(step)
    for wait in waits:
        own_waits[wait.piece].append(wait)
    return tuple(
        _dates(job, days, piece, own_steps[piece], own_waits[piece], clocks) for piece in pieces
    )


def _dates(
    job: Job,
    days: ShopDays,
    piece: Piece,
    steps: Sequence[Step],
    waits: Sequence[Wait],
    clocks: Mapping[str, CureClock],
) -> Milestones:
    to_come = {step.task for step in steps if not step.done}
    closing = [
        wait.closes_min
        for wait in waits
        if wait.closes_min is not None and wait.until in to_come and not wait.missed
    ]
    finish = max((step.end_min for step in steps), default=0)
    return Milestones(
        piece=piece,
        cut_min=_next(steps, StageKind.CUT),
        mill_flush_min=_next(steps, StageKind.MILL_FLUSH),
        last_pour_min=min(closing, default=None),
        finish_min=finish,
        ship_min=days.next_open(max(finish, _hard(job, steps, clocks))),
    )


def _next(steps: Sequence[Step], kind: StageKind) -> int | None:
    begins = [step.begin_min for step in steps if step.kind is kind and not step.done]
    return min(begins, default=None)


def _hard(job: Job, steps: Sequence[Step], clocks: Mapping[str, CureClock]) -> int:
    """Return when finish and resin are both as hard as they get."""
    mixes = {mix.name: mix for mix in job.mixes}
    ready = [step.end_min + FINISH_HARD_MIN for step in steps if step.kind is StageKind.FINISH]
    poured: dict[str, int] = {}
    for step in steps:
        if step.mix:
            resin = mixes[step.mix].resin.name
            poured[resin] = max(poured.get(resin, 0), step.end_min)
    for mix in mixes.values():
        if mix.resin.name in poured:
            clock = clocks[waiting(mix.resin)]
            dose = working_resin(mix).cure_s / 60.0
            if clock.daily > 0.0:
                ready.append(ready_minute(clock, poured[mix.resin.name], dose))
    return math.ceil(max(ready, default=0))


def yardstick(
    job: Job,
    plan: Plan,
    gcode_files: Mapping[int, Sequence[GcodeFile]],
    pours: Sequence[Pour],
    options: ScheduleOptions,
) -> Schedule:
    """Return the same run made piece after piece, each with batches of its own."""
    alone = tuple(
        _for_one(pour, piece)
        for pour in pours
        for piece in range(pour.first, pour.first + pour.pieces)
    )
    return schedule_of(job, plan, gcode_files, alone, replace(options, one_by_one=True))


def _for_one(pour: Pour, piece: int) -> Pour:
    """Return a pour as a batch for one piece alone, with the others it is mixed with."""
    own = 1000 * (piece + 1)
    return replace(
        pour,
        number=own + pour.number,
        pieces=1,
        first=piece,
        shares_clear_with=tuple(own + number for number in pour.shares_clear_with),
        out_of=0,
        also_fills=(),
    )
