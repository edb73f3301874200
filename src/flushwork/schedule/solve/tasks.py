"""What a scheduler is asked: tasks, resources, lags, clocks that run by temperature, closed hours.

Everything is in whole minutes counted from one midnight, ``0``.  The records know nothing of
wood or resin, so that published scheduling problems can be put to the same solver.

Wall clocks that are put forward or back: minutes shown against minutes passed.

A plan counts minutes as the clock on the wall shows them, so that shop hours stay what they are.
Where the clock is put forward an hour shown never was; where it is put back one is shown twice.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from graphlib import CycleError, TopologicalSorter
from itertools import accumulate

from flushwork.core.units.kinds import DAY_MIN


@dataclass(frozen=True, slots=True)
class Shift:
    """A change of the clock: the minutes shown from ``begin`` to ``until`` pass ``times`` times.

    0 times where the clock is put forward over them, twice where it is put back.
    """

    begin: int
    until: int
    times: int


def passed(shifts: Sequence[Shift], minute: float) -> float:
    """Return the minutes passed from minute 0 until a minute shown."""
    return minute + sum(
        (shift.times - 1) * max(0.0, min(minute, shift.until) - shift.begin) for shift in shifts
    )


def shown(shifts: Sequence[Shift], minutes: float) -> float:
    """Return the first minute shown at which so many have passed since minute 0."""
    at = minutes
    for shift in sorted(shifts, key=lambda item: item.begin):
        if at <= shift.begin:
            break
        length = shift.until - shift.begin
        inside = min(at - shift.begin, shift.times * length)
        if shift.times and at - shift.begin < shift.times * length:
            return shift.begin + inside / shift.times
        at += length - shift.times * length
    return at


def real_after(shifts: Sequence[Shift], since: int, minutes: int) -> int:
    """Return the first minute shown at least so many minutes after another."""
    if not shifts:
        return since + minutes
    return -int(-shown(shifts, passed(shifts, since) + minutes) // 1)


def moved(shifts: Sequence[Shift], by: int) -> tuple[Shift, ...]:
    """Return the changes counted from a minute 0 that lies ``by`` minutes earlier or later."""
    return tuple(Shift(item.begin + by, item.until + by, item.times) for item in shifts)


Span = tuple[int, int]
"""From a minute until a minute."""


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do without a break.

    ``uses`` names resources and how much of each is taken while the task lasts.  ``start`` fixes
    the task (it has been done); ``earliest`` and ``latest`` bound its start.  ``tools`` are the
    bits it puts into the machine, in order.  Something of it is about for ``lingers_min`` after its
    end; a task that ``keeps_clear`` is done before it begins or once that has gone.
    """

    name: str
    minutes: int
    uses: tuple[tuple[str, int], ...] = ()
    earliest: int = 0
    latest: int | None = None
    start: int | None = None
    tools: tuple[str, ...] = ()
    lingers_min: int = 0
    keeps_clear: bool = False


@dataclass(frozen=True, slots=True)
class Resource:
    """Something tasks share; ``closed`` are the spans in which none of it is there."""

    name: str
    capacity: int = 1
    closed: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True)
class Lag:
    """At least ``least`` and at most ``greatest`` minutes from the end of one task to the next.

    ``greatest`` runs to the end of the later task: what must be poured by then is poured by then.
    """

    before: str
    after: str
    least: int = 0
    greatest: int | None = None


@dataclass(frozen=True, slots=True)
class CureClock:
    """A clock that runs faster when it is warm, over a day that repeats.

    ``day`` are (from, until, rate) from minute 0 to 1440 of the day, without gaps.  ``shifts`` are
    the changes of the wall clock within the plan.
    """

    name: str
    day: tuple[tuple[int, int, float], ...]
    shifts: tuple[Shift, ...] = ()

    @property
    def daily(self) -> float:
        """Minutes at the reference temperature that one day is worth."""
        return sum((until - begin) * rate for begin, until, rate in self.day)

    @property
    def doses_before(self) -> tuple[float, ...]:
        """The dose of a day before each of its pieces."""
        doses = ((until - begin) * rate for begin, until, rate in self.day)
        return tuple(accumulate(doses, initial=0.0))[:-1]

    @property
    def fastest(self) -> float:
        """The greatest rate of the day."""
        return max((rate for _, _, rate in self.day), default=0.0)


@dataclass(frozen=True, slots=True)
class Cure:
    """A lag counted on a clock, in minutes at the clock's reference temperature.

    ``least`` runs to the later task's start on ``clock``.  ``greatest`` is a window that closes,
    to the later task's end, on ``closing``.  A window missed by necessity costs ``missed_minutes``
    more work before the later task and a wait of ``missed_least`` instead; without
    ``missed_least`` it may not be missed.
    """

    before: str
    after: str
    clock: str
    least: float
    greatest: float | None = None
    closing: str = ""
    missed_least: float | None = None
    missed_minutes: int = 0


