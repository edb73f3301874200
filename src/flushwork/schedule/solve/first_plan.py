"""A quick plan that holds: tasks one after another, each as early as it can be.

It is where the solver starts from, and what the shop gets where the solver finds nothing better.
Method: the serial generation scheme of project scheduling, earliest start first (R. Kolisch,
European Journal of Operational Research 90(2), 1996), with held resources.
"""

from __future__ import annotations

import math
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from graphlib import CycleError
from typing import TypeVar

from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.bit_changes import changes, setups_of
from flushwork.schedule.shop_days import last_minute, ready_minute
from flushwork.schedule.solve.tasks import Cure, Hold, Lag, Problem, Span, Task, real_after
from flushwork.schedule.solve.waiting_rows import Row

TRIES = 30
"""How many days a pour is put off so that its window can be met."""

FEW = 150
"""Of so few tasks each is looked at each time: rows of them are too short to save anything."""

Choice = Callable[[int, Task, Span], tuple[int, ...]]
"""What is taken next: the least of these, given a task's place in the list and where it fits."""

CHOICES: tuple[Choice, ...] = (
    lambda rank, task, span: (span[0], task.minutes, rank),
    lambda rank, _, span: (span[0], rank),
    lambda rank, _, span: (span[1], rank),
)
"""What is short goes first, so that it dries beside what is long; or all go in order of the list;
or what is done first."""


LINGERING_LAST: Choice = lambda rank, task, span: (  # noqa: E731
    span[0] // DAY_MIN, task.lingers_min > 0, span[0], rank
)  # fmt: skip
"""On each day what others must keep clear of comes last: it then lingers overnight."""


def first_plan(problem: Problem) -> dict[str, Span] | None:
    """Return the best of a few plans, or None where holds or greatest lags let none through."""
    lingers = any(task.lingers_min for task in problem.tasks)
    choices = (*CHOICES, LINGERING_LAST) if lingers else CHOICES
    plans = [plan for choice in choices if (plan := _Greedy(problem, choice).run()) is not None]
    mounted = setups_of(problem)
    return min(
        plans,
        key=lambda plan: (plan_rank(problem, plan), changes(mounted, plan)),
        default=None,
    )


def pushed_left(problem: Problem, begins: Mapping[str, int]) -> dict[str, Span] | None:
    """Return a plan in the order of another one, each task as early as it can be."""
    names = [task.name for task in problem.tasks]
    return _Greedy(problem, lambda rank, _, __: (begins[names[rank]], rank)).run()


def plan_rank(problem: Problem, plan: dict[str, Span]) -> tuple[int, int]:
    """Return how many tasks a plan makes longer, for windows it misses, and when it ends."""
    longer = sum(plan[task.name][1] - plan[task.name][0] > task.minutes for task in problem.tasks)
    finish = problem.finish or tuple(plan)
    return longer, max((plan[name][1] for name in finish), default=0)


