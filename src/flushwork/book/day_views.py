"""The days of the book: the strip, the figures of the plan, the dates of the pieces."""

from __future__ import annotations

from typing import Final

from flushwork.book.card_steps import moment
from flushwork.book.day_strip import day_strip
from flushwork.process.stages import Plan
from flushwork.schedule.schedule import Schedule
from flushwork.views.book_records import DaysView, Fact, TableView
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.figures import NO_BREAK, TO

DATE_HEAD: Final = (
    "piece", "first cut", "first milling", "last pour, not scuff-sanded", "finished",
    "sent off from",
)  # fmt: skip


def days_view(schedule: Schedule, plan: Plan, space: Space) -> DaysView:
    """Return the chapter on the days; the schedule has a plan."""
    status = schedule.status()
    return DaysView(
        chart=day_strip(schedule, plan, space),
        chart_note="Numbers are steps.",
        status=f"{status[0].upper()}{status[1:]}.",
        facts=(
            Fact("Days", f"{schedule.calendar_days}, work on {schedule.work_days} of them"),
            Fact("Hands-on", hours(schedule.hands_min)),
            Fact("At the machine", hours(schedule.machine_min)),
            Fact("Setups", str(schedule.set_ups)),
            Fact("Bits put in", str(schedule.changes)),
            Fact("Batches", str(schedule.batches)),
        ),
        dates=_dates(schedule),
    )


def hours(minutes: int) -> str:
    """Return hours and minutes of work."""
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest}{NO_BREAK}min"
    return f"{whole}{NO_BREAK}h" + (f" {rest:02d}{NO_BREAK}min" if rest else "")


def _dates(schedule: Schedule) -> TableView:
    def told(minute: int | None) -> str:
        if minute is None:
            return TO
        return moment(schedule, minute)

    rows = [
        (
            dates.piece.name,
            told(dates.cut_min),
            told(dates.mill_flush_min),
            told(dates.last_pour_min),
            told(dates.finish_min),
            moment(schedule, dates.ship_min).partition(",")[0],
        )
        for dates in schedule.milestones
    ]
    return TableView(DATE_HEAD, tuple(rows), wide=(0,))
