"""The days of a run: a chart of pieces over time, and what is done on each day, as records."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.book.figures import clean, counted, joined
from flushwork.pipeline import Build
from flushwork.plan.day_sheets import Entry, day_sheets
from flushwork.plan.schedule import Piece, Schedule
from flushwork.plan.tasks import DAY_MIN

ROW, LEFT, WIDTH = 26.0, 92.0, 1000.0
"""The chart's own measures: height of a piece's row, room for its name, the whole width."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A step or a wait on the chart; ``kind`` is ``machine``, ``hand`` or ``wait``."""

    kind: str
    x: float
    y: float
    width: float
    height: float
    colour: str
    words: str


@dataclass(frozen=True, slots=True)
class DayMark:
    """The beginning of a day on the chart; ``open`` tells whether the shop works."""

    x: float
    width: float
    name: str
    open: bool


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


def days_view(made: Build) -> DaysView | None:
    """Return the days of a build, or None where none were planned."""
    plan = made.schedule
    if plan is None:
        return None
    if plan.hindrance is not None or not plan.steps:
        why = f"No plan of days was found: {plan.hindrance.kind}." if plan.hindrance else ""
        return DaysView(
            "", why or "There is nothing to plan.", WIDTH, 0.0, (), (), (), (), dated=False
        )
    first, last = plan.begin_min // DAY_MIN, plan.finish_min // DAY_MIN
    scale = (WIDTH - LEFT) / ((last - first + 1) * DAY_MIN)
    place = {piece: index for index, piece in enumerate(plan.pieces)}
    return DaysView(
        summary=_summary(plan),
        hindrance="",
        width=WIDTH,
        height=ROW * len(plan.pieces) + 28.0,
        marks=tuple(
            DayMark(
                LEFT + (day - first) * DAY_MIN * scale,
                DAY_MIN * scale,
                str(day - first + 1),
                plan.days.works(day),
            )
            for day in range(first, last + 1)
        ),
        names=tuple((28.0 + ROW * (index + 0.66), piece.name) for piece, index in place.items()),
        bars=_bars(made, plan, place, first * DAY_MIN, scale),
        days=_days(plan),
        dated=plan.days.dated,
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


def _bars(
    made: Build, plan: Schedule, place: dict[Piece, int], from_min: int, scale: float
) -> tuple[Bar, ...]:
    bars = [
        Bar(
            "wait",
            LEFT + (wait.since_min - from_min) * scale,
            28.0 + ROW * place[wait.piece] + 10.0,
            max(1.0, (wait.ready_min - wait.since_min) * scale),
            4.0,
            made.palette.mixes[wait.mix].hex if wait.mix in made.palette.mixes else "",
            clean(f"{wait.piece.name}: {wait.what}"),
        )
        for wait in plan.waits
    ]
    for step in plan.steps:
        bars += [
            Bar(
                "machine" if step.machine else "hand",
                LEFT + (step.begin_min - from_min) * scale,
                28.0 + ROW * place[piece] + 3.0,
                max(2.0, step.minutes * scale),
                ROW - 8.0,
                made.palette.mixes[step.mix].hex if step.mix in made.palette.mixes else "",
                clean(
                    f"{plan.days.day_text(step.begin_min)} "
                    f"{plan.days.clock_text(step.begin_min)}: {step.title}, {piece.name}"
                ),
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
