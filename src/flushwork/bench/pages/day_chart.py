"""The chart of the days, across a wide page or down a narrow one: pieces against time.

All measures are the chart's own; on a phone its unit is about a pixel.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from flushwork.bench.pages.day_wishes import DayWishes
from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.schedule import Piece, Schedule
from flushwork.views.figures import clean
from flushwork.views.stage_views import stage_keys

Way = Literal["across", "down"]
_Placing = Callable[[int, int, int], tuple[float, float, float, float]]
"""Where minutes from and to lie for a piece: x, y, width and height."""

ROW, LEFT, WIDTH, TOP = 30.0, 92.0, 1000.0, 34.0
"""Across: a piece's row, room for its name, the whole width, the days' head."""
WORK_SHARE, IDLE_SHARE, SHUT_SHARE = 0.86, 0.55, 0.4
"""How much of a day's stretch its open hours take; how long a day is on which nothing is done."""

NARROW, HEAD, NAMES, LEAST_COLUMN = 354.0, 82.0, 26.0, 46.0
"""Down: the width of a phone's page, the days' heads, the pieces' names, the least column."""
BUSY, EACH, MOST, IDLE, SHUT = 64.0, 17.0, 260.0, 32.0, 24.0
"""Down: how high a day with work is, and higher by each step of a piece; other days."""


@dataclass(frozen=True, slots=True)
class StepBar:
    """A step or a wait on the chart; ``kind`` is ``machine``, ``hand`` or ``wait``.

    A step can be put off: ``key`` is the stage it belongs to as the log knows it, ``piece`` the
    index of its piece, ``day`` counts from 0; ``held`` tells that it has been put off by hand,
    ``done`` that it is ticked.
    """

    kind: str
    x: float
    y: float
    width: float
    height: float
    colour: str
    words: str
    at_min: int = 0
    key: str = ""
    piece: int = 0
    day: int = 0
    held: bool = False
    stage: int = 0
    done: bool = False


@dataclass(frozen=True, slots=True)
class DayMark:
    """A day on the chart, from ``x`` (across) or ``y`` (down) on; ``open`` tells whether one works.

    ``off`` tells that it is shut although its week has it open.  ``label`` is empty where it would
    not fit.
    """

    x: float
    y: float
    width: float
    height: float
    label: str
    open: bool
    day: int
    date: str
    words: str
    off: bool


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart with its size, days, the names of the pieces at their places, and bars.

    ``now`` is where this moment lies along it, None where its days have no dates or it lies on none
    of them.
    """

    way: Way
    width: float
    height: float
    head: float
    marks: tuple[DayMark, ...]
    names: tuple[tuple[float, float, str], ...]
    bars: tuple[StepBar, ...]
    now: float | None = None


@dataclass(frozen=True, slots=True)
class TimeScale:
    """Where a minute lies along the chart: nights and shut days are shorter than work."""

    edges: tuple[float, ...]
    opens_min: int
    closes_min: int

    def at(self, minute: int) -> float:
        """Return the place of a minute."""
        day = min(minute // DAY_MIN, len(self.edges) - 2)
        into = minute - day * DAY_MIN
        length = self.edges[day + 1] - self.edges[day]
        night = (1.0 - WORK_SHARE) * length / 2.0
        if into < self.opens_min:
            return self.edges[day] + night * into / self.opens_min
        if into <= self.closes_min:
            open_min = max(1, self.closes_min - self.opens_min)
            share = (into - self.opens_min) / open_min
            return self.edges[day] + night + WORK_SHARE * length * share
        after = (into - self.closes_min) / max(1, DAY_MIN - self.closes_min)
        return self.edges[day] + night + WORK_SHARE * length + night * min(1.0, after)


def chart_across(
    made: Build, plan: Schedule, wished: DayWishes, now_min: int | None = None
) -> Chart:
    """Return the chart for a wide page: a row for each piece, time from left to right."""
    days = range(plan.finish_min // DAY_MIN + 2)
    busy = {step.begin_min // DAY_MIN for step in plan.steps}
    shares = [
        1.0 if day in busy else IDLE_SHARE if plan.days.works(day) else SHUT_SHARE for day in days
    ]
    scale = (WIDTH - LEFT) / sum(shares)
    rule = _rule(plan, LEFT, [scale * share for share in shares])
    height = ROW * len(plan.pieces) + TOP
    rows = [TOP + ROW * index for index in range(len(plan.pieces))]

    def step(begin: int, end: int, lane: int) -> tuple[float, float, float, float]:
        x = rule.at(begin)
        return x, rows[lane] + 3.0, max(3.0, rule.at(end) - x), ROW - 8.0

    def wait(begin: int, end: int, lane: int) -> tuple[float, float, float, float]:
        x = rule.at(begin)
        return x, rows[lane] + 10.0, max(1.0, rule.at(end) - x), 4.0

    return Chart(
        way="across",
        width=WIDTH,
        height=height,
        head=28.0,
        marks=tuple(_mark(plan, day, rule, "across", height) for day in days),
        names=tuple(
            (0.0, row + 0.66 * ROW, piece.name)
            for row, piece in zip(rows, plan.pieces, strict=True)
        ),
        bars=_bars(made, plan, wished, step, wait),
        now=_now(rule, now_min),
    )


def chart_down(made: Build, plan: Schedule, wished: DayWishes, now_min: int | None = None) -> Chart:
    """Return the chart for a phone: a column for each piece, the days one below the other."""
    days = range(plan.finish_min // DAY_MIN + 2)
    steps = Counter(
        (step.begin_min // DAY_MIN, each) for step in plan.steps for each in step.pieces
    )
    most = {day: max((n for (on, _), n in steps.items() if on == day), default=0) for day in days}
    lengths = [
        min(MOST, BUSY + EACH * most[day]) if most[day] else IDLE if plan.days.works(day) else SHUT
        for day in days
    ]
    rule = _rule(plan, NAMES, lengths)
    column = max(LEAST_COLUMN, (NARROW - HEAD) / max(1, len(plan.pieces)))
    width = HEAD + column * len(plan.pieces)

    def step(begin: int, end: int, lane: int) -> tuple[float, float, float, float]:
        y = rule.at(begin)
        return HEAD + column * lane + 4.0, y, column - 8.0, max(6.0, rule.at(end) - y)

    def wait(begin: int, end: int, lane: int) -> tuple[float, float, float, float]:
        y = rule.at(begin)
        return HEAD + column * (lane + 0.5) - 4.0, y, 8.0, max(1.0, rule.at(end) - y)

    return Chart(
        way="down",
        width=width,
        height=rule.edges[-1],
        head=HEAD,
        marks=tuple(_mark(plan, day, rule, "down", width) for day in days),
        names=tuple(
            (HEAD + column * (index + 0.5), NAMES - 9.0, _short(piece, column))
            for index, piece in enumerate(plan.pieces)
        ),
        bars=_bars(made, plan, wished, step, wait),
        now=_now(rule, now_min),
    )


def _now(rule: TimeScale, now_min: int | None) -> float | None:
    last = len(rule.edges) - 1
    return rule.at(now_min) if now_min is not None and 0 <= now_min < last * DAY_MIN else None


def _short(piece: Piece, column: float) -> str:
    """Return a piece's name as far as a column has room for it."""
    return piece.name if len(piece.name) * 7.0 < column else piece.name.replace(" piece ", " ")


