"""Runs planned from the middle: random logs in random orders, as somebody writes them."""

from __future__ import annotations

import datetime as dt
import functools
import random
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.core.findings import JobRefusedError
from flushwork.job.day_log import read_day_log
from flushwork.job.keys.lists import Lead
from flushwork.process.stages import StageKind
from flushwork.schedule.resume import Progress, first_day, progress_of
from flushwork.schedule.run import parts_of, pieces_of
from flushwork.schedule.run_problem import RunProblem, ScheduleOptions, schedule_options_of
from flushwork.schedule.schedule import Piece, Schedule
from flushwork.schedule.several_parts import PartWork
from flushwork.schedule.shop_days import shop_days
from flushwork.schedule.solve.solver import solve
from flushwork.views.day_sheets import day_sheet_text
from tests.many import examples
from tests.schedule.replanned import replanned
from tests.small_jobs import changed, made

CAPPED = (
    changed(
        "depth: 2 mm, fill: dark}",
        "depth: 2 mm, fill: dark,\n       how: scraped flush and capped, cap: clear}",
    )
    + "sealer: shellac\nfinish: {name: wiping varnish, coats: 2}\n"
)
BEGIN = dt.datetime(2027, 3, 1, 8, 0)


@functools.cache
def folder() -> Path:
    return Path(tempfile.mkdtemp())


@functools.cache
def board(bed: int = 1) -> Build:
    return made(folder(), text(1, 0, bed))


def text(pieces: int, tests: int, bed: int = 1, ahead: str = "no") -> str:
    run = f"pieces: {pieces}\n"
    run += f"test pieces: {tests}\ntest piece ahead: {ahead}\n" if tests else ""
    lying = f"on the bed: {{pieces: {bed}, step: [0 mm, 80 mm]}}\n" if bed > 1 else ""
    return CAPPED.replace("title: Plain lid", "title: Plain lid\ncell: 0.4 mm") + run + lying


def from_log(
    log: str, pieces: int, tests: int, bed: int = 1, ahead: str = "no"
) -> tuple[Build, Progress]:
    """Plan the rest of a run as the command does."""
    job = text(pieces, tests, bed, ahead)
    fresh = replanned(board(bed), folder(), job, "")
    told = read_day_log(log, "day.log")
    first = first_day(told)
    stages = {"": len(fresh.plan.stages)}
    progress = progress_of(told, first, pieces_of(fresh.job), stages, "day.log")
    wishes = replace(schedule_options_of(fresh.job), first=first, progress=progress)
    return replanned(board(bed), folder(), job, "", wishes), progress


def days(made: Build) -> Schedule:
    assert made.schedule is not None
    assert made.schedule.hindrance is None, made.schedule.hindrance
    return made.schedule


def holds(made: Build, progress: Progress) -> None:
    """Hold a plan of the rest to what cannot be otherwise."""
    schedule = days(made)
    pieces = schedule.pieces
    for index, piece in enumerate(pieces):
        own = [step for step in schedule.steps if piece in step.pieces]
        own.sort(key=lambda step: (step.stage, step.coat, step.begin_min, step.end_min))
        for one, two in pairwise(own):
            assert one.end_min <= two.begin_min, (piece.name, one, two)
        last = progress.last(index)
        for step in own:
            assert step.done == (step.stage <= last), step
        asked = [
            stage.number for stage in made.plan.stages
            if stage.kind is not StageKind.CURE
            and (stage.number <= last or index not in progress.spoiled)
        ]  # fmt: skip
        assert sorted({step.stage for step in own}) == asked, piece.name
    left = [step for step in schedule.steps if not step.done]
    assert all(step.begin_min >= progress.now_min for step in left)
    assert all(step.end_min <= progress.now_min for step in schedule.steps if step.done)
    for one, two in pairwise(sorted(left, key=lambda step: step.begin_min)):
        assert one.end_min <= two.begin_min
    begins = {step.task: step.begin_min for step in left}
    for wait in schedule.waits:
        if wait.until in begins:
            assert wait.missed or begins[wait.until] >= wait.ready_min - 1, wait
    mounted: dict[tuple[int, tuple[Piece, ...]], tuple[int, int]] = {}
    for step in left:
        if step.machine:
            key = (step.setup, step.pieces)
            begin, end = mounted.get(key, (step.begin_min, step.end_min))
            mounted[key] = (min(begin, step.begin_min), max(end, step.end_min))
    row = sorted(mounted.values())
    assert all(one[1] <= two[0] for one, two in pairwise(row))
    assert {dates.piece for dates in schedule.milestones} == {
        piece for index, piece in enumerate(pieces) if index not in progress.spoiled
    }


