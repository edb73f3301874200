"""The scheduler on problems of chance: every plan it gives holds, and the quick plan too."""

from __future__ import annotations

import itertools
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.shop_days import dose_until, last_minute, minute_of_dose, ready_minute
from flushwork.schedule.solve.first_plan import first_plan, plan_rank
from flushwork.schedule.solve.solver import Limits, solve
from flushwork.schedule.solve.tasks import Cure, CureClock, Hold, Lag, Problem, Resource, Span, Task

OPENS, CLOSES = 480, 1080
DAYS = 40
CLOSED = (
    (0, OPENS),
    *((day * DAY_MIN + CLOSES, (day + 1) * DAY_MIN + OPENS) for day in range(DAYS)),
)
RATES = st.sampled_from([0.25, 0.5, 1.0, 2.0])


@st.composite
def clocks(draw: st.DrawFn) -> CureClock:
    edges = [0, draw(st.integers(1, 11)) * 60, draw(st.integers(12, 23)) * 60, DAY_MIN]
    return CureClock(
        "resin", tuple((one, two, draw(RATES)) for one, two in itertools.pairwise(edges))
    )


def with_vapour(draw: st.DrawFn, tasks: list[Task]) -> tuple[Task, ...]:
    """Return tasks of which some let something linger, and some keep clear of that."""
    return tuple(
        replace(
            task,
            lingers_min=draw(st.sampled_from((0, 0, 30, 200))),
            keeps_clear=draw(st.booleans()),
        )
        for task in tasks
    )


@st.composite
def runs(draw: st.DrawFn) -> Problem:
    """Return two pieces that are cut, poured together, capped and milled flush."""
    minutes = {name: draw(st.integers(5, 200)) for name in ("cut", "fill", "cap", "level")}
    least = draw(st.integers(60, 600))
    tasks = [
        Task(f"{name} {piece}", minutes[name], (("hands", 1),))
        for name in ("cut", "level")
        for piece in (1, 2)
    ]
    tasks += [Task(name, minutes[name], (("hands", 1),)) for name in ("fill", "cap")]
    capping = Cure(
        "fill",
        "cap",
        "resin",
        least,
        least + draw(st.integers(10, 900)),
        "resin",
        missed_least=1440.0,
        missed_minutes=draw(st.integers(1, 60)),
    )
    return Problem(
        tasks=with_vapour(draw, tasks),
        resources=(Resource("hands", closed=CLOSED), Resource("machine")),
        lags=tuple(Lag(f"cut {piece}", "fill") for piece in (1, 2)),
        clocks=(draw(clocks()),),
        cures=(capping, *(Cure("cap", f"level {piece}", "resin", 900.0) for piece in (1, 2))),
        holds=tuple(
            Hold("machine", f"{name} {piece}", f"{name} {piece}")
            for name in ("cut", "level")
            for piece in (1, 2)
        ),
        horizon=DAYS * DAY_MIN,
    )


def holds(problem: Problem, spans: dict[str, Span], missed: tuple[Cure, ...]) -> None:
    """Assert that a plan keeps everything it has to, to the minute that rates are rounded by."""
    (clock,) = problem.clocks
    busy = sorted([*spans.values(), *CLOSED])
    assert all(one[1] <= two[0] for one, two in itertools.pairwise(busy))
    for lag in problem.lags:
        assert spans[lag.after][0] >= spans[lag.before][1] + lag.least
    for cure in problem.cures:
        since = spans[cure.before][1]
        least = cure.missed_least if cure in missed else cure.least
        assert least is not None
        assert spans[cure.after][0] >= ready_minute(clock, since, least) - 1
        if cure.greatest is not None and cure not in missed:
            assert spans[cure.after][1] <= last_minute(clock, since, cure.greatest) + 1
    for task in problem.tasks:
        keyed = sum(cure.missed_minutes for cure in missed if cure.after == task.name)
        begin, end = spans[task.name]
        assert end - begin == task.minutes + keyed
        for other in problem.tasks:
            if task.lingers_min and other.keeps_clear and other is not task:
                after, until = spans[other.name]
                assert until <= begin or after >= end + task.lingers_min


@settings(max_examples=20, deadline=None)
@given(runs())
def test_every_plan_holds_and_is_no_worse_than_the_quick_one(problem: Problem) -> None:
    quick = first_plan(problem)
    solution = solve(problem, Limits(effort=0.5))
    assert quick is not None
    assert solution.spans
    holds(problem, solution.spans, solution.missed)
    assert plan_rank(problem, solution.spans) <= plan_rank(problem, quick)
    finish = next(goal for goal in solution.goals if goal.name == "finish")
    assert finish.reached == max(end for _, end in solution.spans.values())
    assert finish.bound <= finish.reached


@settings(max_examples=100, deadline=None)
@given(clocks(), st.floats(0, 5 * DAY_MIN), st.floats(0.01, 5000))
def test_a_dose_is_reached_when_it_has_run(clock: CureClock, since: float, dose: float) -> None:
    reached = minute_of_dose(clock, dose_until(clock, since) + dose)
    assert abs(dose_until(clock, reached) - dose_until(clock, since) - dose) < 1e-6
    assert reached >= since


def test_a_tool_that_two_want_at_once_is_shared_by_its_number() -> None:
    tasks = tuple(Task(str(number), 10, (("places", 2),)) for number in range(4))
    for capacity, finish in ((2, 40), (4, 20), (8, 10)):
        problem = Problem(tasks, (Resource("places", capacity),), horizon=100)
        assert solve(problem).finish == finish


def test_a_task_of_the_past_stays_where_it_was() -> None:
    tasks = (
        Task("done", 10, (("hands", 1),), start=5),
        Task("next", 10, (("hands", 1),), earliest=2),
    )
    problem = Problem(tasks, (Resource("hands"),), (Lag("done", "next", 7),), horizon=100)
    assert solve(problem).spans == {"done": (5, 15), "next": (22, 32)}
