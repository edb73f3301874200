"""A day log is held to the waits of the plan: what was done too soon or too late is told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.checks.rules.work.log_rules import log_out_of_time
from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.job.day_log import read_day_log
from flushwork.process.stages import StageKind
from flushwork.schedule.resume import first_day, progress_of
from flushwork.schedule.run import pieces_of
from flushwork.schedule.run_problem import ScheduleOptions
from tests.many import examples
from tests.schedule.replanned import replanned
from tests.schedule.test_day_logs import BEGIN, board, days, folder, from_log, text


def numbers(kind: StageKind) -> list[int]:
    return [stage.number for stage in board().plan.stages if stage.kind is kind]


def log_of(lines: Sequence[tuple[int, int]], begin: dt.datetime = BEGIN) -> str:
    """Return a log of stages, each done some minutes after the run began."""
    told = [f"{begin + dt.timedelta(minutes=at):%Y-%m-%d %H:%M} stage {n}" for n, at in lines]
    now = begin + dt.timedelta(minutes=max(at for _, at in lines) + 60)
    return "\n".join((*told, f"{now:%Y-%m-%d %H:%M} now")) + "\n"


def told(log: str) -> list[Finding]:
    made, _ = from_log(log, 1, 0)
    found = list(log_out_of_time(made))
    assert all(item.severity is Severity.WARNING for item in found)
    assert len({(item.code, item.source) for item in found}) == len(found)
    return found


@settings(max_examples=examples(8), deadline=None)
@given(st.sets(st.integers(0, 30)), st.integers(0, 400))
def test_whoever_works_by_the_plan_is_told_nothing(left_out: set[int], later: int) -> None:
    midnight = dt.datetime.combine(BEGIN.date(), dt.time())
    ends: dict[int, int] = {}
    for step in days(board()).steps:
        ends[step.stage] = max(ends.get(step.stage, 0), step.end_min)
    last = max(ends)
    lines = [(n, at) for n, at in sorted(ends.items()) if n not in left_out]
    lines = [(n, at + (later if n == last else 0)) for n, at in lines] or [(last, ends[last])]
    assert told(log_of(lines, midnight)) == []


@settings(max_examples=examples(8), deadline=None)
@given(
    st.sampled_from(("mill flush", "sand", "drill", "trim", "finish")),
    st.integers(0, 8 * 60),
    st.integers(0, 1200),
)
@example("mill flush", 180, 240)
@example("sand", 180, 240)
def test_what_is_worked_hours_after_its_pour_is_told(kind: str, after: int, at: int) -> None:
    fill, worked = numbers(StageKind.FILL)[0], numbers(StageKind(kind))[0]
    found = told(log_of([(fill, at), (worked, at + after)]))
    soft = [item for item in found if item.code == "log-worked-soft"]
    assert [item.source.line for item in soft if item.source] == [2]
    assert "allergic" in soft[0].message


@settings(max_examples=examples(4), deadline=None)
@given(st.integers(1, 2), st.integers(0, 1200))
def test_a_finish_a_day_or_two_after_the_last_pour_is_told(later: int, at: int) -> None:
    cap, sand = numbers(StageKind.CAP)[-1], numbers(StageKind.SAND)[-1]
    end = at + later * 1440
    found = told(log_of([(cap, at), (sand, end), (numbers(StageKind.FINISH)[0], end)]))
    assert [
        item.source.line for item in found if item.code == "log-finished-soft" and item.source
    ] == [3]


@settings(max_examples=examples(4), deadline=None)
@given(st.integers(0, 30))
@example(5)
def test_a_fill_on_wet_shellac_is_told(minutes: int) -> None:
    fill = numbers(StageKind.FILL)[0]
    found = told(log_of([(fill - 1, 500), (fill, 500 + minutes)]))
    assert [(item.code, item.source.line) for item in found if item.source] == [("log-too-soon", 2)]
    assert "burns" in found[0].message


def test_what_the_log_does_not_part_is_not_told() -> None:
    assert told(log_of([(numbers(StageKind.SAND)[0], 300)])) == []


@settings(max_examples=examples(4), deadline=None)
@given(st.integers(-4, 40))
def test_the_temperatures_logged_decide(warmth: int) -> None:
    fill, level = numbers(StageKind.FILL)[0], numbers(StageKind.MILL_FLUSH)[0]
    cap = numbers(StageKind.CAP)[0]
    line = f"{BEGIN:%Y-%m-%d %H:%M} {warmth} degC\n"
    hours = 40
    codes = [
        item.code
        for item in told(line + log_of([(fill, 0), (cap, 600), (level, 600 + hours * 60)]))
    ]
    if warmth <= 8:
        assert "log-worked-soft" in codes
    if warmth >= 28:
        assert "log-worked-soft" not in codes


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(-400.0, 400.0, allow_nan=False), st.sampled_from(("degC", "degF")))
@example(68.0, "degC")
@example(-40.0, "degC")
@example(68.0, "degF")
def test_air_that_no_shop_has_is_refused_at_its_line(value: float, unit: str) -> None:
    log = f"2027-03-01 08:00 20 degC\n2027-03-01 09:00 {value:.1f} {unit}\n"
    shown = float(f"{value:.1f}")
    at_c = shown if unit == "degC" else (shown - 32.0) / 1.8
    if -20.0 <= at_c <= 50.0:
        assert len(read_day_log(log, "day.log").readings) == 2
        return
    with pytest.raises(JobRefusedError) as refused:
        read_day_log(log, "day.log")
    (item,) = refused.value.findings
    assert item.code == ("day-log-air-odd" if at_c > -273.15 else item.code)
    assert item.source is not None
    assert item.source.line == 2
    assert item.code != "day-log-air-odd" or "degF" in item.remedy


@settings(max_examples=examples(4), deadline=None)
@given(st.integers(1, 20))
@example(9)
def test_a_fill_past_the_window_of_its_sealer_is_told(later: int) -> None:
    fill = numbers(StageKind.FILL)[0]
    log = read_day_log(log_of([(fill - 1, 500), (fill, 500 + later * 1440)]), "day.log")
    keys = "sealers: [{name: shellac, like: shellac, fill within: 3 days}]\n"
    stages = {"": len(board().plan.stages)}
    progress = progress_of(log, first_day(log), pieces_of(board().job), stages, "day.log")
    wishes = ScheduleOptions(first=first_day(log), progress=progress)
    made = replanned(board(), folder(), text(1, 0), keys, wishes)
    found = [item for item in log_out_of_time(made) if item.code == "log-window-past"]
    assert [item.source.line for item in found if item.source] == ([2] if later > 3 else [])
