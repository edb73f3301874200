"""The soonest end that no plan can better: by the longest row of tasks, and by all work together.

Heads are the earliest starts by lags, cures and shop hours, each task as if it were alone; tails
the shortest waits behind it.  Of any tasks that start no sooner than a head and leave no less than
a tail behind them, one pair of hands can have done no more than the shop is open.  Method: heads
and tails of one machine (J. Carlier, European Journal of Operational Research 11, 1982), counted in
open minutes.

How much work lies between two moments of a plan: a bound that helps the solver to prove.

Where one person does everything, the open minutes between two tasks are at least the work of all
tasks that must lie between them.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.shop_days import last_minute, ready_minute
from flushwork.schedule.solve.tasks import (
    Cure,
    CureClock,
    Lag,
    Problem,
    Span,
    Task,
    afters,
    real_after,
)

MOST_HEADS = 60
"""Heads and tails looked at; more are thinned out, which keeps the bound true."""

DAYS_TRIED = 10
"""A window that opens on none of so many days is taken for one that cannot be met."""

STEP_MIN = 20
"""How finely the start of a window is looked for; coarser makes the bound weaker, never false."""


@dataclass(frozen=True, slots=True)
class Open:
    """The open spans of a resource, and the open minutes before each of them."""

    begins: tuple[int, ...]
    ends: tuple[int, ...]
    before: tuple[int, ...]

    def until(self, minute: int) -> int:
        """Return the open minutes up to a minute."""
        place = bisect_right(self.begins, minute) - 1
        if place < 0:
            return 0
        return self.before[place] + min(minute, self.ends[place]) - self.begins[place]

    def when(self, worked: int) -> int:
        """Return the first minute by which so many open minutes have passed."""
        place = max(0, bisect_left(self.before, worked) - 1)
        return self.begins[place] + worked - self.before[place]

    def fit(self, minute: int, minutes: int) -> int:
        """Return the first minute at or after one at which so many fit in before closing."""
        place = max(0, bisect_right(self.begins, minute) - 1)
        for at in range(place, len(self.begins)):
            begin = max(minute, self.begins[at])
            if begin + minutes <= self.ends[at]:
                return begin
        return minute


def open_of(closed: Sequence[Span], horizon: int) -> Open:
    """Return the open spans between closed ones, the last one without an end."""
    begins: list[int] = []
    ends: list[int] = []
    before: list[int] = []
    at, worked = 0, 0
    for shut, opens in closed:
        if shut > at:
            begins.append(at)
            ends.append(shut)
            before.append(worked)
            worked += shut - at
        at = max(at, opens)
    begins.append(at)
    ends.append(max(at, horizon) + 10**7)
    before.append(worked)
    return Open(tuple(begins), tuple(ends), tuple(before))


def least_end(problem: Problem, *, windows: bool = True) -> int:
    """Return a minute before which no plan of a problem can end.

    With ``windows`` no plan that misses none of the windows that can be met.
    """
    hands = next((item for item in problem.resources if item.capacity == 1 and item.closed), None)
    opened = open_of(hands.closed if hands is not None else (), problem.horizon or 0)
    used = {
        task.name
        for task in problem.tasks
        if hands is not None and any(name == hands.name and take for name, take in task.uses)
    }
    order = problem.in_order()
    if not order:
        return 0
    heads = _heads(problem, order, opened, used, windows=windows)
    finish = problem.finish or tuple(heads)
    minutes = {task.name: task.minutes for task in problem.tasks}
    bound = max((heads[name] + minutes[name] for name in finish), default=0)
    tails = _tails(problem, order, finish)
    worked = [
        (heads[name], tails[name], minutes[name]) for name in order if name in used
        and tails[name] > -math.inf
    ]  # fmt: skip
    last = minutes[finish[0]] if len(finish) == 1 and finish[0] in used else 0
    ends = _thinned({int(item[1]) for item in worked}, up=False)
    for head in _thinned({item[0] for item in worked}):
        for tail, work in zip(ends, _work_behind(worked, head, ends), strict=True):
            if not work:
                continue
            done = opened.when(opened.until(head) + work)
            if last and tail >= last:
                bound = max(bound, opened.fit(done + tail - last, last) + last)
            else:
                bound = max(bound, done + tail)
    return bound


def _work_behind(
    worked: Sequence[tuple[int, float, int]], head: int, ends: Sequence[int]
) -> list[int]:
    """Return the work from a head on that leaves no less than each of some tails behind it."""
    later = sorted((item for item in worked if item[0] >= head), key=lambda item: item[1])
    tails = [item[1] for item in later]
    sums = [0, *accumulate(item[2] for item in reversed(later))]
    return [sums[len(later) - bisect_left(tails, tail)] for tail in ends]


def _thinned(values: set[int], *, up: bool = True) -> list[int]:
    """Return at most ``MOST_HEADS`` of some values."""
    row = sorted(values, reverse=not up)
    step = max(1, math.ceil(len(row) / MOST_HEADS))
    return row[::step]


def _heads(
    problem: Problem, order: Sequence[str], opened: Open, used: set[str], *, windows: bool
) -> dict[str, int]:
    tasks: Mapping[str, Task] = {task.name: task for task in problem.tasks}
    clocks = {clock.name: clock for clock in problem.clocks}
    into: dict[str, list[Lag | Cure]] = defaultdict(list)
    for arc in problem.arcs:
        into[arc.after].append(arc)
    opens: dict[str, list[Cure]] = defaultdict(list)
    for cure in problem.cures:
        if cure.greatest is not None and cure.after in used:
            opens[cure.before].append(cure)
    heads: dict[str, int] = {}
    for name in order:
        task = tasks[name]
        head = task.earliest if task.start is None else task.start
        for arc in into[name]:
            end = heads[arc.before] + tasks[arc.before].minutes
            head = max(
                head,
                real_after(problem.shifts, end, arc.least)
                if isinstance(arc, Lag)
                else max(end, ready_minute(clocks[arc.clock], end, arc.least)),
            )
        heads[name] = opened.fit(head, task.minutes) if name in used else head
        if windows and name in used:
            heads[name] = max(
                [heads[name], *(_window(cure, heads[name], opened, tasks, clocks)
                                for cure in opens[name])]
            )  # fmt: skip
    return heads


def _window(
    cure: Cure,
    head: int,
    opened: Open,
    tasks: Mapping[str, Task],
    clocks: Mapping[str, CureClock],
) -> int:
    """Return the first start of a task, no sooner than its head, whose window can be met."""
    minutes, later = tasks[cure.before].minutes, tasks[cure.after].minutes
    clock, closing = clocks[cure.clock], clocks[cure.closing or cure.clock]
    begin = head
    last = head + DAYS_TRIED * DAY_MIN
    while begin < last:
        # all starts of a step at once: ready as the first of them is, closing as the last does
        end = begin + minutes
        at = opened.fit(max(end, ready_minute(clock, end, cure.least)), later)
        if at + later <= last_minute(closing, end + STEP_MIN, cure.greatest or 0.0):
            return begin
        begin = opened.fit(begin + STEP_MIN, minutes)
    return head


def _tails(problem: Problem, order: Sequence[str], finish: Sequence[str]) -> dict[str, float]:
    """Return the least minutes from each task's end to the end of all; -inf where none counts."""
    tasks = {task.name: task for task in problem.tasks}
    fastest = {clock.name: clock.fastest for clock in problem.clocks}
    lost = sum(shift.until - shift.begin for shift in problem.shifts)
    tails: dict[str, float] = dict.fromkeys(order, -math.inf)
    for name in finish:
        tails[name] = 0.0
    out: dict[str, list[Lag | Cure]] = defaultdict(list)
    for arc in problem.arcs:
        out[arc.before].append(arc)
    for name in reversed(order):
        for arc in out[name]:
            least = (
                float(arc.least)
                if isinstance(arc, Lag)
                else math.floor(arc.least / max(fastest[arc.clock], 1e-9))
            )
            wait = max(0.0, least - lost if problem.shifts else least)
            tails[name] = max(tails[name], wait + tasks[arc.after].minutes + tails[arc.after])
    return tails