def _rule(plan: Schedule, begin: float, lengths: Sequence[float]) -> TimeScale:
    edges = [begin]
    for length in lengths:
        edges.append(edges[-1] + length)
    return TimeScale(tuple(edges), plan.days.opens_min, plan.days.closes_min)


def _mark(plan: Schedule, day: int, rule: TimeScale, way: Way, size: float) -> DayMark:
    date = plan.days.date(day)
    off = date in plan.days.off
    state = "a day off" if off else "open" if plan.days.works(day) else "shut"
    begin, length = rule.edges[day], rule.edges[day + 1] - rule.edges[day]
    down = way == "down"
    return DayMark(
        x=0.0 if down else begin,
        y=begin if down else 0.0,
        width=size if down else length,
        height=length if down else size,
        label=_label(plan, day, length, way),
        open=plan.days.works(day),
        day=day,
        date=date.isoformat(),
        words=f"{plan.days.day_text(day * DAY_MIN)}: {state}",
        off=off,
    )


def _label(plan: Schedule, day: int, length: float, way: Way) -> str:
    date = plan.days.date(day)
    if way == "down":
        name = f"{date.day} {date:%b}" if plan.days.dated else f"day {day + 1}"
        return f"{date:%a} {name}" if plan.days.dated else name
    if length <= 15.0 and day % 5:
        return ""
    if not plan.days.dated:
        return f"day {day + 1}" if length > 60.0 else str(day + 1)
    return f"{date.day} {date:%b}" if length > 42.0 else str(date.day)


def _bars(
    made: Build, plan: Schedule, wished: DayWishes, step_at: _Placing, wait_at: _Placing
) -> tuple[StepBar, ...]:
    place = {piece: index for index, piece in enumerate(plan.pieces)}
    mixes = made.palette.mixes
    bars = [
        StepBar(
            "wait",
            *wait_at(wait.since_min, wait.ready_min, place[wait.piece]),
            colour=mixes[wait.mix].hex if wait.mix in mixes else "",
            words=clean(
                f"{wait.piece.name}: {wait.what}, from {plan.days.day_text(wait.since_min)} "
                f"{plan.days.clock_text(wait.since_min)} to {plan.days.day_text(wait.ready_min)} "
                f"{plan.days.clock_text(wait.ready_min)}"
            ),
            at_min=wait.since_min,
            piece=place[wait.piece],
            day=wait.since_min // DAY_MIN,
        )
        for wait in plan.waits
    ]
    keys = stage_keys(made.plan)
    for step in plan.steps:
        bars += [
            StepBar(
                "machine" if step.machine else "hand",
                *step_at(step.begin_min, step.end_min, place[piece]),
                colour=mixes[step.mix].hex if step.mix in mixes else "",
                words=clean(
                    f"{plan.days.day_text(step.begin_min)} "
                    f"{plan.days.clock_text(step.begin_min)}: {step.title}, {piece.name}"
                ),
                at_min=step.begin_min,
                key=keys[step.stage],
                stage=step.stage,
                piece=place[piece],
                day=step.begin_min // DAY_MIN,
                held=wished.holds(keys[step.stage], place[piece]),
                done=step.done,
            )
            for piece in step.pieces
            if piece in place
        ]
    return tuple(bars)
