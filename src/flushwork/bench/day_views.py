"""The days of a run: a chart of pieces over time, and what is done on each day, as records."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.bench.day_wishes import DayWishes, stage_keys
from flushwork.book.figures import clean, counted, joined
from flushwork.pipeline import Build
from flushwork.plan.day_sheets import Entry, day_sheets
from flushwork.plan.schedule import Piece, Schedule
from flushwork.plan.tasks import DAY_MIN

ROW, LEFT, WIDTH, TOP = 30.0, 92.0, 1000.0, 34.0
"""The chart's own measures: a piece's row, room for its name, the whole width, the days' head."""

WORK_SHARE, IDLE_SHARE, SHUT_SHARE = 0.86, 0.55, 0.4
"""How much of a day's width its open hours take; how wide a day is on which nothing is done."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A step or a wait on the chart; ``kind`` is ``machine``, ``hand`` or ``wait``.

    A step can be put off: ``key`` is the stage it belongs to as the log knows it, ``piece`` the
    index of its piece, ``day`` counts from 0; ``held`` tells that it has been put off by hand.
    """

    kind: str
    x: float
    y: float
    width: float
    height: float
    colour: str
    words: str
    key: str = ""
    piece: int = 0
    day: int = 0
    held: bool = False


@dataclass(frozen=True, slots=True)
class DayMark:
    """The beginning of a day on the chart; ``open`` tells whether the shop works.

    ``off`` tells that it is shut although its week has it open.
    """

    x: float
    width: float
    name: str
    open: bool
    day: int = 0
    date: str = ""
    words: str = ""
    off: bool = False


@dataclass(frozen=True, slots=True)
class DayLine:
    """One thing done on a day."""

    begins: str
    ends: str
    title: str
    pieces: str
    manner: str


@dataclass(frozen=True, slots=True)
class DayView:
    """One day that has work; ``moments`` are times at which something is ready or too late."""

    name: str
    lines: tuple[DayLine, ...]
    moments: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DaysView:
    """All days: ``summary`` in a sentence; ``hindrance`` where there is no plan."""

    summary: str
    hindrance: str
    width: float
    height: float
    marks: tuple[DayMark, ...]
    names: tuple[tuple[float, str], ...]
    bars: tuple[Bar, ...]
    days: tuple[DayView, ...]
    dated: bool
    first: str = ""
    begins: str = ""
    asked: bool = False


def days_view(
    made: Build, plan: Schedule | None = None, wished: DayWishes | None = None
) -> DaysView | None:
    """Return the days of a build, or None where none were planned.

    ``plan`` stands in for the build's own days where ``wished`` asks for others.
    """
    plan = plan or made.schedule
    if plan is None:
        return None
    wished = wished or DayWishes()
    if plan.hindrance is not None or not plan.steps:
        why = f"No plan of days was found: {plan.hindrance.kind}." if plan.hindrance else ""
        return DaysView(
            summary="",
            hindrance=why or "There is nothing to plan.",
            width=WIDTH,
            height=0.0,
            marks=(),
            names=(),
            bars=(),
            days=(),
            dated=False,
            asked=bool(wished),
        )
    rule = _rule(plan)
    place = {piece: index for index, piece in enumerate(plan.pieces)}
    return DaysView(
        summary=_summary(plan),
        hindrance="",
        width=WIDTH,
        height=ROW * len(plan.pieces) + TOP,
        marks=tuple(_mark(plan, day, rule) for day in range(len(rule.lefts) - 1)),
        names=tuple((TOP + ROW * (index + 0.66), piece.name) for piece, index in place.items()),
        bars=_bars(made, plan, place, rule, wished),
        days=_days(plan),
        dated=plan.days.dated,
        first=plan.days.first.isoformat() if plan.days.dated else "",
        begins=wished.first,
        asked=bool(wished),
    )