@dataclass(frozen=True, slots=True)
class WorkBound:
    """At least ``minutes`` open minutes from a task's end (or start) to another's start."""

    resource: str
    before: str
    after: str
    minutes: int
    from_start: bool = False


def work_bounds(problem: Problem, resource: str) -> tuple[WorkBound, ...]:
    """Return the bounds between neighbouring meeting points: tasks that several others wait for.

    Also from the first of each row of tasks alike, which begins before all the others.
    """
    works = {
        task.name: task.minutes
        for task in problem.tasks
        if any(name == resource and amount for name, amount in task.uses)
    }
    before_of = problem.befores()
    reach = afters(before_of)
    indegree = Counter(later for _, later in {(arc.before, arc.after) for arc in problem.arcs})
    meeting = [name for name in works if indegree[name] > 1 and len(before_of[name]) > 2]
    leaders = _leaders(problem)
    found: list[WorkBound] = []
    for later in meeting:
        for leader, members in leaders.items():
            inside = {name for member in members for name in ({member} | reach[member])}
            between = inside & before_of[later]
            if leader in between:
                minutes = sum(works.get(name, 0) for name in between)
                found.append(WorkBound(resource, leader, later, minutes, from_start=True))
        for name in meeting:
            if later in reach[name]:
                minutes = sum(works.get(item, 0) for item in reach[name] & before_of[later])
                found.append(WorkBound(resource, name, later, minutes))
    return tuple(found)


def _leaders(problem: Problem) -> dict[str, set[str]]:
    """Return, for the first of each row of tasks alike, the row with itself."""
    follows = dict(problem.alike)
    later = set(follows.values())
    firsts = [name for name in follows if name not in later]
    rows: dict[str, set[str]] = {}
    for first in firsts:
        row = [first]
        while row[-1] in follows:
            row.append(follows[row[-1]])
        rows[first] = set(row)
    return rows