def history(seed: int, pieces: int, tests: int, spoil: bool) -> str:
    """Return a log that can have been, with lines left out and in any order."""
    chance = random.Random(seed)  # noqa: S311
    made = board()
    kinds = [stage for stage in made.plan.stages if stage.kind is not StageKind.CURE]
    names = [f"test piece {n + 1}" for n in range(tests)] + [
        f"piece {n + 1}" for n in range(pieces)
    ]
    lines: list[str] = []
    ends: list[dt.datetime] = [BEGIN]
    for name in names:
        at = BEGIN
        reached = chance.randint(0, len(kinds))
        for place, stage in enumerate(kinds[:reached]):
            at += dt.timedelta(minutes=chance.choice((0, 3, 40, 700, 3000)))
            if place == reached - 1 or chance.random() < 0.5:
                lines.append(f"{at:%Y-%m-%d %H:%M}  stage {stage.number}  {name}")
                ends.append(at)
        if spoil and chance.random() < 0.4:
            at += dt.timedelta(minutes=chance.choice((0, 5, 600)))
            lines.append(f"{at:%Y-%m-%d %H:%M}  {name} spoiled")
            ends.append(at)
    now = max(ends) + dt.timedelta(minutes=chance.choice((0, 10, 1000)))
    lines.append(f"{now:%Y-%m-%d %H:%M} now")
    if chance.random() < 0.5:
        lines.append(f"{BEGIN:%Y-%m-%d %H:%M} {chance.randint(16, 24)} degC")
    chance.shuffle(lines)
    return "\n".join(lines) + "\n"


@settings(max_examples=examples(15), deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 3), st.integers(0, 1), st.booleans())
@example(0, 2, 1, False)
def test_no_step_comes_before_its_own_past(seed: int, pieces: int, tests: int, spoil: bool) -> None:
    result, progress = from_log(history(seed, pieces, tests, spoil), pieces, tests)
    holds(result, progress)


@settings(max_examples=examples(6), deadline=None)
@given(
    st.integers(0, 10**6),
    st.integers(2, 5),
    st.integers(0, 2),
    st.sampled_from([lead.value for lead in Lead]),
)
@example(3772, 5, 0, "no")
def test_a_bed_load_of_which_one_is_further_on_is_parted(
    seed: int, pieces: int, tests: int, ahead: str
) -> None:
    log = history(seed, pieces, tests, spoil=True)
    holds(*from_log(log, pieces, tests, bed=2, ahead=ahead))


def refusal(log: str, pieces: int = 3) -> list[tuple[str, int]]:
    """Return the codes and lines a log is refused with; none where it is taken."""
    try:
        from_log(log, pieces, 0)
    except JobRefusedError as refused:
        return [
            (item.code, item.source.line if item.source is not None else 0)
            for item in refused.findings
        ]
    return []


LINE = st.tuples(st.integers(0, 25), st.integers(-1, 4), st.integers(0, 400), st.integers(0, 12))


def written(rows: Sequence[tuple[int, int, int, int]]) -> str:
    lines = []
    for stage, piece, steps, kind in rows:
        at = BEGIN + dt.timedelta(minutes=10 * steps)
        what = f"stage {stage}" + (f" piece {piece}" if piece >= 0 else "")
        if kind == 0:
            what = f"piece {max(piece, 1)} spoiled"
        if kind == 1:
            what = "now"
        lines.append(f"{at:%Y-%m-%d %H:%M} {what}")
    return "\n".join(lines) + "\n"


@settings(max_examples=examples(25), deadline=None)
@given(st.lists(LINE, min_size=1, max_size=6))
@example([(6, 2, 5, 9), (9, 2, 3, 9)])
@example([(6, -1, 5, 9), (9, 2, 8, 9), (3, -1, 9, 9)])
def test_any_log_is_kept_to_or_refused_with_its_line(rows: list[tuple[int, int, int, int]]) -> None:
    log = written(rows)
    wrong = refusal(log, 3)
    if wrong:
        assert all(1 <= line <= len(rows) for _, line in wrong)
        assert all(code.startswith("day-log-") for code, _ in wrong)
    else:
        holds(*from_log(log, 3, 0))


