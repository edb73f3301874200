"""Segment after segment: as good as all at once, and never sooner than what is said to be least."""

from __future__ import annotations

import datetime as dt
import itertools
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.shop_days import dose_until, minute_of_dose, ready_minute
from flushwork.schedule.solve.decompose import decompose, solve_by_segments
from flushwork.schedule.solve.first_plan import first_plan, plan_rank
from flushwork.schedule.solve.lower_bound import least_end
from flushwork.schedule.solve.solver import Limits, solve
from flushwork.schedule.solve.tasks import (
    Cure,
    CureClock,
    Hold,
    Lag,
    Problem,
    Resource,
    Shift,
    Task,
    passed,
    real_after,
    shown,
)
from tests.schedule.test_solver import CLOSED, DAYS, clocks, holds, runs, with_vapour
from tests.truth.test_hand_worked_days import TWO_PIECES

SPRING = Shift(2 * DAY_MIN + 120, 2 * DAY_MIN + 180, 0)
AUTUMN = Shift(2 * DAY_MIN + 120, 2 * DAY_MIN + 180, 2)


@st.composite
def rounds(draw: st.DrawFn) -> Problem:
    """Return up to three pieces that are cut and filled together, twice, and finished."""
    pieces = draw(st.integers(1, 3))
    tasks: list[Task] = []
    lags: list[Lag] = []
    cures: list[Cure] = []
    kept: list[Hold] = []
    for turn in (1, 2):
        for piece in range(pieces):
            minutes = draw(st.integers(5, 280))
            tasks.append(Task(f"cut {turn} {piece}", minutes, (("hands", 1),)))
            lags.append(Lag(f"cut {turn} {piece}", f"fill {turn}", draw(st.integers(0, 90))))
            kept.append(Hold("machine", f"cut {turn} {piece}", f"cut {turn} {piece}"))
            if turn == 2:
                cures.append(Cure("fill 1", f"cut 2 {piece}", "resin", draw(st.integers(60, 2000))))
        tasks.append(Task(f"fill {turn}", draw(st.integers(5, 60)), (("hands", 1),)))
    for piece in range(pieces):
        tasks.append(Task(f"end {piece}", draw(st.integers(5, 90)), (("hands", 1),)))
        cures.append(Cure("fill 2", f"end {piece}", "resin", draw(st.integers(60, 3000))))
        cures.append(Cure("fill 1", f"end {piece}", "resin", draw(st.integers(60, 9000))))
    return Problem(
        tasks=with_vapour(draw, tasks),
        resources=(Resource("hands", closed=CLOSED), Resource("machine")),
        lags=tuple(lags),
        clocks=(draw(clocks()),),
        cures=tuple(cures),
        holds=tuple(kept),
        finish=tuple(f"end {piece}" for piece in range(pieces)),
        horizon=DAYS * DAY_MIN,
    )


@settings(max_examples=8, deadline=None)
@given(rounds())
def test_segment_after_segment_is_as_good_as_all_at_once(problem: Problem) -> None:
    meetings = [part.meeting for part in decompose(problem)]
    assert [name for name in meetings if name.startswith("fill")] == ["fill 1", "fill 2"]
    found = solve_by_segments(problem, Limits(effort=0.5))
    whole = solve(problem, Limits(effort=0.5, tidy_effort=0.02))
    holds(problem, found.spans, found.missed)
    goal, other = found.goals[-1], whole.goals[-1]
    assert goal.reached == max(found.spans[name][1] for name in problem.finish)
    if goal.proven:
        # the search counts cures in whole steps of a rate, so it may be a minute off
        assert other.reached >= goal.reached - 1
    if other.proven:
        assert goal.bound <= other.reached + 1
        assert goal.reached <= other.reached + 1 or not goal.proven


@settings(max_examples=8, deadline=None)
@given(runs())
def test_no_plan_ends_before_the_least_end(problem: Problem) -> None:
    found = solve(problem, Limits(effort=0.2))
    bound = least_end(problem, windows=not found.missed)
    assert bound <= found.goals[-1].reached + 1
    quick = first_plan(problem)
    assert quick is not None
    if not plan_rank(problem, quick)[0]:
        assert bound <= plan_rank(problem, quick)[1]


