"""The days of the book: the strip, the figures of the plan, the dates of the pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.book.card_steps import POURED, moment
from flushwork.core.units.kinds import DAY_MIN
from flushwork.process.stages import Plan, StageKind
from flushwork.schedule.schedule import Schedule
from flushwork.schedule.shop_days import ShopDays
from flushwork.views.book_records import DaysView, Fact, Picture, TableView
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space
from flushwork.views.drawing.svg import WORD_MM, drawing, shape, words
from flushwork.views.figures import NO_BREAK, TO, numbers_text

NAMES_MM: Final = 17.0
LINE_MM: Final = 3.5
HEAD_MM: Final = 8.6
NAME_MM: Final = 4.6
LEAST_COLUMN_MM: Final = 10.5
MOST_COLUMN_MM: Final = 30.0
LETTER: Final = 0.56
"""Mean width of a letter for a size of 1 (from memory, for the book's sans serif)."""
CURE: Final = "#d3cbbf"


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: its lane, where it begins and ends in columns, the lines of its label."""

    lane: str
    begin: float
    end: float
    label: tuple[str, ...]


def columns_of(schedule: Schedule) -> tuple[int, ...]:
    """Return the days on which somebody works, counted from 0."""
    return tuple(sorted({step.begin_min // DAY_MIN for step in schedule.steps}))


Parts = Sequence[tuple[str, Plan]]
"""Several parts of a job by name, each with its plan."""


def bars_of(
    schedule: Schedule, plan: Plan, columns: Sequence[int] | None = None
) -> tuple[Bar, ...]:
    """Return the bars of a part of a job, each with the numbers of its stages.

    ``columns`` are the days of the whole job, by default those of this schedule.
    """
    columns = columns_of(schedule) if columns is None else columns
    bars: list[Bar] = []
    for at, day in enumerate(columns):
        today = [step for step in schedule.steps if step.begin_min // DAY_MIN == day]
        for lane, machine in (("machine", True), ("by hand", False)):
            stages = {step.stage for step in today if step.machine is machine}
            if stages:
                bars.append(Bar(lane, at + 0.06, at + 0.94, numbers_text(stages)))
    for stage in plan.stages:
        if stage.kind is not StageKind.CURE:
            continue
        poured = [
            step.begin_min
            for step in schedule.steps
            if step.stage < stage.number and step.kind in POURED
        ]
        after = [step.begin_min for step in schedule.steps if step.stage > stage.number]
        if poured and after:
            begin = columns.index(max(poured) // DAY_MIN)
            end = columns.index(min(after) // DAY_MIN)
            bars.append(
                Bar("hardens", begin + 0.55, max(end + 0.4, begin + 0.9), (str(stage.number),))
            )
    return tuple(bars)


def day_strip(schedule: Schedule, plan: Plan, space: Space, parts: Parts = ()) -> Picture:
    """Return the strip; where the days are too many for one row it goes on below.

    Each of several parts of the job has lanes of its own.
    """
    columns = columns_of(schedule)
    lanes = [
        (name, bars_of(schedule.of_part(name) if name else schedule, plan, columns))
        for name, plan in parts or [("", plan)]
    ]
    room_mm = space.width_mm - NAMES_MM
    in_row = max(1, min(len(columns), int(room_mm / LEAST_COLUMN_MM)))
    wide_mm = min(room_mm / in_row, MOST_COLUMN_MM)
    strips: list[str] = []
    top_mm = 0.0
    for first in range(0, len(columns), in_row):
        row = range(first, min(first + in_row, len(columns)))
        drawn, top_mm = _dates_over(schedule.days, columns, row, wide_mm, top_mm)
        for name, bars in lanes:
            if name:
                drawn.append(words(name, 0.0, top_mm + 3.0, WORD_MM, bold=True))
                top_mm += NAME_MM
            more, top_mm = _row(bars, row, wide_mm, top_mm)
            drawn += more
        strips += drawn
        top_mm += 2.0
    alt = "What is done on each working day, and what hardens, with the numbers of the stages"
    return Picture(
        alt, "", space.width_mm, top_mm, svg=drawing(strips, space.width_mm, top_mm, alt)
    )


def _dates_over(
    days: ShopDays, columns: Sequence[int], row: range, wide_mm: float, top_mm: float
) -> tuple[list[str], float]:
    """Return the dates over one row of columns and where they end."""
    parts: list[str] = []
    for at in row:
        x = NAMES_MM + wide_mm * (at - row.start)
        for line, text in enumerate(_date(days, columns[at])):
            middle, base = x + wide_mm / 2.0, top_mm + 3.0 + line * LINE_MM
            parts.append(words(text, middle, base, WORD_MM, anchor="middle", bold=not line))
    return parts, top_mm + HEAD_MM


def _row(bars: Sequence[Bar], row: range, wide_mm: float, top_mm: float) -> tuple[list[str], float]:
    """Return the lanes of one row of columns and where they end."""
    parts: list[str] = []
    right_mm = NAMES_MM + wide_mm * len(row)
    y = top_mm
    for lane in ("machine", "by hand", "hardens"):
        mine = [bar for bar in bars if bar.lane == lane and _inside(bar, row)]
        lines = max((len(bar.label) for bar in mine), default=1)
        high = lines * LINE_MM + 1.6
        parts.append(words(lane, 0.0, y + high / 2.0 + 1.0, WORD_MM))
        rule = {"x1": 0.0, "x2": right_mm, "y1": y, "y2": y, "stroke_width": 0.15}
        parts.append(shape("line", stroke=SOFT, **rule))
        for bar in mine:
            left = NAMES_MM + wide_mm * (max(bar.begin, row.start) - row.start)
            end = NAMES_MM + wide_mm * (min(bar.end, row.stop) - row.start)
            parts += _bar(bar, left, y + 0.5, end - left, high - 1.0)
        y += high
    return parts, y


def _inside(bar: Bar, row: range) -> bool:
    return bar.end > row.start and bar.begin < row.stop


def _bar(bar: Bar, x: float, y: float, wide: float, high: float) -> list[str]:
    dark = bar.lane == "machine"
    fill = INK if dark else CURE if bar.lane == "hardens" else "#ffffff"
    size = {"x": x, "y": y, "width": wide, "height": high, "rx": 0.4}
    parts = [shape("rect", fill=fill, stroke=INK, stroke_width=0.25, **size)]
    first = y + (high - LINE_MM * (len(bar.label) - 1)) / 2.0 + 1.0
    for line, text in enumerate(bar.label):
        fitted = min(WORD_MM, (wide - 0.4) / (LETTER * len(text)))
        ink, base = "#ffffff" if dark else INK, first + line * LINE_MM
        parts.append(words(text, x + wide / 2.0, base, fitted, anchor="middle", fill=ink))
    return parts


def _date(days: ShopDays, day: int) -> tuple[str, str]:
    date = days.date(day)
    return (
        (f"{date:%a}", f"{date.day} {date:%b}") if days.dated else (f"day {day + 1}", f"{date:%a}")
    )


# ---- The days of the book: the strip, the figures of the plan, the dates of the pieces


DATE_HEAD: Final = (
    "piece", "first cut", "first milling", "last pour, not scuff-sanded", "finished",
    "sent off from",
)  # fmt: skip


def days_view(schedule: Schedule, plan: Plan, space: Space, parts: Parts = ()) -> DaysView:
    """Return the chapter on the days; the schedule has a plan.  ``parts`` are those of the job."""
    status = schedule.status()
    return DaysView(
        chart=day_strip(schedule, plan, space, parts),
        chart_note="Numbers are stages.",
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
