"""Long runs: the quick plan looks at few tasks each time, and plans what it planned before."""

from __future__ import annotations

import functools
import tempfile
from dataclasses import replace
from heapq import heappop, heappush
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.schedule.run import parts_of, pieces_of
from flushwork.schedule.run_problem import RunProblem, schedule_options_of
from flushwork.schedule.several_parts import PartWork
from flushwork.schedule.shop_days import shop_days
from flushwork.schedule.solve import first_plan, waiting_rows
from flushwork.schedule.solve.tasks import Problem
from tests.many import examples
from tests.schedule.replanned import replanned
from tests.small_jobs import PLAIN, made

COASTER = """\
flushwork: 2
title: Coaster
cell: 0.4 mm
blank: {wood: black walnut, length: 125 mm, width: 125 mm, thickness: 12 mm}
trim line: {circle: 100 mm}
mixes: {ivory: {resin: coating epoxy, pigments: [ivory powder]}}
front:
  inlays: [{name: disc, circle: 40 mm, depth: 2 mm, fill: ivory}]
"""


@functools.cache
def folder() -> Path:
    return Path(tempfile.mkdtemp())


@functools.cache
def board(text: str) -> Build:
    return made(folder(), text)


def problem(text: str, more: str, shop: str) -> Problem:
    result = replanned(board(text), folder(), text + more, shop)
    job = result.job
    days = shop_days(job.shop)
    parts = parts_of(job, result.plan, result.staged_files, result.pours, days.open_min)
    run = RunProblem(
        (PartWork(job, result.plan, {}),), days, pieces_of(job), parts, schedule_options_of(job)
    )
    return run.problem()


@settings(max_examples=examples(6), deadline=None)
@given(
    st.integers(1, 12), st.integers(0, 1), st.integers(2, 12), st.integers(1, 90),
    st.integers(14, 20), st.booleans(),
)  # fmt: skip
@example(9, 1, 3, 45, 16, True)
def test_rows_of_tasks_plan_what_looking_at_each_plans(
    pieces: int, tests: int, places: int, sand: int, closes: int, finish: bool
) -> None:
    text = PLAIN.replace("title: Plain lid", "title: Plain lid\ncell: 0.4 mm")
    more = f"pieces: {pieces}\n" + (f"test pieces: {tests}\n" if tests else "")
    more += "finish: {name: wiping varnish, coats: 2}\n" if finish else ""
    shop = f"hand times: {{sand: {sand} min}}\ncure places: {places}\n"
    shop += f"hours: {{opens: 8:00, closes: {closes}:00}}\n"
    asked = problem(text, more, shop)
    few = first_plan.FEW
    try:
        first_plan.FEW = len(asked.tasks)
        each = first_plan.first_plan(asked)
        first_plan.FEW = 0
        rows = first_plan.first_plan(asked)
    finally:
        first_plan.FEW = few
    assert rows == each


def test_work_grows_far_slower_than_the_square_of_the_pieces(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    looked = 0

    def counted(row: list[Any], item: Any = None) -> Any:
        nonlocal looked
        looked += 1
        return heappop(row) if item is None else heappush(row, item)

    monkeypatch.setattr(waiting_rows, "heappop", counted)
    monkeypatch.setattr(waiting_rows, "heappush", counted)
    counts = []
    for pieces in (40, 160):
        asked = problem(COASTER, f"pieces: {pieces}\n", "")
        looked = 0
        assert first_plan.first_plan(asked) is not None
        counts.append(looked / len(asked.tasks))
    # four times the pieces: looking at each task each time would come to four times as much
    assert counts[1] < 3.0 * counts[0]


def test_a_long_run_has_its_days_and_its_gap() -> None:
    result = replanned(board(COASTER), folder(), COASTER + "pieces: 120\n", "")
    schedule = result.schedule
    assert schedule is not None
    assert schedule.hindrance is None
    goal = next(goal for goal in schedule.goals if goal.name == "finish")
    assert 0 < goal.bound <= goal.reached
    assert schedule.proven or "at most" in schedule.status()
    assert replace(schedule, goals=()).status() == "no plan was found"
