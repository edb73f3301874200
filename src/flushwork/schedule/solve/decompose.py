"""A run falls into segments: what lies between two tasks that everything else waits for.

A pour for all pieces is such a meeting point: each other task comes before it or after it.  What
follows it depends on what went before by that moment alone, so a segment that ends sooner never
makes a later one end later, and the soonest end of the whole is that of segment after segment.
No window that closes, no held resource and no setup reaches from one segment into another.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from flushwork.core.units.kinds import DAY_MIN
from flushwork.runtime.memo import memoized
from flushwork.schedule.shop_days import ready_minute
from flushwork.schedule.solve.first_plan import first_plan, plan_rank
from flushwork.schedule.solve.lower_bound import least_end
from flushwork.schedule.solve.solver import LIMITS, Limits, solve
from flushwork.schedule.solve.tasks import (
    Cure,
    CureClock,
    Goal,
    Problem,
    Solution,
    Span,
    Task,
    afters,
    real_after,
)

MOST_TASKS = 90
"""A segment of more tasks is not searched: the quick plan stands, and how far it may be off."""

EFFORT_EACH = 0.2
"""Of the effort that a whole search may take, what one segment's search is reckoned to take."""

PARTS_BOUNDED = 3
"""How many parts of a problem without meeting points are looked at for a bound."""


@dataclass(frozen=True, slots=True)
class TaskSegment:
    """Tasks by name in the problem's order; ``meeting`` ends them, "" at the end of all."""

    names: tuple[str, ...]
    meeting: str


@dataclass(frozen=True, slots=True)
class _Inside:
    """Whether both ends of an arc lie among some tasks."""

    names: set[str]

    def __call__(self, one: str, two: str) -> bool:
        return one in self.names and two in self.names


def decompose(problem: Problem) -> tuple[TaskSegment, ...]:
    """Return the segments of a problem in order of time; one where it has no meeting point."""
    names = [task.name for task in problem.tasks]
    before = problem.befores()
    after = afters(before)
    meetings = [name for name in names if len(after[name]) + len(before[name]) == len(names) - 1]
    meetings.sort(key=lambda name: len(before[name]))
    place = {name: sum(met in before[name] for met in meetings) for name in names}
    open_ends = _bridged(problem, place, len(meetings))
    cuts = [rank for rank in range(len(meetings)) if rank not in open_ends]
    found: list[TaskSegment] = []
    low = -1
    for rank in [*cuts, len(meetings)]:
        own = tuple(name for name in names if low < place[name] <= rank)
        if own:
            found.append(TaskSegment(own, meetings[rank] if rank < len(meetings) else ""))
        low = rank
    return tuple(found)


def _bridged(problem: Problem, place: Mapping[str, int], count: int) -> set[int]:
    """Return the meeting points across which a window, a hold or a greatest lag reaches."""
    spans = [(arc.before, arc.after) for arc in problem.arcs if arc.greatest is not None]
    spans += [(hold.first, hold.last) for hold in problem.holds]
    found: set[int] = set()
    for first, last in spans:
        low = place[first] if first else 0
        found |= set(range(low, min(count, place[last])))
    return found


def solve_by_segments(problem: Problem, limits: Limits = LIMITS) -> Solution:
    """Return the best plan found within the limits, segment after segment.

    First by quick plans alone: what they lose in one segment a night often swallows.  Then, where
    that is not proven, with a search in each segment.  Proven where no plan can finish sooner.
    """
    parts = decompose(problem)
    if len(parts) < 2:
        found = _one(problem, limits).solution
        enough = limits.effort <= 0.0 or all(goal.proven for goal in found.goals)
        return found if enough else _bounded(problem, found)
    quick = _chained(problem, parts, limits, quick=True)
    if quick is not None and all(goal.proven for goal in quick.goals):
        return quick
    searched = _chained(problem, parts, limits)
    if searched is None:
        return solve(problem, limits)
    return searched if quick is None or _rank(searched) <= _rank(quick) else quick


def _bounded(problem: Problem, found: Solution) -> Solution:
    """Return a plan with the soonest finish by what some pieces alone need, where that is later.

    What one piece waits for, with all that waits with it, is a problem with fewer tasks; no plan
    of all can finish it sooner than it can be finished by itself.
    """
    before = problem.befores()
    kept = {frozenset(before[name] | {name}) for name in problem.finish if name in found.spans}
    latest = sorted(kept, key=lambda names: (-len(names), sorted(names)))
    bounds = [
        bound
        for names in _unlike(latest)
        if len(names) < len(problem.tasks)
        and (bound := _soonest_of(_Inside(set(names)), problem)) is not None
    ]
    best = max(bounds, default=0)
    goals = tuple(
        replace(goal, bound=min(goal.reached, max(goal.bound, best)))
        if goal.name == "finish"
        else goal
        for goal in found.goals
    )
    return replace(found, goals=goals)