@dataclass(frozen=True, slots=True)
class Hold:
    """A resource kept from one task to another: a machine by a setup, a place by a cure.

    ``whole`` keeps it from the first task's start to the last one's end; otherwise from the first
    one's end to the last one's start.  Without ``first`` it has been kept since before minute 0.
    ``tasks`` are those done while it is kept, in order, where anybody asks for them.
    """

    resource: str
    first: str
    last: str
    whole: bool = True
    amount: int = 1
    tasks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """A scheduling problem; ``finish`` names the tasks whose last end is to come soonest.

    ``alike`` are chains of tasks that may be swapped without changing anything: the first of each
    pair is then asked to start first.  Without ``finish`` the last of all ends counts.  ``horizon``
    is a time by which all can surely be done; it must be given where resources have closed spans.
    ``shifts`` are changes of the wall clock: lags count minutes passed, not minutes shown.
    """

    tasks: tuple[Task, ...]
    resources: tuple[Resource, ...]
    lags: tuple[Lag, ...] = ()
    clocks: tuple[CureClock, ...] = ()
    cures: tuple[Cure, ...] = ()
    holds: tuple[Hold, ...] = ()
    alike: tuple[tuple[str, str], ...] = ()
    finish: tuple[str, ...] = ()
    horizon: int | None = None
    shifts: tuple[Shift, ...] = ()

    @property
    def surely_done(self) -> int:
        """A time by which everything can surely be done, one thing after another."""
        work = sum(task.minutes + task.lingers_min for task in self.tasks)
        work += sum(cure.missed_minutes for cure in self.cures)
        clocks = {clock.name: clock for clock in self.clocks}
        waits = float(sum(lag.least for lag in self.lags))
        waits += sum(
            (max(cure.least, cure.missed_least or 0.0) / max(clocks[cure.clock].daily, 1e-9) + 1.0)
            * DAY_MIN
            for cure in self.cures
        )
        begins = (max(task.earliest, task.start or 0) for task in self.tasks)
        return int(max(begins, default=0) + work + waits)

    @property
    def arcs(self) -> tuple[Lag | Cure, ...]:
        """Everything that makes one task wait for another."""
        return (*self.lags, *self.cures)

    @property
    def waiting(self) -> TopologicalSorter[str]:
        """The tasks by name, each waiting for those that must end before it."""
        graph: dict[str, list[str]] = {task.name: [] for task in self.tasks}
        for arc in self.arcs:
            graph[arc.after].append(arc.before)
        return TopologicalSorter(graph)

    def in_order(self) -> tuple[str, ...]:
        """Return the tasks each after all it waits for; none where they go in a circle."""
        try:
            return tuple(self.waiting.static_order())
        except CycleError:
            return ()

    def befores(self) -> dict[str, set[str]]:
        """Return all that must come before each task; nothing where they go in a circle."""
        before: dict[str, set[str]] = {task.name: set() for task in self.tasks}
        direct: dict[str, list[str]] = {name: [] for name in before}
        for arc in self.arcs:
            direct[arc.after].append(arc.before)
        for name in self.in_order():
            before[name].update(*(before[each] | {each} for each in direct[name]))
        return before

    def counted_from(self, by: int) -> Problem:
        """Return the same with every minute counted from ``by`` on, a whole number of days."""
        shifts = moved(self.shifts, -by)
        return replace(
            self,
            tasks=tuple(
                replace(
                    task,
                    earliest=max(0, task.earliest - by),
                    latest=None if task.latest is None else task.latest - by,
                    start=None if task.start is None else task.start - by,
                )
                for task in self.tasks
            ),
            resources=tuple(
                replace(
                    item,
                    closed=tuple(
                        (max(0, begin - by), end - by) for begin, end in item.closed if end > by
                    ),
                )
                for item in self.resources
            ),
            clocks=tuple(replace(clock, shifts=shifts) for clock in self.clocks),
            horizon=None if self.horizon is None else self.horizon - by,
            shifts=shifts,
        )


def open_windows(closed: tuple[Span, ...], horizon: int) -> list[Span]:
    """Return the open spans between closed ones, up to a horizon."""
    found: list[Span] = []
    begin = 0
    for shut, opens in closed:
        if shut > begin:
            found.append((begin, shut))
        begin = opens
        if begin > horizon:
            break
    return found


def common_hours(closed: list[Span]) -> Span:
    """Return the hours of the day that lie outside every closed span, as one stretch.

    Closed spans of a shop run from closing to opening; (0, 1440) where nothing is closed.
    """
    opens = {end % DAY_MIN for _, end in closed if end % DAY_MIN}
    closes = {begin % DAY_MIN for begin, _ in closed if begin > 0}
    if not opens or not closes or min(opens) >= max(closes):
        return (0, DAY_MIN)
    return (min(opens), max(closes))


def afters(before: Mapping[str, Collection[str]]) -> dict[str, set[str]]:
    """Return all that must come after each task, from all that must come before each."""
    found: dict[str, set[str]] = {name: set() for name in before}
    for name, sooner in before.items():
        for each in sooner:
            found[each].add(name)
    return found


@dataclass(frozen=True, slots=True)
class Goal:
    """One aim of the plan: what was reached, and what no plan can better."""

    name: str
    reached: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.reached == self.bound


@dataclass(frozen=True, slots=True)
class Solution:
    """When each task begins and ends, the cures whose window is missed, and how good that is.

    ``goals`` in order of weight.  ``spans`` is empty where no plan was found; ``impossible`` then
    tells whether none exists.
    """

    spans: dict[str, Span]
    missed: tuple[Cure, ...]
    goals: tuple[Goal, ...]
    impossible: bool = False

    @property
    def finish(self) -> int:
        """The last end that counts."""
        return next(goal.reached for goal in self.goals if goal.name == "finish")
