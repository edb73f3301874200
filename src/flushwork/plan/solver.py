"""The scheduler: constraint programming over tasks, in order of what matters most.

The aims are taken one after another: fewest closing windows missed, soonest finish, fewest changes
of tool, then everything as early as may be.  Each aim is held while the next one is sought.  The
solver runs with a fixed seed; an aim it has not closed in its time carries a bound, so that the gap
can be told.  Method: CP-SAT, Perron and Furnon, OR-Tools (interval variables, no-overlap and
cumulative constraints).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flushwork.plan.tasks import DAY_MIN, Clock, Cure, Goal, Hold, Lag, Problem, Solution, Span

DOSE_SCALE = 100_000
"""Steps in which rates are told apart: half a minute in a month of waiting at worst."""
WORKERS = 2
SEED = 1


@dataclass(frozen=True, slots=True)
class Limits:
    """How long each aim may take, in seconds of work, and how it is shared."""

    seconds: float = 4.0
    tidy_seconds: float = 1.0
    workers: int = WORKERS
    seed: int = SEED


def solve(problem: Problem, limits: Limits | None = None) -> Solution:
    """Return the best plan found within the limits."""
    from ortools.sat.python import cp_model  # noqa: PLC0415  (half a second, only where needed)

    return _Search(problem, limits or Limits(), cp_model).run()


class _Search:
    """One problem put to the solver: its variables, and its aims one after another."""

    def __init__(self, problem: Problem, limits: Limits, cp: Any) -> None:
        self.problem = problem
        self.limits = limits
        self.cp = cp
        self.model = cp.CpModel()
        self.horizon = problem.horizon or _horizon(problem)
        self.starts: dict[str, Any] = {}
        self.ends: dict[str, Any] = {}
        self.intervals: dict[str, Any] = {}
        self.missed: dict[int, Any] = {}
        self._doses: dict[tuple[str, str, str], Any] = {}
        self._closed = {item.name: item.closed for item in problem.resources}
        self._clocks = {item.name: item for item in problem.clocks}
        self._build()

    def run(self) -> Solution:
        """Pursue the aims in turn."""
        aims: list[tuple[str, Any, float]] = []
        if self.missed:
            aims.append(("windows missed", sum(self.missed.values()), self.limits.seconds))
        aims.append(("finish", self.makespan, self.limits.seconds))
        if self.changes is not None:
            aims.append(("changes of tool", self.changes, self.limits.tidy_seconds))
        goals: list[Goal] = []
        best: dict[str, Span] = {}
        missed: tuple[Cure, ...] = ()
        tidy = sum(self.starts.values())
        for name, aim, seconds in [*aims, ("tidy", tidy, self.limits.tidy_seconds)]:
            self.model.minimize(aim)
            solver = self._solver(seconds)
            status = solver.solve(self.model)
            if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
                if best:
                    break
                return Solution({}, (), (), impossible=status == self.cp.INFEASIBLE)
            reached = round(solver.objective_value)
            if name != "tidy":
                bound = reached if status == self.cp.OPTIMAL else _rounded(solver)
                goals.append(Goal(name, reached, bound))
            best = {
                task: (solver.value(start), solver.value(self.ends[task]))
                for task, start in self.starts.items()
            }
            missed = tuple(
                self.problem.cures[index]
                for index, literal in self.missed.items()
                if solver.value(literal)
            )
            self.model.add(aim <= reached)
            self._hint(solver)
        return Solution(best, missed, tuple(goals))

    def _solver(self, seconds: float) -> Any:
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = self.limits.workers
        solver.parameters.random_seed = self.limits.seed
        solver.parameters.max_time_in_seconds = seconds
        return solver

    def _hint(self, solver: Any) -> None:
        self.model.clear_hints()
        for index in range(len(self.model.proto.variables)):
            variable = self.model.get_int_var_from_proto_index(index)
            self.model.add_hint(variable, solver.value(variable))

    def _build(self) -> None:
        self._add_tasks()
        for lag in self.problem.lags:
            self._add_lag(lag)
        for index, cure in enumerate(self.problem.cures):
            self._add_cure(cure, self.missed.get(index))
        self._add_resources()
        for first, second in self.problem.alike:
            self.model.add(self.starts[first] <= self.starts[second])
        finish = self.problem.finish or tuple(self.starts)
        self.makespan = self.model.new_int_var(0, self.horizon, "finish")
        for name in finish:
            self.model.add(self.makespan >= self.ends[name])
        self.changes = self._tool_changes()

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
                worst = self.model.new_int_var(0, most, f"keying {task.name}")
                for minutes, literal in added:
                    self.model.add(worst >= minutes * literal)
                size = task.minutes + worst
                end = self.model.new_int_var(0, self.horizon + most, f"end {task.name}")
                self.model.add(end == start + size)
            self.starts[task.name] = start
            self.ends[task.name] = end
            self.intervals[task.name] = self.model.new_interval_var(
                start, size, end, f"do {task.name}"
            )

    def _add_lag(self, lag: Lag) -> None:
        self.model.add(self.starts[lag.after] >= self.ends[lag.before] + lag.least)
        if lag.greatest is not None:
            self.model.add(self.ends[lag.after] <= self.ends[lag.before] + lag.greatest)

    def _add_cure(self, cure: Cure, missed: Any | None) -> None:
        begun = self._dose(cure.before, "end", cure.clock)
        worked = self._dose(cure.after, "start", cure.clock)
        self.model.add(worked - begun >= _scaled(cure.least))
        self.model.add(self.starts[cure.after] >= self.ends[cure.before])
        if cure.greatest is None:
            return
        closing = cure.closing or cure.clock
        passed = self._dose(cure.after, "end", closing) - self._dose(cure.before, "end", closing)
        within = self.model.add(passed <= _scaled(cure.greatest))
        if missed is not None and cure.missed_least is not None:
            within.only_enforce_if(~missed)
            late = self.model.add(worked - begun >= _scaled(cure.missed_least))
            late.only_enforce_if(missed)

    def _dose(self, task: str, which: str, clock: str) -> Any:
        """Return the dose on a clock, from minute 0 to a task's start or end."""
        key = (task, which, clock)
        if key not in self._doses:
            moment = self.starts[task] if which == "start" else self.ends[task]
            self._doses[key] = self._dose_at(moment, self._clocks[clock], self._open_hours(task))
        return self._doses[key]

    def _open_hours(self, task: str) -> Span:
        """Return the part of the day in which a task can begin or end."""
        uses = next(item.uses for item in self.problem.tasks if item.name == task)
        spans = [span for name, _ in uses for span in self._closed.get(name, ())]
        fixed = next(item.start for item in self.problem.tasks if item.name == task)
        return (0, DAY_MIN) if fixed is not None else _common_hours(spans)

    def _dose_at(self, moment: Any, clock: Clock, hours: Span) -> Any:
        days = self.horizon // DAY_MIN + 2
        day = self.model.new_int_var(0, days, "")
        into = self.model.new_int_var(hours[0], hours[1], "")
        self.model.add(moment == DAY_MIN * day + into)
        pieces = [
            (max(begin, hours[0]), min(until, hours[1]), begin, rate, before)
            for (begin, until, rate), before in zip(clock.day, _before(clock), strict=True)
            if min(until, hours[1]) > max(begin, hours[0])
        ]
        daily = _scaled(clock.daily)
        if len(pieces) == 1:
            _, _, begin, rate, before = pieces[0]
            return daily * day + _scaled(rate) * (into - begin) + _scaled(before)
        dose = self.model.new_int_var(0, daily * (days + 1), "")
        literals = [self.model.new_bool_var("") for _ in pieces]
        self.model.add_exactly_one(literals)
        for literal, (low, high, begin, rate, before) in zip(literals, pieces, strict=True):
            self.model.add_linear_constraint(into, low, high).only_enforce_if(literal)
            value = daily * day + _scaled(rate) * (into - begin) + _scaled(before)
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

    def _held(self, hold: Hold) -> Any:
        begin = self.starts[hold.first] if hold.whole else self.ends[hold.first]
        end = self.ends[hold.last] if hold.whole else self.starts[hold.last]
        size = self.model.new_int_var(0, self.horizon, "")
        return self.model.new_interval_var(begin, size, end, f"hold {hold.first}")

    def _tool_changes(self) -> Any | None:
        """Return how many holds begin with another tool than the one left in the machine."""
        spans = [hold for hold in self.problem.holds if hold.tool_in]
        savers = [
            (one, two)
            for one, first in enumerate(spans)
            for two, second in enumerate(spans)
            if one != two and first.tool_out == second.tool_in
        ]
        if not savers:
            return None
        arcs: list[tuple[int, int, Any]] = []
        saved: list[Any] = []
        count = len(spans)
        for one in range(count):
            arcs.append((count, one, self.model.new_bool_var("")))
            arcs.append((one, count, self.model.new_bool_var("")))
            for two in range(count):
                if one == two:
                    continue
                follows = self.model.new_bool_var("")
                arcs.append((one, two, follows))
                begin, end = self.starts[spans[two].first], self.ends[spans[one].last]
                self.model.add(begin >= end).only_enforce_if(follows)
                if (one, two) in savers:
                    saved.append(follows)
        self.model.add_circuit(arcs)
        return count - sum(saved)


