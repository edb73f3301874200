"""Page 1: what is made, a row for each working day, the warnings."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.book.card_steps import POURED, gathered, moment
from flushwork.book.setup_cards import bit_words
from flushwork.core.findings import Severity
from flushwork.core.units.kinds import DAY_MIN
from flushwork.process.stages import Stage, StageKind
from flushwork.schedule.schedule import Schedule
from flushwork.toolpaths.orders import GcodeFile
from flushwork.views.book_records import Fact, Picture, RunDay, RunSheet
from flushwork.views.check_views import verdict
from flushwork.views.context import ViewContext, run_words, summary
from flushwork.views.day_sheets import day_sheets
from flushwork.views.figures import Lengths, clean, grams, headed, joined, raised
from flushwork.views.setup_details import stage_of
from flushwork.views.stage_views import waited
from flushwork.views.warning_lines import accepted_lines


def run_sheet(
    context: ViewContext,
    pictures: tuple[Picture, ...],
    lengths: Lengths,
    others: Sequence[ViewContext] = (),
) -> RunSheet:
    """Return page 1; ``others`` are the further parts of the job."""
    job = context.build.job
    parts = (context, *others)
    schedule = context.build.all_days if others and context.schedule else context.schedule
    days = (
        _dated(parts, schedule, lengths)
        if schedule is not None
        else tuple(row for part in parts for row in _undated(part, lengths))
    )
    warnings = [each for each in context.build.findings if each.severity is Severity.WARNING]
    facts = [
        Fact("Run", run_words(context.build)),
        Fact("Printed", context.today),
    ]
    if schedule is not None:
        work = round(schedule.hands_min / 60.0)
        facts.insert(
            2, Fact("Days", f"{schedule.calendar_days}, work on {schedule.work_days}, {work} h")
        )
    return RunSheet(
        title=clean(job.title),
        summary=" ".join(
            f"{headed(each.build.job.part)}{summary(each.build.job, each.build.faces, lengths)}"
            for each in parts
        ),
        pictures=pictures,
        facts=tuple(facts),
        verdict=verdict(context.build.findings),
        days=days,
        warnings=(
            *accepted_lines(context.build.findings),
            *(raised(clean(each.message)) for each in warnings),
        ),
    )


def _work_of(context: ViewContext, stages: Sequence[Stage]) -> tuple[str, ...]:
    """Return what is done, a line each; of one of several parts of a job in one line."""
    part, lines = context.build.job.part, _work(stages)
    if not part or not lines:
        return lines
    words: dict[str, list[str]] = {}
    for line in lines:
        word, _, number = line.removesuffix(")").partition(" (")
        words.setdefault(word, []).append(number)
    work = (f"{word} ({', '.join(each)})" if each[0] else word for word, each in words.items())
    return (headed(part) + ", ".join(work),)


def _dated(
    parts: Sequence[ViewContext], schedule: Schedule, lengths: Lengths
) -> tuple[RunDay, ...]:
    """Return a row for each day on which somebody works."""
    sheets = [sheet for sheet in day_sheets(schedule) if sheet.entries]
    rows: list[RunDay] = []
    for sheet, following in zip(sheets, [*sheets[1:], None], strict=True):
        done = dict.fromkeys(
            (step.part, step.stage) for entry in sheet.entries for step in entry.steps
        )
        by_name = {each.build.job.part: each for each in parts}
        works: dict[str, list[Stage]] = {}
        for part, number in done:
            works.setdefault(part, []).append(by_name[part].build.plan.stage(number))
        told = [(by_name[part], stages) for part, stages in works.items()]
        # a cup comes before what else it fills
        poured = dict.fromkeys(
            step.part for entry in sheet.entries for step in entry.steps if step.pour
        )
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
                work=tuple(line for each, at in told for line in _work_of(each, at)),
                files=tuple(row for each, at in told for row in _files(each, at, lengths)),
                pours=tuple(line for part in poured for line in _pours(by_name[part], works[part])),
                leave=leave,
                notes=_closing(schedule, sheet.day, following.day if following else None),
            )
        )
    return tuple(rows)


def _closing(schedule: Schedule, day: int, until: int | None) -> tuple[str, ...]:
    """Return what has to be done by when from a working day until the next one, by the minute."""
    found: dict[int, list[str]] = {}
    today = moment(schedule, day * DAY_MIN).partition(",")[0]
    for sheet in day_sheets(schedule):
        if day <= sheet.day and (until is None or sheet.day < until):
            for each in sheet.moments:
                if each.closes:
                    found.setdefault(each.at_min, []).append(raised(clean(each.text)))
    return tuple(
        f"By {moment(schedule, at).removeprefix(f'{today}, ')}: {'; '.join(texts)}"
        for at, texts in found.items()
    )


def _sent_off(schedule: Schedule) -> str:
    ships = [dates.ship_min for dates in schedule.milestones]
    return f"send off from {moment(schedule, max(ships)).partition(',')[0]}" if ships else ""


def _undated(context: ViewContext, lengths: Lengths) -> tuple[RunDay, ...]:
    """Return, where no days are planned, a row for each card."""
    rows: list[RunDay] = []
    for number, card in enumerate(gathered(context), start=1):
        stages = [*card.before, *card.own, *card.after]
        waits = [waited(context, stage) for stage in stages if stage.kind is StageKind.CURE]
        rows.append(
            RunDay(
                day=f"{headed(context.build.job.part)}card {number}"
                if context.build.job.part
                else f"Part {number}",
                hours="",
                work=_work(stages),
                files=_files(context, stages, lengths),
                pours=_pours(context, stages),
                leave=joined(waits),
                notes=(),
            )
        )
    return tuple(rows)


def _work(stages: Sequence[Stage]) -> tuple[str, ...]:
    """Return what is done: setups by number, hand work by its kind and number."""
    told: dict[str, None] = {}
    for stage in stages:
        if stage.setup:
            told[f"Setup {stage.setup}"] = None
        elif stage.kind not in (*POURED, StageKind.CURE):
            word = stage.title.partition(" ")[0] if stage.title else str(stage.kind)
            told[clean(f"{word} ({stage.number})")] = None
    return tuple(told)


def _files(context: ViewContext, stages: Sequence[Stage], lengths: Lengths) -> tuple[Fact, ...]:
    numbers = {stage.number for stage in stages}
    mine = [file for file in context.build.gcode_files if _run_in(context, file) in numbers]
    mine.sort(key=lambda file: (file.order.setup, file.order.sequence))
    return tuple(Fact(clean(file.file_name), bit_words(file.order.bit, lengths)) for file in mine)


def _run_in(context: ViewContext, file: GcodeFile) -> int:
    """Return the stage a file runs in; the first of its setup where it is in no replay."""
    setup = (each for each in context.build.plan.setups if each.number == file.order.setup)
    return stage_of(context, file) or next((each.stages[0] for each in setup if each.stages), 0)


def _pours(context: ViewContext, stages: Sequence[Stage]) -> tuple[str, ...]:
    numbers = {stage.number for stage in stages}
    alike: dict[str, list[int]] = {}
    for pour in context.build.pours:
        if pour.stage in numbers:
            out_of = f"from pour {pour.out_of}"
            amount = out_of if pour.out_of else grams(pour.batch_g)
            alike.setdefault(f"{clean(pour.mix.name)}, {amount}", []).append(pour.number)
    return tuple(
        f"{', '.join(str(number) for number in each)} {what}{' each' if len(each) > 1 else ''}"
        for what, each in alike.items()
    )
