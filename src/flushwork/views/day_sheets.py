"""Day sheets: what is done on each day, at what time, to which pieces, and what gets ready."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from flushwork.core.units.kinds import DAY_MIN
from flushwork.core.words import counted
from flushwork.schedule.schedule import Piece, Reached, Schedule, Step, Wait

MEANWHILE_MIN = 30
"""Work on one piece with no longer pause is told in one go."""
LINE = 76
"""Letters of a title that a line of a sheet holds."""


@dataclass(frozen=True, slots=True)
class Doing:
    """One stage within an entry, with what has to be known beside its title."""

    stage: int
    title: str
    note: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One or more stages worked through on one piece after another, or on all at once.

    ``turns`` are the pieces of each turn and when it begins; ``steps`` all steps of the entry.
    """

    begin_min: int
    end_min: int
    doings: tuple[Doing, ...]
    turns: tuple[tuple[int, tuple[Piece, ...]], ...]
    steps: tuple[Step, ...]

    @property
    def stage(self) -> int:
        """The number of its first stage."""
        return self.doings[0].stage

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """The pieces worked on, in order."""
        return tuple(dict.fromkeys(piece for _, pieces in self.turns for piece in pieces))


@dataclass(frozen=True, slots=True)
class Moment:
    """A minute that matters without work: something is ready, or a window closes."""

    at_min: int
    text: str
    closes: bool
    waits: tuple[Wait, ...]


@dataclass(frozen=True, slots=True)
class DaySheet:
    """One day of the shop."""

    day: int
    title: str
    entries: tuple[Entry, ...]
    moments: tuple[Moment, ...]

    @property
    def hands_min(self) -> int:
        """Minutes of work on this day."""
        return sum(step.minutes for entry in self.entries for step in entry.steps)


def entries_of(schedule: Schedule) -> tuple[Entry, ...]:
    """Return the steps gathered into entries, in order of time."""
    rows: list[list[Step]] = []
    for step in schedule.steps:
        last = rows[-1][-1] if rows else None
        goes_on = last is not None and last.pieces == step.pieces and _same_day(last, step)
        if last is not None and goes_on and step.begin_min - last.end_min <= MEANWHILE_MIN:
            rows[-1].append(step)
        else:
            rows.append([step])
    entries: list[list[list[Step]]] = []
    for row in rows:
        before = entries[-1][-1] if entries else None
        if before is not None and _signs(before) == _signs(row) and _same_day(before[0], row[0]):
            entries[-1].append(row)
        else:
            entries.append([row])
    return tuple(_entry(group) for group in entries)


def _same_day(one: Step, two: Step) -> bool:
    return one.begin_min // DAY_MIN == two.begin_min // DAY_MIN


def _signs(row: Sequence[Step]) -> list[tuple[str, int, int, bool, bool]]:
    return [(step.part, step.stage, step.coat, step.done, step.pour > 0) for step in row]


def _entry(rows: Sequence[Sequence[Step]]) -> Entry:
    return Entry(
        begin_min=rows[0][0].begin_min,
        end_min=rows[-1][-1].end_min,
        doings=tuple(
            Doing(step.stage, _of_part(step.part) + step.title, _note(step)) for step in rows[0]
        ),
        turns=tuple((row[0].begin_min, row[0].pieces) for row in rows),
        steps=tuple(step for row in rows for step in row),
    )


def _of_part(part: str) -> str:
    """Return what begins a line on one of several parts of a job."""
    return f"{part}: " if part else ""


def _note(step: Step) -> str:
    told = [
        f"coat {step.coat}" if step.coat else "",
        f"pour {step.pour}" if step.pour else "",
        f"setup {step.setup}" if step.mounts else "",
        f"first {step.air_min} min of runs in air" if step.air_min else "",
        f"air {step.airing_min} min: no machine, flame or heat" if step.airing_min else "",
        "wash and scuff-sand first: the window has closed" if step.scuffed else "",
        "done" if step.done else "",
    ]
    return ", ".join(text for text in told if text)


def moments_of(schedule: Schedule) -> tuple[Moment, ...]:
    """Return when things get ready and when windows close, told once for all pieces alike."""
    done = {step.task for step in schedule.steps if step.done}
    found: dict[tuple[int, str, bool], list[Wait]] = {}
    for wait in schedule.waits:
        if not wait.resin or wait.until in done:
            continue
        part = _of_part(wait.piece.part)
        found.setdefault((wait.ready_min, part + _reached(wait), False), []).append(wait)
        if wait.closes_min is not None and not wait.missed:
            text = f"{wait.mix}: last moment to pour on it without scuff-sanding"
            if wait.reaches is Reached.SEALED:
                text = f"the seal: last moment to fill {wait.mix} without scuff-sanding"
            found.setdefault((wait.closes_min, part + text, True), []).append(wait)
    return tuple(
        Moment(at_min, text, closes, tuple(waits))
        for (at_min, text, closes), waits in sorted(found.items(), key=lambda item: item[0])
    )


def _reached(wait: Wait) -> str:
    if wait.reaches is Reached.SEALED:
        return f"the seal can be filled with {wait.mix} from now"
    now = {Reached.HARD: "can be cut or sanded", Reached.POURABLE: "can be poured on"}
    if wait.reaches in now:
        return f"{wait.mix} {now[wait.reaches]} from now"
    return f"{wait.mix} is fully cured"