class _Greedy:
    """The plan as it grows."""

    def __init__(self, problem: Problem, choice: Choice) -> None:
        self.problem = problem
        self.choice = choice
        self.horizon = math.inf if problem.horizon is None else problem.horizon
        self.clocks = {clock.name: clock for clock in problem.clocks}
        self.capacity = {item.name: item.capacity for item in problem.resources}
        self.taken: dict[str, list[tuple[int, int, int]]] = {
            item.name: sorted((begin, end, item.capacity) for begin, end in item.closed)
            for item in problem.resources
        }
        self.released: dict[str, int] = {}
        self.lingering: list[tuple[int, int, int]] = []
        self.clear: list[tuple[int, int, int]] = []
        self.spans: dict[str, Span] = {}
        self.lags = _by_after(problem.lags)
        self.cures = _by_after(problem.cures)
        self.opens: dict[str, list[Cure]] = defaultdict(list)
        for cure in problem.cures:
            if cure.greatest is not None:
                self.opens[cure.before].append(cure)
        self.short: dict[str, list[Lag]] = defaultdict(list)
        for lag in problem.lags:
            if lag.greatest is not None:
                self.short[lag.before].append(lag)
        self.holds: dict[str, list[Hold]] = defaultdict(list)
        for hold in problem.holds:
            self.holds[hold.first].append(hold)
            self.holds[hold.last].append(hold)
        self.kept: dict[str, list[Hold]] = defaultdict(list)
        for hold in self.holds.get("", ()):
            self.kept[hold.resource].append(hold)
        self.tasks = {task.name: task for task in problem.tasks}
        self.rank = {name: index for index, name in enumerate(self.tasks)}

    def run(self) -> dict[str, Span] | None:
        """Place every task, the least choice first."""
        waiting = self.problem.waiting
        try:
            waiting.prepare()
        except CycleError:
            return None
        each_time: list[str] = []
        rows: dict[tuple[object, ...], Row] = {}
        for name in waiting.get_ready():
            self._enter(name, each_time, rows)
        while each_time or any(rows.values()):
            found = self._least(each_time, rows)
            if found is None:
                return None
            name, span = found
            self._put(self.tasks[name], span)
            waiting.done(name)
            for later in waiting.get_ready():
                self._enter(later, each_time, rows)
        return self.spans

    def _enter(self, name: str, each_time: list[str], rows: dict[tuple[object, ...], Row]) -> None:
        """Let a task wait: in the row of those like it, or to be looked at each time."""
        task = self.tasks[name]
        if len(self.tasks) <= FEW or not self._is_plain(task):
            each_time.append(name)
            return
        held = tuple(
            (hold.resource, hold.amount, hold.first == name) for hold in self.holds.get(name, ())
        )
        begin, minutes = self._bounds(task)
        rank = self.choice(self.rank[name], task, (0, minutes))
        apart = (task.lingers_min, task.keeps_clear)
        rows.setdefault((task.uses, minutes, held, apart), Row()).add(begin, rank, name)

    def _is_plain(self, task: Task) -> bool:
        """Whether a task's place follows from when it may begin and how long it takes."""
        if task.start is not None or task.latest is not None or len(task.uses) != 1:
            return False
        if task.name in self.opens or task.name in self.short:
            return False
        windows: list[Lag | Cure] = [*self.lags.get(task.name, ()), *self.cures.get(task.name, ())]
        return task.minutes > 0 and all(window.greatest is None for window in windows)

    def _least(
        self, each_time: list[str], rows: dict[tuple[object, ...], Row]
    ) -> tuple[str, Span] | None:
        """Take the task to be done next out of those that wait, None where none can be done."""
        best: tuple[tuple[int, ...], str, Span] | None = None
        of_row: Row | None = None
        for name in each_time:
            own = self._choice(name) if self._may_hold(self.tasks[name]) else None
            if own is not None:
                best = own if best is None else min(best, own)
        for row in rows.values():
            if not row or not self._may_hold(self.tasks[row.any]):
                continue
            own = self._choice_of(row)
            if own is not None and (best is None or own < best):
                best, of_row = own, row
        if best is None:
            return None
        if of_row is None:
            each_time.remove(best[1])
        else:
            of_row.take(best[1])
        return best[1:]

    def _choice_of(self, row: Row) -> tuple[tuple[int, ...], str, Span] | None:
        """Return a row's first task with its rank among all and its place, None without one."""
        task = self.tasks[row.any]
        _, minutes = self._bounds(task)
        freed = max(
            (self._released(hold) for hold in self.holds.get(task.name, ())
             if hold.first == task.name), default=0,
        )  # fmt: skip
        start, name = row.least(lambda begin: self._free(task, max(begin, freed), minutes))
        if start + minutes > self.horizon:
            return None
        span = (start, start + minutes)
        return self.choice(self.rank[name], self.tasks[name], span), name, span

    def _choice(self, name: str) -> tuple[tuple[int, ...], str, Span] | None:
        """Return a task's rank among all with its place, None where it has none."""
        task = self.tasks[name]
        span = self._place(task)
        return None if span is None else (self.choice(self.rank[name], task, span), name, span)

    def _may_hold(self, task: Task) -> bool:
        """Whether nothing else keeps what this task would begin to keep."""
        for hold in self.holds.get(task.name, ()):
            others = [other for other in self.kept[hold.resource] if other is not hold]
            amount = sum(other.amount for other in others) + hold.amount
            if hold.first == task.name and amount > self.capacity[hold.resource]:
                return False
        return True

    def _place(self, task: Task) -> Span | None:
        if task.start is not None:
            return (task.start, task.start + task.minutes)
        begin, minutes = self._bounds(task)
        begin = self._in_time(task, self._free(task, begin, minutes), minutes)
        within = all(
            lag.greatest is None
            or begin + minutes
            <= real_after(self.problem.shifts, self.spans[lag.before][1], lag.greatest)
            for lag in self.lags.get(task.name, ())
        )
        in_time = task.latest is None or begin <= task.latest
        in_time = in_time and begin + minutes <= self.horizon
        return (begin, begin + minutes) if within and in_time else None

    def _in_time(self, task: Task, soonest: int, minutes: int) -> int:
        """Return the first start whose windows can be met, if any day has one."""
        begin = soonest
        for _ in range(TRIES):
            if not self._closes_in_vain(task, begin + minutes):
                return begin
            begin = self._free(task, (begin // DAY_MIN + 1) * DAY_MIN, minutes)
            if begin > self.horizon:
                break
        return soonest

    def _bounds(self, task: Task) -> tuple[int, int]:
        """Return the earliest start by lags and cures, and how long the task then takes."""
        begin, minutes = task.earliest, task.minutes
        for lag in self.lags.get(task.name, ()):
            since = self.spans[lag.before][1]
            begin = max(begin, real_after(self.problem.shifts, since, lag.least))
        for hold in self.holds.get(task.name, ()):
            if hold.first == task.name:
                begin = max(begin, self._released(hold))
        late: list[Cure] = []
        for cure in self.cures.get(task.name, ()):
            since = self.spans[cure.before][1]
            begin = max(begin, since, ready_minute(self.clocks[cure.clock], since, cure.least))
            late += [cure] if cure.greatest is not None else []
        extra = 0
        for cure in late:
            since = self.spans[cure.before][1]
            end = self._free(task, begin, minutes) + minutes
            if end > self._closing(cure, since) and cure.missed_least is not None:
                clock = self.clocks[cure.clock]
                begin = max(begin, ready_minute(clock, since, cure.missed_least))
                extra = max(extra, cure.missed_minutes)
        return begin, minutes + extra

    def _closing(self, cure: Cure, since: int) -> int:
        clock = self.clocks[cure.closing or cure.clock]
        return last_minute(clock, since, cure.greatest or 0.0)

    def _closes_in_vain(self, task: Task, end: int) -> bool:
        """Whether a window that opens with this task would close while the shop is shut."""
        for cure in self.opens.get(task.name, ()):
            after = self.tasks[cure.after]
            ready = ready_minute(self.clocks[cure.clock], end, cure.least)
            if self._free(after, ready, after.minutes) + after.minutes > self._closing(cure, end):
                return True
        for lag in self.short.get(task.name, ()):
            after = self.tasks[lag.after]
            ready = real_after(self.problem.shifts, end, lag.least)
            done = self._free(after, ready, after.minutes) + after.minutes
            if done > real_after(self.problem.shifts, end, lag.greatest or 0):
                return True
        return False

    def _released(self, hold: Hold) -> int:
        """Return the end of earlier holds of a resource that only one can keep."""
        return self.released.get(hold.resource, 0) if self.capacity[hold.resource] == 1 else 0

    def _free(self, task: Task, begin: int, minutes: int) -> int:
        """Return the first start at which all is free that it uses, and nothing is about."""
        while True:
            free = self._unused(task, begin, minutes)
            begin = self._apart(task, free, minutes)
            if begin == free:
                return begin

    def _apart(self, task: Task, begin: int, minutes: int) -> int:
        """Return the first start at which a task keeps clear of what lingers, or lets others."""
        if task.keeps_clear:
            begin = _first_gap(self.lingering, begin, minutes)
        if task.lingers_min:
            begin = _first_gap(self.clear, begin, self._gone(task, begin + minutes) - begin)
        return begin

    def _gone(self, task: Task, end: int) -> int:
        """Return when what lingers after a task that ends at a minute has gone."""
        return real_after(self.problem.shifts, end, task.lingers_min)

    def _unused(self, task: Task, begin: int, minutes: int) -> int:
        """Return the first start at which all that the task uses is free."""
        if len(task.uses) == 1 and minutes > 0:
            ((name, amount),) = task.uses
            if amount and self.capacity[name] == 1:
                return _first_gap(self.taken[name], begin, minutes)
        moved = True
        while moved:
            moved = False
            for name, amount in task.uses:
                clash = self._clash(name, amount, begin, begin + minutes)
                if clash is not None and minutes > 0:
                    begin, moved = clash, True
        return begin

    def _clash(self, name: str, amount: int, begin: int, end: int) -> int | None:
        """Return when the soonest of what is in the way ends, None where nothing is."""
        if amount == 0:
            return None
        if self.capacity[name] == 1:
            # nothing overlaps: only the last that begins before this ends can be in the way
            taken = self.taken[name]
            place = bisect_left(taken, (end, 0, 0)) - 1
            while place > 0 and taken[place][1] > begin and taken[place - 1][1] > begin:
                place -= 1
            return taken[place][1] if place >= 0 and taken[place][1] > begin else None
        across = [use for use in self.taken[name] if use[0] < end and use[1] > begin]
        moments = [begin, *(use[0] for use in across if use[0] > begin)]
        for moment in moments:
            there = [use for use in across if use[0] <= moment < use[1]]
            if sum(use[2] for use in there) + amount > self.capacity[name]:
                return min(use[1] for use in there)
        return None

    def _put(self, task: Task, span: Span) -> None:
        self.spans[task.name] = span
        if task.lingers_min:
            _take(self.lingering, (span[0], self._gone(task, span[1])))
        if task.keeps_clear:
            _take(self.clear, span)
        for name, amount in task.uses:
            if self.capacity[name] == 1 and amount:
                _take(self.taken[name], span)
            else:
                insort(self.taken[name], (*span, amount))
        for hold in self.holds.get(task.name, ()):
            if hold.first == task.name and hold not in self.kept[hold.resource]:
                self.kept[hold.resource].append(hold)
            if hold.last == task.name:
                freed = span[1 if hold.whole else 0]
                self.released[hold.resource] = max(freed, self.released.get(hold.resource, 0))
                self.kept[hold.resource].remove(hold)


def _take(taken: list[tuple[int, int, int]], span: Span) -> None:
    """Take a span of what only one can use; spans that touch become one, so that few remain."""
    begin, end = span
    place = bisect_left(taken, (begin, 0, 0))
    after = place
    if place and taken[place - 1][1] >= begin:
        place -= 1
        begin = taken[place][0]
    while after < len(taken) and taken[after][0] <= end:
        end = max(end, taken[after][1])
        after += 1
    taken[place:after] = [(begin, max(end, taken[place][1] if place < after else end), 1)]


def _first_gap(taken: list[tuple[int, int, int]], begin: int, minutes: int) -> int:
    """Return the first start of a gap so long between spans that do not overlap, in order."""
    place = max(0, bisect_left(taken, (begin, 0, 0)) - 1)
    while place < len(taken) and taken[place][0] < begin + minutes:
        begin = max(begin, taken[place][1])
        place += 1
    return begin


T = TypeVar("T", Lag, Cure)


def _by_after(items: Iterable[T]) -> dict[str, list[T]]:
    found: dict[str, list[T]] = defaultdict(list)
    for item in items:
        found[item.after].append(item)
    return found