def _unlike(rows: Sequence[frozenset[str]]) -> list[frozenset[str]]:
    """Return at most ``PARTS_BOUNDED`` rows of tasks that do not say much the same."""
    chosen: list[frozenset[str]] = []
    for row in rows:
        if len(chosen) < PARTS_BOUNDED and all(
            len(row & other) < 0.9 * len(row) for other in chosen
        ):
            chosen.append(row)
    return chosen


def _soonest_of(inside: _Inside, problem: Problem) -> int | None:
    own = _part(problem, inside, problem.tasks, finish=problem.finish)
    parts = decompose(own)
    if len(parts) < 2:
        return least_end(own)
    chain = _Chain(own, LIMITS, quick=True)
    return chain.least_met if all(chain.add(part) for part in parts) else None


def _part(
    problem: Problem, inside: _Inside, tasks: Sequence[Task], finish: tuple[str, ...]
) -> Problem:
    """Return some tasks of a problem with what lies between them."""
    names = inside.names
    return replace(
        problem,
        tasks=tuple(task for task in tasks if task.name in names),
        lags=tuple(lag for lag in problem.lags if inside(lag.before, lag.after)),
        cures=tuple(cure for cure in problem.cures if inside(cure.before, cure.after)),
        holds=tuple(
            hold
            for hold in problem.holds
            if hold.last in names and (not hold.first or hold.first in names)
        ),
        alike=tuple(pair for pair in problem.alike if inside(*pair)),
        finish=tuple(name for name in finish if name in names),
    )


def _rank(solution: Solution) -> tuple[int, int]:
    return len(solution.missed), solution.finish


def _chained(
    problem: Problem, parts: tuple[TaskSegment, ...], limits: Limits, *, quick: bool = False
) -> Solution | None:
    """Return the plan of segment after segment, None where one of them has none."""
    run = _Chain(problem, limits, quick)
    return run.solution() if all(run.add(part) for part in parts) else None


@dataclass(frozen=True, slots=True)
class _Found:
    """The plan of a segment, and the least windows missed and soonest finish there can be."""

    solution: Solution
    missed: int
    soonest: int
    searched: bool


@memoized
def _one(problem: Problem, limits: Limits, *, search: bool = True) -> _Found:
    """Return the plan of a problem: the quick one where nothing can be better, else a search."""
    quick = first_plan(problem)
    bound = least_end(problem)
    if quick is not None:
        missed, finish = plan_rank(problem, quick)
        bound = least_end(problem, windows=False) if missed else bound
        enough = (missed, finish) == (0, bound) or not search
        if enough or len(problem.tasks) > MOST_TASKS:
            cures = tuple(
                cure for cure in problem.cures
                if cure.missed_least is not None and cure.after in _longer(problem, quick)
            )  # fmt: skip
            goals = _goals(problem, (len(cures), 0), (finish, bound))
            return _Found(Solution(quick, cures, goals), 0, bound, searched=False)
    elif not search:
        return _Found(Solution({}, (), ()), 0, bound, searched=False)
    found = _solve_from_its_day(problem, limits)
    goals_by_name = {goal.name: goal for goal in found.goals}
    if "finish" not in goals_by_name:
        return _Found(found, 0, bound, searched=True)
    missed_goal = goals_by_name.get("windows missed", Goal("windows missed", 0, 0))
    finish_goal = goals_by_name["finish"]
    bound = least_end(problem, windows=False) if missed_goal.reached else bound
    soonest = max(bound, finish_goal.bound)
    goals = _goals(
        problem, (missed_goal.reached, missed_goal.bound), (finish_goal.reached, soonest)
    )
    solution = replace(found, goals=goals)
    return _Found(solution, missed_goal.bound, soonest, searched=True)


def _solve_from_its_day(problem: Problem, limits: Limits) -> Solution:
    """Return the solver's plan, put to it from the first day on which anything can begin.

    It looks at every open hour from minute 0 on, so a late segment is counted from its own day.
    """
    begins = (task.earliest if task.start is None else task.start for task in problem.tasks)
    by = min(begins, default=0) // DAY_MIN * DAY_MIN
    if not by:
        return solve(problem, limits)
    found = solve(problem.counted_from(by), limits)
    return replace(
        found,
        spans={name: (begin + by, end + by) for name, (begin, end) in found.spans.items()},
        goals=tuple(
            replace(goal, reached=goal.reached + by, bound=goal.bound + by)
            if goal.name == "finish"
            else goal
            for goal in found.goals
        ),
    )


