"""Bits left in the machine: the fewest changes, against every order there is."""

from __future__ import annotations

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.schedule.bit_changes import changes, least_changes, setups_of
from flushwork.schedule.solve.solver import Limits, solve
from flushwork.schedule.solve.tasks import Hold, Lag, Problem, Resource, Task

tools = st.lists(st.sampled_from("abc"), min_size=1, max_size=3).map(tuple)


def shop(taken: list[tuple[str, ...]], lags: tuple[Lag, ...] = ()) -> Problem:
    """Return setups of ten minutes each on one machine."""
    names = [str(number) for number in range(len(taken))]
    return Problem(
        tasks=tuple(
            Task(name, 10, (("hands", 1),), tools=bits)
            for name, bits in zip(names, taken, strict=True)
        ),
        resources=(Resource("hands"), Resource("machine")),
        lags=lags,
        holds=tuple(Hold("machine", name, name) for name in names),
        horizon=1000,
    )


def fewest(problem: Problem) -> int:
    """Return the fewest changes of all orders that keep the lags."""
    mounted = setups_of(problem)
    names = [task.name for task in problem.tasks]
    found = []
    for row in itertools.permutations(names):
        if all(row.index(lag.before) < row.index(lag.after) for lag in problem.lags):
            spans = {name: (10 * place, 10 * place + 10) for place, name in enumerate(row)}
            found.append(changes(mounted, spans))
    return min(found)


@settings(max_examples=40, deadline=None)
@given(st.lists(tools, min_size=2, max_size=5), st.booleans())
def test_no_order_changes_bits_less_often_than_is_said(
    taken: list[tuple[str, ...]], ordered: bool
) -> None:
    problem = shop(taken, (Lag("0", "1"),) if ordered else ())
    assert least_changes(setups_of(problem), problem.befores()) <= fewest(problem)


@settings(max_examples=6, deadline=None)
@given(st.lists(tools, min_size=3, max_size=5))
def test_the_search_finds_the_fewest_at_the_soonest_finish(taken: list[tuple[str, ...]]) -> None:
    problem = shop(taken)
    found = solve(problem, Limits(effort=0.5, tidy_effort=0.5))
    assert found.finish == 10 * len(taken)
    assert changes(setups_of(problem), found.spans) == fewest(problem)


def test_a_setup_of_several_stages_is_one_row_of_bits() -> None:
    problem = Problem(
        tasks=(
            Task("level", 10, (("hands", 1),), tools=("facing",)),
            Task("sand", 10, (("hands", 1),)),
            Task("cut", 10, (("hands", 1),), tools=("fine", "finer")),
        ),
        resources=(Resource("hands"), Resource("machine")),
        lags=(Lag("level", "sand"), Lag("sand", "cut")),
        holds=(Hold("machine", "level", "cut"),),
        horizon=100,
    )
    (mounted,) = setups_of(problem)
    assert mounted.tools == ("facing", "fine", "finer")
    assert least_changes((mounted,), problem.befores()) == 3