def day_sheets(schedule: Schedule) -> tuple[DaySheet, ...]:
    """Return the sheets of all days on which something is to be done or gets ready."""
    entries, moments = entries_of(schedule), moments_of(schedule)
    days = {entry.begin_min // DAY_MIN for entry in entries}
    days |= {moment.at_min // DAY_MIN for moment in moments}
    return tuple(
        DaySheet(
            day=day,
            title=schedule.days.day_text(day * DAY_MIN),
            entries=tuple(item for item in entries if item.begin_min // DAY_MIN == day),
            moments=tuple(item for item in moments if item.at_min // DAY_MIN == day),
        )
        for day in sorted(days)
    )


def day_sheet_text(schedule: Schedule) -> str:
    """Return all day sheets as plain text, with the sums at the end."""
    lines: list[str] = []
    for sheet in day_sheets(schedule):
        hands = f"  ({_hours(sheet.hands_min)} of work)" if sheet.entries else ""
        lines += ["", f"{sheet.title}{hands}"]
        told = [(entry.begin_min, 1, _entry_lines(schedule, entry)) for entry in sheet.entries]
        told += [
            (
                moment.at_min,
                0,
                [f"  {schedule.days.clock_text(moment.at_min)}        - {moment.text}"],
            )
            for moment in sheet.moments
        ]
        for _, _, text in sorted(told, key=lambda item: item[:2]):
            lines += text
    lines += ["", *_sums(schedule)]
    return "\n".join(lines).lstrip("\n") + "\n"


def _entry_lines(schedule: Schedule, entry: Entry) -> list[str]:
    days = schedule.days
    span = f"{days.clock_text(entry.begin_min)}-{days.clock_text(entry.end_min)}"
    lines: list[str] = []
    for doing in entry.doings:
        note = f"  [{doing.note}]" if doing.note else ""
        lines.append(f"  {span:11}  {doing.stage:3d}  {shorten(doing.title, LINE)}{note}")
        span = ""
    if len(entry.turns) > 1:
        turns = [f"{days.clock_text(begin)} {_names(pieces)}" for begin, pieces in entry.turns]
        lines.append(f"                    {', '.join(turns)}")
    elif len(entry.pieces) < len(schedule.pieces):
        lines.append(f"                    {_names(entry.pieces)}")
    return lines


def _names(pieces: Sequence[Piece]) -> str:
    return " and ".join(piece.name for piece in pieces)


def shorten(text: str, longest: int) -> str:
    """Return a text, or its beginning where it is longer than a line holds."""
    return textwrap.shorten(text, longest, placeholder=" ...")


def _sums(schedule: Schedule) -> list[str]:
    days = schedule.days
    told = [
        f"{counted(len(schedule.pieces), 'piece')} in "
        f"{counted(schedule.calendar_days, 'day')}, work on "
        f"{schedule.work_days} of them; {schedule.status()}.",
        f"{_hours(schedule.hands_min)} of work, {_hours(schedule.machine_min)} of it at the "
        f"machine; {schedule.set_ups} set-ups, {schedule.changes} bits put in, "
        f"{counted(schedule.batches, 'batch', 'batches')} mixed.",
    ]
    if schedule.spoiled:
        left = len(schedule.pieces) - len(schedule.spoiled)
        told.append(
            f"Spoiled: {_names(schedule.spoiled)}; {left} of "
            f"{counted(len(schedule.pieces), 'piece')} are left. Batches are still measured for "
            "all of them."
        )
    told += _groups(schedule)
    for dates in schedule.milestones:
        next_ones = [
            f"{what} {days.day_text(minute)} {days.clock_text(minute)}"
            for what, minute in (
                ("next cut", dates.cut_min),
                ("next flush milling", dates.mill_flush_min),
                ("last pour without scuff-sanding", dates.last_pour_min),
            )
            if minute is not None
        ]
        if next_ones:
            told.append(f"{dates.piece.name}: {', '.join(next_ones)}")
    told += [
        f"{dates.piece.name}: finished {days.day_text(dates.finish_min)} "
        f"{days.clock_text(dates.finish_min)}, may be sent off from "
        f"{days.day_text(dates.ship_min)}"
        for dates in schedule.milestones
    ]
    return told


def _groups(schedule: Schedule) -> list[str]:
    """Return how the pieces are poured, and what it would come to in other groups."""
    told: list[str] = []
    if len(schedule.groups) > 1:
        *most, last = (str(count) for count in schedule.groups)
        parts = f"{', '.join(most)} and {last}"
        told.append(
            f"Poured in groups of {parts} pieces, each with batches of its own, so that some are "
            "on the machine while others cure."
        )
    for other in schedule.groupings:
        days = other.finish_min // DAY_MIN - schedule.finish_min // DAY_MIN
        when = f"{counted(abs(days), 'day')} {'later' if days > 0 else 'sooner'}"
        when = when if days else "on the same day"
        more = other.hands_min - schedule.hands_min
        work = f"{_hours(abs(more))} {'more' if more > 0 else 'less'} work"
        how = "All poured together" if other.groups == 1 else f"Poured in {other.groups} groups"
        told.append(f"{how} it would end {when}, with {work} and {other.batches} batches.")
    return told


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h {minutes % 60:02d} min"