def _scaled(minutes: float) -> int:
    return round(minutes * DOSE_SCALE)


def _rounded(solver: Any) -> int:
    return int(-(-solver.best_objective_bound // 1))


def _before(clock: Clock) -> list[float]:
    """Return the dose of a day before each of its pieces."""
    passed, result = 0.0, []
    for begin, until, rate in clock.day:
        result.append(passed)
        passed += (until - begin) * rate
    return result


def _common_hours(closed: list[Span]) -> Span:
    """Return the hours of the day that lie outside every closed span, as one stretch.

    Closed spans of a shop run from closing to opening; (0, 1440) where nothing is closed.
    """
    opens = {end % DAY_MIN for _, end in closed}
    closes = {begin % DAY_MIN for begin, _ in closed if begin > 0}
    if not opens or not closes or min(opens) >= max(closes):
        return (0, DAY_MIN)
    return (min(opens), max(closes))


def _horizon(problem: Problem) -> int:
    """Return a time by which everything can surely be done, one thing after another."""
    work = sum(task.minutes for task in problem.tasks)
    work += sum(cure.missed_minutes for cure in problem.cures)
    clocks = {clock.name: clock for clock in problem.clocks}
    waits = sum(lag.least for lag in problem.lags)
    waits += sum(
        (max(cure.least, cure.missed_least or 0.0) / max(clocks[cure.clock].daily, 1e-9) + 1.0)
        * DAY_MIN
        for cure in problem.cures
    )
    begin = max((task.earliest for task in problem.tasks), default=0)
    begin = max([begin, *(task.start + task.minutes for task in problem.tasks if task.start)])
    return int(begin + work + waits)
