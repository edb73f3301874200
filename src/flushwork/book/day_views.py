"""The days of the book: the chart, the figures of the plan, a sheet for each day."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from flushwork.core.units.factors import DAY_MIN
from flushwork.schedule.plan import Piece, Reached, Schedule, Wait
from flushwork.views.book_records import DayLine, DaysView, DayView, Fact, TableView
from flushwork.views.day_sheets import DaySheet, Entry, Moment, day_sheets
from flushwork.views.drawing.days_chart import day_charts, day_names
from flushwork.views.drawing.drawings import Space
from flushwork.views.figures import NO_BREAK, TO, clean, joined

REACHED: Final = {
    Reached.HARD: "hard",
    Reached.POURABLE: "ready for the next pour",
    Reached.CURED: "fully cured",
}
FILLABLE: Final = "the seal ready to be filled with"
SEAL_LATE: Final = "the seal hard: its window was missed"
DRY: Final = {"seal dries": "the sealer dry", "finish dries": "the last coat dry"}

DATE_HEAD: Final = (
    "piece", "first cut", "first levelling", "last pour, unabraded", "finished", "sent off from",
)  # fmt: skip


def days_view(schedule: Schedule, space: Space) -> DaysView:
    """Return the chapter on the days; the schedule has a plan."""
    days = schedule.days
    status = schedule.status()
    return DaysView(
        charts=day_charts(schedule, space),
        chart_note=(
            f"Shaded: the shop's hours, {days.clock_text(days.opens_min)} to "
            f"{days.clock_text(days.closes_min)}; nights, and days without work, are drawn "
            "narrower. Above in each lane what is done, with the numbers of its stages; below what "
            "hardens."
        ),
        status=f"{status[0].upper()}{status[1:]}.",
        facts=(
            Fact("Days", f"{schedule.calendar_days}, work on {schedule.work_days} of them"),
            Fact("Hands-on", hours(schedule.hands_min)),
            Fact("Of it at the machine", hours(schedule.machine_min)),
            Fact("Set-ups", str(schedule.set_ups)),
            Fact("Cutters put in", str(schedule.changes)),
            Fact("Batches mixed", str(schedule.batches)),
        ),
        sheets=tuple(_sheet(schedule, sheet) for sheet in day_sheets(schedule)),
        sheet_note=(
            "Tick each piece. Before you cut, sand or pour on resin, try what is left in its cup: "
            "it hardened beside the piece, and it is right where the sheet is wrong."
        ),
        dates=_dates(schedule),
    )


def hours(minutes: int) -> str:
    """Return hours and minutes of work."""
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest}{NO_BREAK}min"
    return f"{whole}{NO_BREAK}h" + (f" {rest:02d}{NO_BREAK}min" if rest else "")


def _sheet(schedule: Schedule, sheet: DaySheet) -> DayView:
    marks = _marks(schedule.pieces)
    told = [(entry.begin_min, 1, _work_line(schedule, entry, marks)) for entry in sheet.entries]
    told += [(moment.at_min, 0, _moment_line(schedule, moment)) for moment in sheet.moments]
    return DayView(
        heading=f"{sheet.title[0].upper()}{sheet.title[1:]}",
        work=f"{hours(sheet.hands_min)} of work" if sheet.entries else "nothing to do",
        lines=tuple(line for _, _, line in sorted(told, key=lambda item: item[:2])),
    )


def _marks(pieces: Sequence[Piece]) -> dict[Piece, str]:
    """Return what a piece is called in its box, as on the stages."""
    tests = sum(piece.test for piece in pieces)
    return {
        piece: ("T" if tests == 1 else f"T{piece.number}") if piece.test else str(piece.number)
        for piece in pieces
    }


def _work_line(schedule: Schedule, entry: Entry, marks: Mapping[Piece, str]) -> DayLine:
    days = schedule.days
    turns = [
        f"{days.clock_text(begin)} {joined([piece.name for piece in pieces])}"
        for begin, pieces in entry.turns
    ]
    alone = joined([piece.name for piece in entry.pieces])
    everybody = len(entry.pieces) == len(schedule.pieces) > 1
    return DayLine(
        time=f"{days.clock_text(entry.begin_min)}{TO}{days.clock_text(entry.end_min)}",
        stages=tuple(
            Fact(
                str(doing.stage),
                clean(f"{doing.title} ({_close(doing.note)})" if doing.note else doing.title),
            )
            for doing in entry.doings
        ),
        who=", ".join(turns) if len(turns) > 1 else "all pieces" if everybody else alone,
        waited=_waited(schedule, entry),
        ticks=tuple(marks[piece] for piece in entry.pieces),
    )


def _close(note: str) -> str:
    """Return a note whose numbers stay with their words."""
    return re.sub(r" (?=\d)", NO_BREAK, note)


def _waited(schedule: Schedule, entry: Entry) -> str:
    """Return what had to be reached before the first turn could begin, and when it was."""
    first = entry.turns[0][1]
    tasks = {step.task for step in entry.steps if step.pieces == first}
    reached: dict[str, list[Wait]] = {}
    for wait in schedule.waits:
        if wait.until in tasks:
            reached.setdefault(_state(wait), []).append(wait)
    told: list[str] = []
    for state, waits in reached.items():
        mixes = list(dict.fromkeys(clean(wait.mix) for wait in waits if wait.resin))
        what = f"{joined(mixes)} {state}".strip()
        if state == FILLABLE:
            what = f"{FILLABLE} {joined(mixes)}"
        elif state == SEAL_LATE:
            what = SEAL_LATE
        told.append(f"{what} {_when(schedule, entry, max(wait.ready_min for wait in waits))}")
    return f"waited for: {'; '.join(told)}" if told else ""


def _state(wait: Wait) -> str:
    if wait.reaches is Reached.SEALED:
        return SEAL_LATE if wait.missed else FILLABLE
    if wait.missed:
        return "hard: its window was missed"
    return REACHED.get(wait.reaches) or DRY.get(wait.what, clean(wait.what))


def _when(schedule: Schedule, entry: Entry, minute: int) -> str:
    clock = schedule.days.clock_text(minute)
    if minute // DAY_MIN == entry.begin_min // DAY_MIN:
        return f"at {clock}"
    day = day_names(schedule.days, minute // DAY_MIN)[0].replace(" ", NO_BREAK)
    return f"on {day},{NO_BREAK}{clock}"


def _moment_line(schedule: Schedule, moment: Moment) -> DayLine:
    pieces = list(dict.fromkeys(wait.piece.name for wait in moment.waits))
    return DayLine(
        time=schedule.days.clock_text(moment.at_min),
        stages=(Fact("", clean(moment.text)),),
        who="" if len(pieces) == len(schedule.pieces) else joined(pieces),
        waited="",
        ticks=(),
        closes=moment.closes,
    )


def _dates(schedule: Schedule) -> TableView:
    def told(minute: int | None) -> str:
        if minute is None:
            return TO
        days = schedule.days
        return f"{day_names(days, minute // DAY_MIN)[0]} {days.clock_text(minute)}"

    rows = [
        (
            dates.piece.name,
            told(dates.cut_min),
            told(dates.level_min),
            told(dates.last_pour_min),
            told(dates.finish_min),
            day_names(schedule.days, dates.ship_min // DAY_MIN)[0],
        )
        for dates in schedule.milestones
    ]
    return TableView(DATE_HEAD, tuple(rows), wide=(0,))