def _longer(problem: Problem, plan: Mapping[str, Span]) -> set[str]:
    return {
        task.name
        for task in problem.tasks
        if plan[task.name][1] - plan[task.name][0] > task.minutes
    }


def _goals(problem: Problem, missed: tuple[int, int], finish: tuple[int, int]) -> tuple[Goal, ...]:
    windows = any(cure.missed_least is not None for cure in problem.cures)
    goals = (Goal("finish", *finish),)
    return (Goal("windows missed", *missed), *goals) if windows else goals


class _Chain:
    """The plan as it grows, segment after segment, beside the least that no plan can better."""

    def __init__(self, problem: Problem, limits: Limits, quick: bool) -> None:
        self.problem, self.limits, self.quick = problem, limits, quick
        self.tasks = {task.name: task for task in problem.tasks}
        self.clocks = {clock.name: clock for clock in problem.clocks}
        self.into: dict[str, list[Callable[[Mapping[str, int]], int | None]]] = defaultdict(list)
        for lag in problem.lags:
            self.into[lag.after].append(_by_lag(problem, lag.before, lag.least))
        for cure in problem.cures:
            self.into[cure.after].append(_by_cure(self.clocks[cure.clock], cure))
        self.gone = [
            _by_lag(problem, task.name, task.lingers_min)
            for task in problem.tasks
            if task.lingers_min
        ]
        self.spans: dict[str, Span] = {}
        self.missed: list[Cure] = []
        self.ends: dict[str, int] = {}
        self.least: dict[str, int] = {}
        self.least_met = 0
        self.least_missed = 0
        self.effort = limits.effort

    def add(self, part: TaskSegment) -> bool:
        """Plan one more segment; False where it has no plan."""
        own = self._problem(part, self.ends, self.spans)
        effort = replace(self.limits, effort=min(self.effort, EFFORT_EACH))
        found = _one(own, effort, search=not self.quick and self.effort > 0.0)
        if found.searched:
            self.effort -= EFFORT_EACH
        if not found.solution.spans:
            return False
        self.spans |= found.solution.spans
        self.missed += found.solution.missed
        self.ends |= {name: end for name, (_, end) in found.solution.spans.items()}
        soonest, missed = found.soonest, found.missed
        sooner = self._problem(part, self.least, {})
        if sooner.tasks != own.tasks:
            soonest, missed = least_end(sooner), 0
        self.least_missed += missed
        for name in part.names:
            self.least[name] = self.least_met + self.tasks[name].minutes
        if part.meeting:
            self.least[part.meeting] = soonest
        self.least_met = soonest
        return True

    def _problem(
        self, part: TaskSegment, ends: Mapping[str, int], spans: Mapping[str, Span]
    ) -> Problem:
        """Return a segment as a problem of its own, after what has been planned of the others."""
        names = set(part.names)
        begun = self.least_met if not spans else max((end for _, end in spans.values()), default=0)
        outside = {name: end for name, end in ends.items() if name not in names}
        clear = max([begun, *(at for gone in self.gone if (at := gone(outside)) is not None)])
        tasks = tuple(
            self._after(task, outside, clear if task.keeps_clear else begun)
            for task in (self.tasks[name] for name in part.names)
        )
        finish = (part.meeting,) if part.meeting else self.problem.finish
        return _part(self.problem, _Inside(names), tasks, finish)

    def _after(self, task: Task, outside: Mapping[str, int], begun: int) -> Task:
        bounds = (bound(outside) for bound in self.into[task.name])
        earliest = max([task.earliest, begun, *(each for each in bounds if each is not None)])
        return replace(task, earliest=earliest)

    def solution(self) -> Solution:
        """Return the whole plan with what it reaches."""
        finish = max(self.spans[name][1] for name in self.problem.finish or self.spans)
        early = [
            self.least[name] for name in self.problem.finish or self.spans if name in self.least
        ]
        bound = min(finish, max(self.least_met, *early))
        goals = _goals(self.problem, (len(self.missed), self.least_missed), (finish, bound))
        return Solution(self.spans, tuple(self.missed), goals)


def _by_lag(problem: Problem, before: str, least: int) -> Callable[[Mapping[str, int]], int | None]:
    def bound(ends: Mapping[str, int]) -> int | None:
        return None if before not in ends else real_after(problem.shifts, ends[before], least)

    return bound


def _by_cure(clock: CureClock, cure: Cure) -> Callable[[Mapping[str, int]], int | None]:
    def bound(ends: Mapping[str, int]) -> int | None:
        return (
            None if cure.before not in ends else ready_minute(clock, ends[cure.before], cure.least)
        )

    return bound
