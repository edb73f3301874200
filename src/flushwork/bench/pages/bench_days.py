"""The days of a run: a chart of pieces over time, and what is done on each day, as records."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from flushwork.bench.pages.day_chart import Chart, chart_across, chart_down
from flushwork.bench.pages.day_wishes import DayWishes
from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.schedule import Schedule
from flushwork.views.day_sheets import Entry, day_sheets
from flushwork.views.figures import clean, counted, joined


@dataclass(frozen=True, slots=True)
class DeskDayLine:
    """One thing done on a day."""

    begins: str
    ends: str
    title: str
    pieces: str
    manner: str


@dataclass(frozen=True, slots=True)
class DeskDay:
    """One day that has work; ``moments`` are times at which something is ready or too late."""

    number: int
    name: str
    lines: tuple[DeskDayLine, ...]
    moments: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DeskDays:
    """All days: ``summary`` in a sentence; ``hindrance`` where there is no plan.

    ``across`` is their chart on a wide page, ``down`` that on a phone.
    """

    summary: str
    hindrance: str
    across: Chart | None
    down: Chart | None
    days: tuple[DeskDay, ...]
    dated: bool
    first: str = ""
    begins: str = ""
    asked: bool = False


def days_view(
    made: Build,
    plan: Schedule | None = None,
    wished: DayWishes | None = None,
    now: dt.datetime | None = None,
) -> DeskDays | None:
    """Return the days of a build, or None where none were planned.

    ``plan`` stands in for the build's own days where ``wished`` or what is ticked asks for others.
    Where the days have dates, the moment ``now`` in the shop's own time is marked on the charts.
    """
    plan = plan or made.schedule
    if plan is None:
        return None
    wished = wished or DayWishes()
    if plan.hindrance is not None or not plan.steps:
        why = f"No plan of days was found: {plan.hindrance.kind}." if plan.hindrance else ""
        return DeskDays(
            summary="",
            hindrance=why or "There is nothing to plan.",
            across=None,
            down=None,
            days=(),
            dated=False,
            asked=bool(wished),
        )
    return DeskDays(
        summary=_summary(plan),
        hindrance="",
        across=chart_across(made, plan, wished, _minute(plan, now)),
        down=chart_down(made, plan, wished, _minute(plan, now)),
        days=_days(plan),
        dated=plan.days.dated,
        first=plan.days.first.isoformat() if plan.days.dated else "",
        begins=wished.first,
        asked=bool(wished),
    )


def _minute(plan: Schedule, now: dt.datetime | None) -> int | None:
    if now is None or not plan.days.dated:
        return None
    midnight = dt.datetime.combine(plan.days.first, dt.time())
    return int((now.replace(tzinfo=None) - midnight).total_seconds() // 60)


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


def _days(plan: Schedule) -> tuple[DeskDay, ...]:
    return tuple(
        DeskDay(
            number=sheet.day + 1,
            name=clean(sheet.title[:1].upper() + sheet.title[1:]),
            lines=tuple(_line(plan, entry) for entry in sheet.entries),
            moments=tuple(
                (plan.days.clock_text(moment.at_min), clean(moment.text))
                for moment in sheet.moments
            ),
        )
        for sheet in day_sheets(plan)
    )


def _line(plan: Schedule, entry: Entry) -> DeskDayLine:
    whole = len(entry.pieces) == len(plan.pieces)
    told = [
        f"{doing.title} ({doing.note})" if doing.note else doing.title for doing in entry.doings
    ]
    return DeskDayLine(
        begins=plan.days.clock_text(entry.begin_min),
        ends=plan.days.clock_text(entry.end_min),
        title=clean("; ".join(told)),
        pieces="all pieces" if whole else joined([piece.name for piece in entry.pieces]),
        manner="at the machine" if any(step.machine for step in entry.steps) else "by hand",
    )