@settings(max_examples=examples(4), deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 3))
def test_what_is_called_proven_is_not_bettered_by_a_search_of_the_whole(
    seed: int, pieces: int
) -> None:
    result, progress = from_log(history(seed, pieces, 0, spoil=True), pieces, 0)
    schedule = days(result)
    if not schedule.proven:
        return
    wishes = replace(schedule_options_of(result.job), first=schedule.days.first, progress=progress)
    again = shop_days(result.job.shop, schedule.days.first)
    parts = parts_of(
        result.job, result.plan, result.staged_files, result.pours, again.open_min, progress
    )
    works = (PartWork(result.job, result.plan, result.staged_files),)
    problem = RunProblem(works, again, schedule.pieces, parts, wishes).problem()
    if not problem.tasks:
        return
    whole = solve(problem)
    assert whole.spans
    finish = max(step.end_min for step in schedule.steps if not step.done)
    missed = {
        (wait.task, wait.until)
        for wait in schedule.missed
        if {wait.task, wait.until} <= set(whole.spans)
    }
    assert (len(whole.missed), whole.finish) >= (len(missed), finish)


def test_the_four_lines_of_the_docs() -> None:
    """A stage done on one piece says that its earlier stages are; the others go on."""
    log = (
        "2027-03-17 16:10  stage 6\n"
        "2027-03-18 09:55  stage 9  piece 2\n"
        "2027-03-18 03:00  9 degC\n"
        "2027-03-18 10:00  now\n"
    )
    result, progress = from_log(log, 3, 0)
    holds(result, progress)
    assert progress.last(1) == 9
    assert progress.last(0) == 6


def test_what_cannot_have_been_is_refused_with_its_line() -> None:
    assert refusal("2027-03-17 16:10  stage 9 piece 2\n2027-03-17 17:10  stage 6 piece 2\n") == [
        ("day-log-out-of-order", 1)
    ]
    assert refusal("2027-03-17 16:10 stage 3\n2027-03-17 16:00 now\n") == [("day-log-after-now", 1)]
    assert refusal("2027-03-17 16:10 stage 3\n2027-03-17 16:20 stage 3\n") == [("day-log-twice", 2)]
    assert refusal("2027-03-17 16:10 stage 3\n2027-03-17 16:20 stage 3 piece 1\n") == [
        ("day-log-twice", 2)
    ]
    assert refusal("2027-03-17 16:10 piece 2 spoiled\n2027-03-17 16:20 stage 3 piece 2\n") == [
        ("day-log-after-spoiled", 2)
    ]
    assert refusal("2027-03-17 16:10 piece 9 spoiled\n") == [("day-log-names-nothing", 1)]
    assert refusal("0001-03-17 16:10 stage 1\n") == [("day-log-unreadable", 1)]
    assert refusal("2027-03-17 16:10 20 degC\n2027-03-17 16:10 21 degC\n") == [("day-log-twice", 2)]


def test_a_spoiled_piece_is_worked_no_further() -> None:
    log = "2027-03-17 16:10  stage 4\n2027-03-17 16:30  piece 3 spoiled\n2027-03-18 08:00 now\n"
    result, progress = from_log(log, 3, 0)
    holds(result, progress)
    schedule = days(result)
    assert [piece.name for piece in schedule.spoiled] == ["piece 3"]
    assert "Spoiled: piece 3; 2 of 3 pieces are left." in day_sheet_text(schedule)
    fills = [step for step in schedule.steps if step.kind is StageKind.FILL and not step.done]
    assert all([piece.number for piece in step.pieces] == [1, 2] for step in fills)


def test_a_spoiled_test_piece_holds_nobody_up() -> None:
    job = text(2, 1, ahead="until the last sanding")
    fresh = replanned(board(), folder(), job, "")
    log = read_day_log("2027-03-01 09:00 test piece 1 spoiled\n", "day.log")
    first = first_day(log)
    progress = progress_of(
        log, first, pieces_of(fresh.job), {"": len(fresh.plan.stages)}, "day.log"
    )
    wishes = replace(schedule_options_of(fresh.job), first=first, progress=progress)
    holds(replanned(board(), folder(), job, "", wishes), progress)


def test_nothing_is_planned_where_all_is_done() -> None:
    last = len(board().plan.stages)
    result, progress = from_log(f"2027-03-17 16:10 stage {last}\n", 2, 0)
    holds(result, progress)
    assert all(step.done for step in days(result).steps)
    assert ScheduleOptions().progress.last(0) == 0