def test_a_window_holds_a_segment_together() -> None:
    parts = decompose(TWO_PIECES)
    assert [part.meeting for part in parts] == ["cap", ""]
    assert solve_by_segments(TWO_PIECES).spans == solve(TWO_PIECES).spans
    assert all(goal.proven for goal in solve_by_segments(TWO_PIECES).goals)


def test_a_search_cut_short_tells_its_gap() -> None:
    none = solve(TWO_PIECES, Limits(effort=0.0, tidy_effort=0.0, seconds=0.001))
    assert none.spans
    assert not none.goals[-1].proven


@pytest.mark.parametrize("shift", [SPRING, AUTUMN])
@given(minute=st.integers(0, 5 * DAY_MIN), wait=st.integers(0, 3000))
@settings(max_examples=60, deadline=None)
def test_minutes_passed_are_those_of_a_true_clock(shift: Shift, minute: int, wait: int) -> None:
    day = dt.datetime(2027, 3, 26) if shift is SPRING else dt.datetime(2027, 10, 29)
    zone = ZoneInfo("Europe/Berlin")

    def true(at: float) -> dt.datetime:
        return (day + dt.timedelta(minutes=at)).replace(tzinfo=zone).astimezone(dt.UTC)

    if shift.begin <= minute < shift.until:
        return
    later = real_after((shift,), minute, wait)
    if not shift.begin <= later < shift.until:
        assert true(later) - true(minute) == dt.timedelta(minutes=wait)
    assert passed((shift,), shown((shift,), passed((shift,), minute))) == passed((shift,), minute)


@pytest.mark.parametrize(("shift", "lost_h"), [(SPRING, -0.5), (AUTUMN, 0.5)])
def test_a_cure_over_a_change_of_the_clock_takes_its_time(shift: Shift, lost_h: float) -> None:
    """At half speed by night the hour that is left out, or comes twice, is worth half an hour."""
    day = ((0, 480, 0.5), (480, 1080, 1.0), (1080, DAY_MIN, 0.5))
    plain, true = CureClock("resin", day), CureClock("resin", day, (shift,))
    since, until = DAY_MIN + 600, 2 * DAY_MIN + 600
    more = dose_until(true, until) - dose_until(true, since)
    assert more == pytest.approx(dose_until(plain, until) - dose_until(plain, since) + 60 * lost_h)
    for dose in (60.0, 700.0, 1100.0, 2000.0):
        at = minute_of_dose(true, dose_until(true, since) + dose)
        assert dose_until(true, at) == pytest.approx(dose_until(true, since) + dose, abs=1e-6)


@pytest.mark.parametrize("shift", [SPRING, AUTUMN])
def test_the_solver_and_the_quick_plan_keep_the_true_time(shift: Shift) -> None:
    day = ((0, 480, 0.5), (480, 1080, 1.0), (1080, DAY_MIN, 0.5))
    clock = CureClock("resin", day, (shift,))
    tasks = tuple(Task(name, 30, (("hands", 1),)) for name in ("fill", "cap", "seal", "next"))
    tasks = (replace(tasks[0], earliest=DAY_MIN + 900), *tasks[1:])
    problem = Problem(
        tasks=tasks,
        resources=(Resource("hands", closed=CLOSED),),
        lags=(Lag("fill", "seal"), Lag("seal", "next", 15 * 60)),
        clocks=(clock,),
        cures=(Cure("fill", "cap", "resin", 720.0),),
        horizon=DAYS * DAY_MIN,
        shifts=(shift,),
    )
    for spans in (solve(problem).spans, first_plan(problem), solve_by_segments(problem).spans):
        assert spans is not None
        assert spans["cap"][0] >= ready_minute(clock, spans["fill"][1], 720.0) - 1
        waited = passed((shift,), spans["next"][0]) - passed((shift,), spans["seal"][1])
        assert waited >= 15 * 60
        busy = sorted(spans.values())
        assert all(one[1] <= two[0] for one, two in itertools.pairwise(busy))
