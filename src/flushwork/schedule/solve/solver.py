"""The scheduler: constraint programming over tasks, in order of what matters most.

Fewest closing windows missed, then soonest finish, then fewest changes of bits (set-ups follow
from the stages, and hands-on time from both); with those held, everything as early as may be.
The solver runs with a fixed seed and starts from a quick plan; what it has not proven in its time
carries a bound, so that the gap can be told.  Method: constraint programming with lazy clauses over
interval variables (the CP-SAT solver of L. Perron and F. Didier's OR-Tools).

Long because variables, aims and answer of one model rest on one another.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.bit_changes import MOST_SETUPS, changes, fewest_changes, setups_of
from flushwork.schedule.shop_days import shift_dose
from flushwork.schedule.solve.first_plan import first_plan, plan_rank, pushed_left
from flushwork.schedule.solve.lower_bound import WorkBound, work_bounds
from flushwork.schedule.solve.tasks import (
    Cure,
    CureClock,
    Goal,
    Hold,
    Lag,
    Problem,
    Shift,
    Solution,
    Span,
    Task,
    common_hours,
    open_windows,
)

WORKERS = 2
SEED = 1


@dataclass(frozen=True, slots=True)
class Limits:
    """How much each aim may take.

    ``effort`` is counted in the solver's own steps (a few seconds each on two idle cores), so that
    the same job gives the same plan on any machine; ``seconds`` by the wall clock only keeps a
    slow machine from searching without end.
    """

    effort: float = 0.8
    tidy_effort: float = 0.1
    seconds: float = 20.0
    workers: int = WORKERS
    seed: int = SEED


LIMITS: Final = Limits()


DOSE_SCALE = 100_000
"""Steps in which rates are told apart: half a minute in a month of waiting at worst."""


def scaled(minutes: float) -> int:
    """Return minutes at the reference temperature in steps of a dose."""
    return round(minutes * DOSE_SCALE)


def solve(problem: Problem, limits: Limits = LIMITS) -> Solution:
    """Return the best plan found within the limits."""
    from ortools.sat.python import cp_model  # noqa: PLC0415  (half a second, only where needed)

    return _Search(problem, limits, cp_model).run()


@dataclass(frozen=True, slots=True)
class _Found:
    """A plan, what it reaches, and what no plan can better."""

    spans: dict[str, Span]
    missed: tuple[Cure, ...]
    reached: int
    bound: int


@dataclass(frozen=True, slots=True)
class _Nothing:
    """No plan was found: because there is none, or in the time given."""

    impossible: bool
    bound: int


class _Search:
    """One problem put to the solver: its variables, and its aims one after another."""

    def __init__(self, problem: Problem, limits: Limits, cp: Any) -> None:
        self.problem = problem
        self.limits = limits
        self.cp = cp
        self.model = cp.CpModel()
        self.first = first_plan(problem)
        self.horizon = problem.horizon or problem.surely_done
        if self.first is not None and not plan_rank(problem, self.first)[0]:
            # whoever misses no window need not look beyond the end of the quick plan
            self.horizon = max((end for _, end in self.first.values()), default=0) + DAY_MIN
        self.starts: dict[str, Any] = {}
        self.ends: dict[str, Any] = {}
        self.intervals: dict[str, Any] = {}
        self.missed: dict[int, Any] = {}
        self._open: dict[tuple[str, str, str], Any] = {}
        self._doses: dict[tuple[str, str, str], Any] = {}
        self._later: dict[tuple[str, str, Shift], Any] = {}
        self._closed = {item.name: item.closed for item in problem.resources}
        self._clocks = {item.name: item for item in problem.clocks}
        self._build()

    def run(self) -> Solution:
        """Pursue the aims: first what weighs, then, with that held, everything early."""
        if self.first is not None:
            self._hint({name: begin for name, (begin, _) in self.first.items()})
        weighed = self.makespan + (self.horizon + 1) * sum(self.missed.values())
        found = self._pursue(weighed, self.limits.effort)
        if isinstance(found, _Nothing):
            return Solution({}, (), (), True) if found.impossible else self._first_found(found)
        self.model.add(weighed <= found.reached)
        found = self._fewer_changes(found)
        begins = {name: begin for name, (begin, _) in found.spans.items()}
        pushed = pushed_left(self.problem, begins)
        if pushed is not None and self._as_good(pushed, found.spans):
            return Solution(pushed, found.missed, self._goals(found))
        self._hint(begins)
        tidied = self._pursue(sum(self.starts.values()), self.limits.tidy_effort)
        best = found if isinstance(tidied, _Nothing) else tidied
        return Solution(best.spans, best.missed, self._goals(found))

    def _as_good(self, plan: dict[str, Span], found: dict[str, Span]) -> bool:
        mounted = setups_of(self.problem)
        if plan_rank(self.problem, plan) > plan_rank(self.problem, found):
            return False
        return changes(mounted, plan) <= changes(mounted, found)

    def _fewer_changes(self, found: _Found) -> _Found:
        """Return a plan as good in which fewer bits are changed, and hold the rest to it."""
        mounted = setups_of(self.problem)
        tools = {(item.tools[0], item.tools[-1]) for item in mounted}
        if len(tools) < 2 or not 2 < len(mounted) <= MOST_SETUPS:
            return found
        if not {first for first, _ in tools} & {last for _, last in tools}:
            return found
        self._hint({name: begin for name, (begin, _) in found.spans.items()})
        aim = fewest_changes(self.model, mounted, self.starts, self.ends)
        fewer = self._pursue(aim, self.limits.tidy_effort)
        if isinstance(fewer, _Nothing):
            return found
        self.model.add(aim <= fewer.reached)
        return replace(fewer, reached=found.reached, bound=found.bound)

    def _first_found(self, nothing: _Nothing) -> Solution:
        """Return the quick plan, where the solver found none in its time, with the gap it left."""
        if self.first is None:
            return Solution({}, (), ())
        minutes = {task.name: task.minutes for task in self.problem.tasks}
        longer = {name for name, (begin, end) in self.first.items() if end - begin > minutes[name]}
        missed = tuple(
            self.problem.cures[index]
            for index in self.missed
            if self.problem.cures[index].after in longer
        )
        finish = self.problem.finish or tuple(self.first)
        end = max((self.first[name][1] for name in finish), default=0)
        reached = end + len(missed) * (self.horizon + 1)
        return Solution(
            self.first, missed, self._goals(_Found(self.first, missed, reached, nothing.bound))
        )

    def _pursue(self, aim: Any, effort: float) -> _Found | _Nothing:
        """Return the best plan found for one aim, or that none was."""
        self.model.minimize(aim)
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = self.limits.workers
        solver.parameters.random_seed = self.limits.seed
        solver.parameters.interleave_search = True
        solver.parameters.max_deterministic_time = effort
        solver.parameters.max_time_in_seconds = self.limits.seconds
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return _Nothing(status == self.cp.INFEASIBLE, _rounded(solver))
        reached = round(solver.objective_value)
        return _Found(
            spans={
                task: (solver.value(start), solver.value(self.ends[task]))
                for task, start in self.starts.items()
            },
            missed=tuple(
                self.problem.cures[index]
                for index, literal in self.missed.items()
                if solver.value(literal)
            ),
            reached=reached,
            bound=reached if status == self.cp.OPTIMAL else _rounded(solver),
        )

    def _goals(self, found: _Found) -> tuple[Goal, ...]:
        missed, finish = divmod(found.reached, self.horizon + 1)
        least, bound = divmod(max(0, found.bound), self.horizon + 1)
        goals = (Goal("finish", finish, bound if least == missed else 0),)
        return (Goal("windows missed", missed, least), *goals) if self.missed else goals

    def _hint(self, begins: dict[str, int]) -> None:
        self.model.clear_hints()
        for name, begin in begins.items():
            self.model.add_hint(self.starts[name], begin)

    def _build(self) -> None:
        self._add_tasks()
        for lag in self.problem.lags:
            self._add_lag(lag)
        for index, cure in enumerate(self.problem.cures):
            self._add_cure(cure, self.missed.get(index))
        self._add_resources()
        self._add_lingering()
        for first, second in self.problem.alike:
            self.model.add(self.starts[first] <= self.starts[second])
        for resource in self.problem.resources:
            if resource.capacity == 1 and resource.closed:
                for bound in work_bounds(self.problem, resource.name):
                    self._add_work_bound(bound)
        finish = self.problem.finish or tuple(self.starts)
        self.makespan = self.model.new_int_var(0, self.horizon, "finish")
        for name in finish:
            self.model.add(self.makespan >= self.ends[name])

    def _add_tasks(self) -> None:
        extra: dict[str, list[tuple[int, Any]]] = {}
        for index, cure in enumerate(self.problem.cures):
            if cure.greatest is not None and cure.missed_least is not None:
                literal = self.model.new_bool_var(f"missed {index}")
                self.missed[index] = literal
                extra.setdefault(cure.after, []).append((cure.missed_minutes, literal))
        for task in self.problem.tasks:
            latest = self.horizon if task.latest is None else task.latest
            low, high = (task.earliest, latest) if task.start is None else (task.start, task.start)
            start = self.model.new_int_var(low, max(low, high), f"start {task.name}")
            added = extra.get(task.name)
            end: Any
            if not added:
                end = start + task.minutes
                size: Any = task.minutes
            else:
                most = sum(minutes for minutes, _ in added)
                worst = self.model.new_int_var(0, most, f"scuff-sanding {task.name}")
                self.model.add_max_equality(worst, [each * literal for each, literal in added])
                size = task.minutes + worst
                end = self.model.new_int_var(0, self.horizon + most, f"end {task.name}")
                self.model.add(end == start + size)
            self.starts[task.name] = start
            self.ends[task.name] = end
            self.intervals[task.name] = self.model.new_interval_var(
                start, size, end, f"do {task.name}"
            )

    def _add_lag(self, lag: Lag) -> None:
        begun = self._passed(lag.before, "end")
        self.model.add(self._passed(lag.after, "start") >= begun + lag.least)
        if lag.greatest is not None:
            self.model.add(self._passed(lag.after, "end") <= begun + lag.greatest)

    def _passed(self, task: str, which: str) -> Any:
        """Return the minutes passed until a task's start or end, over changes of the wall clock."""
        moment = self.starts[task] if which == "start" else self.ends[task]
        return moment + sum(
            (shift.times - 1) * (shift.until - shift.begin) * self._beyond(task, which, shift)
            for shift in self.problem.shifts
        )

    def _beyond(self, task: str, which: str, shift: Shift) -> Any:
        """Return whether a task's start or end comes after a change of the wall clock."""
        key = (task, which, shift)
        if key not in self._later:
            moment = self.starts[task] if which == "start" else self.ends[task]
            later = self.model.new_bool_var("")
            self.model.add(moment >= shift.until).only_enforce_if(later)
            self.model.add(moment < shift.until).only_enforce_if(~later)
            self._later[key] = later
        return self._later[key]

    def _add_cure(self, cure: Cure, missed: Any | None) -> None:
        begun = self._dose(cure.before, "end", cure.clock)
        worked = self._dose(cure.after, "start", cure.clock)
        self.model.add(worked - begun >= scaled(cure.least))
        self.model.add(self.starts[cure.after] >= self.ends[cure.before])
        if cure.greatest is None:
            return
        closing = cure.closing or cure.clock
        passed = self._dose(cure.after, "end", closing) - self._dose(cure.before, "end", closing)
        within = self.model.add(passed <= scaled(cure.greatest))
        if missed is not None and cure.missed_least is not None:
            within.only_enforce_if(~missed)
            late = self.model.add(worked - begun >= scaled(cure.missed_least))
            late.only_enforce_if(missed)

    def _dose(self, task: str, which: str, clock: str) -> Any:
        """Return the dose on a clock, from minute 0 to a task's start or end."""
        key = (task, which, clock)
        if key not in self._doses:
            moment = self.starts[task] if which == "start" else self.ends[task]
            plain = self._dose_at(moment, self._clocks[clock], self._open_hours(task))
            self._doses[key] = plain + sum(
                scaled(shift_dose(self._clocks[clock], shift)) * self._beyond(task, which, shift)
                for shift in self._clocks[clock].shifts
            )
        return self._doses[key]

    def _open_hours(self, task: str) -> Span:
        """Return the part of the day in which a task can begin or end."""
        own = next(item for item in self.problem.tasks if item.name == task)
        spans = [span for name, _ in own.uses for span in self._closed.get(name, ())]
        return common_hours(spans) if own.start is None else (0, DAY_MIN)

    def _dose_at(self, moment: Any, clock: CureClock, hours: Span) -> Any:
        days = self.horizon // DAY_MIN + 2
        day = self.model.new_int_var(0, days, "")
        into = self.model.new_int_var(hours[0], hours[1], "")
        self.model.add(moment == DAY_MIN * day + into)
        pieces = [
            (max(begin, hours[0]), min(until, hours[1]), begin, rate, before)
            for (begin, until, rate), before in zip(clock.day, clock.doses_before, strict=True)
            if min(until, hours[1]) > max(begin, hours[0])
        ]
        daily = scaled(clock.daily)
        if len(pieces) == 1:
            _, _, begin, rate, before = pieces[0]
            return daily * day + scaled(rate) * (into - begin) + scaled(before)
        dose = self.model.new_int_var(0, daily * (days + 1), "")
        literals = [self.model.new_bool_var("") for _ in pieces]
        self.model.add_exactly_one(literals)
        for literal, (low, high, begin, rate, before) in zip(literals, pieces, strict=True):
            self.model.add_linear_constraint(into, low, high).only_enforce_if(literal)
            value = daily * day + scaled(rate) * (into - begin) + scaled(before)
            self.model.add(dose == value).only_enforce_if(literal)
        return dose

    def _add_resources(self) -> None:
        for resource in self.problem.resources:
            taken: list[tuple[Any, int]] = [
                (self.intervals[task.name], amount)
                for task in self.problem.tasks
                for name, amount in task.uses
                if name == resource.name and amount > 0
            ]
            taken += [
                (self._held(hold), hold.amount)
                for hold in self.problem.holds
                if hold.resource == resource.name
            ]
            taken += [
                (self.model.new_fixed_size_interval_var(begin, end - begin, ""), resource.capacity)
                for begin, end in resource.closed
                if begin < self.horizon
            ]
            if resource.capacity == 1:
                self.model.add_no_overlap([interval for interval, _ in taken])
            else:
                self.model.add_cumulative(
                    [interval for interval, _ in taken],
                    [amount for _, amount in taken],
                    resource.capacity,
                )

    def _add_lingering(self) -> None:
        """Keep what keeps clear away from every task while something of that is about."""
        lingering = [task for task in self.problem.tasks if task.lingers_min]
        clear = [task for task in self.problem.tasks if task.keeps_clear]
        if not lingering or not clear:
            return
        taken = [(self._lingers(task), 1) for task in lingering]
        # one that does both is in nobody's way but its own
        taken += [
            (self.intervals[task.name], len(lingering) - bool(task.lingers_min)) for task in clear
        ]
        self.model.add_cumulative(
            [interval for interval, _ in taken], [amount for _, amount in taken], len(lingering)
        )

    def _lingers(self, task: Task) -> Any:
        """Return the span from a task's start until what lingers after it has gone."""
        most = self.horizon + task.lingers_min + 2 * DAY_MIN
        gone = f"{task.name} gone"
        self.ends[gone] = self.model.new_int_var(0, most, gone)
        passed = self._passed(task.name, "end") + task.lingers_min
        self.model.add(self._passed(gone, "end") >= passed)
        size = self.model.new_int_var(0, most, "")
        return self.model.new_interval_var(self.starts[task.name], size, self.ends[gone], gone)

    def _held(self, hold: Hold) -> Any:
        begin: Any = 0
        if hold.first:
            begin = self.starts[hold.first] if hold.whole else self.ends[hold.first]
        end = self.ends[hold.last] if hold.whole else self.starts[hold.last]
        size = self.model.new_int_var(0, self.horizon, "")
        return self.model.new_interval_var(begin, size, end, f"hold {hold.first}")

    def _add_work_bound(self, bound: WorkBound) -> None:
        begin = self._worked(bound.resource, bound.before, from_start=bound.from_start)
        end = self._worked(bound.resource, bound.after, from_start=True)
        self.model.add(end - begin >= bound.minutes)

    def _worked(self, resource: str, task: str, *, from_start: bool) -> Any:
        """Return the open minutes of a resource from minute 0 to a task's start or end."""
        key = (task, "start" if from_start else "end", resource)
        if key not in self._open:
            windows = open_windows(self._closed[resource], self.horizon)
            moment = self.starts[task] if from_start else self.ends[task]
            literals = [self.model.new_bool_var("") for _ in windows]
            self.model.add_exactly_one(literals)
            passed = 0
            worked = self.model.new_int_var(0, self.horizon, "")
            for literal, (begin, end) in zip(literals, windows, strict=True):
                self.model.add_linear_constraint(moment, begin, end).only_enforce_if(literal)
                self.model.add(worked == moment - (begin - passed)).only_enforce_if(literal)
                passed += end - begin
            self._open[key] = worked
        return self._open[key]


def _rounded(solver: Any) -> int:
    return int(-(-solver.best_objective_bound // 1))