@dataclass(frozen=True, slots=True)
class Rule:
    """Where a minute lies on the chart: nights and shut days are drawn shorter than work."""

    lefts: tuple[float, ...]
    opens_min: int
    closes_min: int

    def x(self, minute: int) -> float:
        """Return the place of a minute."""
        day = min(minute // DAY_MIN, len(self.lefts) - 2)
        into = minute - day * DAY_MIN
        width = self.lefts[day + 1] - self.lefts[day]
        night = (1.0 - WORK_SHARE) * width / 2.0
        if into < self.opens_min:
            return self.lefts[day] + night * into / self.opens_min
        if into <= self.closes_min:
            open_min = max(1, self.closes_min - self.opens_min)
            share = (into - self.opens_min) / open_min
            return self.lefts[day] + night + WORK_SHARE * width * share
        after = (into - self.closes_min) / max(1, DAY_MIN - self.closes_min)
        return self.lefts[day] + night + WORK_SHARE * width + night * min(1.0, after)


def _rule(plan: Schedule) -> Rule:
    days = range(plan.finish_min // DAY_MIN + 2)
    busy = {step.begin_min // DAY_MIN for step in plan.steps}
    widths = [
        1.0 if day in busy else IDLE_SHARE if plan.days.works(day) else SHUT_SHARE for day in days
    ]
    scale = (WIDTH - LEFT) / sum(widths)
    lefts = [LEFT + scale * sum(widths[:day]) for day in range(len(widths) + 1)]
    return Rule(tuple(lefts), plan.days.opens_min, plan.days.closes_min)


def _mark(plan: Schedule, day: int, rule: Rule) -> DayMark:
    date = plan.days.date(day)
    off = date in plan.days.off
    state = "a day off" if off else "open" if plan.days.works(day) else "shut"
    return DayMark(
        x=rule.lefts[day],
        width=rule.lefts[day + 1] - rule.lefts[day],
        name=f"{date.day}.{date.month}." if plan.days.dated else str(day + 1),
        open=plan.days.works(day),
        day=day,
        date=date.isoformat(),
        words=f"{plan.days.day_text(day * DAY_MIN)}: {state}",
        off=off,
    )


def _summary(plan: Schedule) -> str:
    days = len({step.begin_min // DAY_MIN for step in plan.steps})
    hours, minutes = divmod(plan.hands_min, 60)
    proven = all(goal.proven for goal in plan.goals)
    best = "No plan is shorter." if proven else "A shorter plan may exist."
    return (
        f"Done {plan.days.day_text(plan.finish_min)} at {plan.days.clock_text(plan.finish_min)}, "
        f"with work on {counted(days, 'day')}; {hours} h {minutes:02d} min at it, of them "
        f"{plan.machine_min // 60} h {plan.machine_min % 60:02d} min at the machine. {best}"
    )


def finish_words(plan: Schedule | None) -> str:
    """Return when a run is done, in words."""
    if plan is None or not plan.steps:
        return "there is no plan"
    return f"done {plan.days.day_text(plan.finish_min)} at {plan.days.clock_text(plan.finish_min)}"


def _bars(
    made: Build, plan: Schedule, place: dict[Piece, int], rule: Rule, wished: DayWishes
) -> tuple[Bar, ...]:
    bars = [
        Bar(
            "wait",
            rule.x(wait.since_min),
            TOP + ROW * place[wait.piece] + 10.0,
            max(1.0, rule.x(wait.ready_min) - rule.x(wait.since_min)),
            4.0,
            made.palette.mixes[wait.mix].hex if wait.mix in made.palette.mixes else "",
            clean(f"{wait.piece.name}: {wait.what}"),
        )
        for wait in plan.waits
    ]
    keys = stage_keys(made)
    for step in plan.steps:
        bars += [
            Bar(
                "machine" if step.machine else "hand",
                rule.x(step.begin_min),
                TOP + ROW * place[piece] + 3.0,
                max(3.0, rule.x(step.end_min) - rule.x(step.begin_min)),
                ROW - 8.0,
                made.palette.mixes[step.mix].hex if step.mix in made.palette.mixes else "",
                clean(
                    f"{plan.days.day_text(step.begin_min)} "
                    f"{plan.days.clock_text(step.begin_min)}: {step.title}, {piece.name}"
                ),
                key=keys[step.stage],
                piece=place[piece],
                day=step.begin_min // DAY_MIN,
                held=wished.holds(keys[step.stage], place[piece]),
            )
            for piece in step.pieces
            if piece in place
        ]
    return tuple(bars)


def _days(plan: Schedule) -> tuple[DayView, ...]:
    return tuple(
        DayView(
            name=clean(sheet.title[:1].upper() + sheet.title[1:]),
            lines=tuple(_line(plan, entry) for entry in sheet.entries),
            moments=tuple(
                (plan.days.clock_text(moment.at_min), clean(moment.text))
                for moment in sheet.moments
            ),
        )
        for sheet in day_sheets(plan)
    )


def _line(plan: Schedule, entry: Entry) -> DayLine:
    whole = len(entry.pieces) == len(plan.pieces)
    told = [
        f"{doing.title} ({doing.note})" if doing.note else doing.title for doing in entry.doings
    ]
    return DayLine(
        begins=plan.days.clock_text(entry.begin_min),
        ends=plan.days.clock_text(entry.end_min),
        title=clean("; ".join(told)),
        pieces="all pieces" if whole else joined([piece.name for piece in entry.pieces]),
        manner="at the machine" if any(step.machine for step in entry.steps) else "by hand",
    )
