"""Page 1: what is made, a row for each working day, the warnings."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.book.card_steps import POURED, gathered, moment
from flushwork.book.setup_cards import bit_words
from flushwork.core.findings import Severity
from flushwork.core.units.factors import DAY_MIN
from flushwork.process.stages import Stage, StageKind
from flushwork.schedule.plan import Schedule
from flushwork.toolpaths.orders import CutFile
from flushwork.views.book_records import Fact, Picture, RunDay, RunSheet
from flushwork.views.cautions import accepted_lines
from flushwork.views.check_views import verdict
from flushwork.views.day_sheets import day_sheets
from flushwork.views.figures import Lengths, clean, grams, joined, raised
from flushwork.views.pieces import Pieces
from flushwork.views.run_summary import run_words, summary
from flushwork.views.setup_steps import stage_of
from flushwork.views.stage_views import waited


def run_sheet(pieces: Pieces, pictures: tuple[Picture, ...], lengths: Lengths) -> RunSheet:
    """Return page 1."""
    job, schedule = pieces.job, pieces.schedule
    days = _dated(pieces, schedule, lengths) if schedule is not None else _undated(pieces, lengths)
    cautions = [each for each in pieces.findings if each.severity is Severity.CAUTION]
    facts = [
        Fact("Run", run_words(job)),
        Fact("Printed", pieces.today),
    ]
    if schedule is not None:
        work = round(schedule.hands_min / 60.0)
        facts.insert(
            2, Fact("Days", f"{schedule.calendar_days}, work on {schedule.work_days}, {work} h")
        )
    return RunSheet(
        title=clean(job.title),
        summary=summary(job, pieces.faces, lengths),
        pictures=pictures,
        facts=tuple(facts),
        verdict=verdict(pieces.findings),
        days=days,
        warnings=(
            *accepted_lines(pieces.findings),
            *(raised(clean(each.message)) for each in cautions),
        ),
    )


def _dated(pieces: Pieces, schedule: Schedule, lengths: Lengths) -> tuple[RunDay, ...]:
    """Return a row for each day on which somebody works."""
    sheets = [sheet for sheet in day_sheets(schedule) if sheet.entries]
    closing = [
        (each.at_min, raised(clean(each.text)))
        for sheet in day_sheets(schedule)
        for each in sheet.moments
        if each.closes
    ]
    rows: list[RunDay] = []
    for sheet, following in zip(sheets, [*sheets[1:], None], strict=True):
        done = dict.fromkeys(step.stage for entry in sheet.entries for step in entry.steps)
        stages = [pieces.plan.stage(number) for number in done]
        begin = min(entry.begin_min for entry in sheet.entries)
        end = max(entry.end_min for entry in sheet.entries)
        clock = schedule.days.clock_text
        leave = _sent_off(schedule)
        if following is not None:
            leave = moment(schedule, min(entry.begin_min for entry in following.entries))
        rows.append(
            RunDay(
                day=moment(schedule, begin).partition(",")[0],
                hours=f"{clock(begin)}\N{EN DASH}{clock(end)}",
                work=_work(stages),
                files=_files(pieces, stages, lengths),
                pours=_pours(pieces, stages),
                leave=leave,
                notes=tuple(
                    f"By {clock(at)}: {text}"
                    for at, text in closing
                    if at // DAY_MIN == begin // DAY_MIN
                ),
            )
        )
    return tuple(rows)


def _sent_off(schedule: Schedule) -> str:
    ships = [dates.ship_min for dates in schedule.milestones]
    return f"send off from {moment(schedule, max(ships)).partition(',')[0]}" if ships else ""


def _undated(pieces: Pieces, lengths: Lengths) -> tuple[RunDay, ...]:
    """Return, where no days are planned, a row for each card."""
    rows: list[RunDay] = []
    for number, card in enumerate(gathered(pieces), start=1):
        stages = [*card.before, *card.own, *card.after]
        waits = [waited(pieces, stage) for stage in stages if stage.kind is StageKind.CURE]
        rows.append(
            RunDay(
                day=f"Part {number}",
                hours="",
                work=_work(stages),
                files=_files(pieces, stages, lengths),
                pours=_pours(pieces, stages),
                leave=joined(waits),
                notes=(),
            )
        )
    return tuple(rows)


def _work(stages: Sequence[Stage]) -> tuple[str, ...]:
    """Return what is done: setups by number, hand work by its kind and number."""
    told: dict[str, None] = {}
    for stage in stages:
        if stage.mounting:
            told[f"Setup {stage.mounting}"] = None
        elif stage.kind not in (*POURED, StageKind.CURE):
            word = stage.title.partition(" ")[0] if stage.title else str(stage.kind)
            told[clean(f"{word} ({stage.number})")] = None
    return tuple(told)


def _files(pieces: Pieces, stages: Sequence[Stage], lengths: Lengths) -> tuple[Fact, ...]:
    numbers = {stage.number for stage in stages}
    mine = [file for file in pieces.cut_files if _run_in(pieces, file) in numbers]
    mine.sort(key=lambda file: (file.order.mounting, file.order.sequence))
    return tuple(
        Fact(clean(file.file_name), bit_words(file.order.cutter, lengths)) for file in mine
    )


def _run_in(pieces: Pieces, file: CutFile) -> int:
    """Return the stage a file runs in; the first of its setup where it is in no replay."""
    setup = (each for each in pieces.plan.mountings if each.number == file.order.mounting)
    return stage_of(pieces, file) or next((each.stages[0] for each in setup if each.stages), 0)


def _pours(pieces: Pieces, stages: Sequence[Stage]) -> tuple[str, ...]:
    numbers = {stage.number for stage in stages}
    return tuple(
        f"{pour.number} {clean(pour.mix.name)}"
        + (f", {grams(pour.batch_g)}" if not pour.out_of else f", from pour {pour.out_of}")
        for pour in pieces.pours
        if pour.stage in numbers
    )
