"""The drilling order: every hole once, short, the same every time."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.kernels.tour import greedy_tour, near_neighbours, separation, shorten
from flushwork.toolpaths.drill import drilling_order
from tests.toolpaths.way_through import path_length_mm

Point = tuple[float, float]


def scattered(count: int, seed: int = 3) -> list[Point]:
    dice = random.Random(seed)  # noqa: S311 - places of holes, no secret
    return [(200.0 * dice.random(), 120.0 * dice.random()) for _ in range(count)]


@pytest.mark.parametrize("count", [0, 1, 2, 3, 7, 8, 9, 10, 12, 40])
def test_every_hole_once(count: int) -> None:
    order = drilling_order(scattered(count), (0.0, 0.0), restarts=200)
    assert sorted(order) == list(range(count))


@pytest.mark.parametrize("count", [1, 2, 3, 5, 6])
def test_few_holes_are_in_the_best_order(count: int) -> None:
    points, start = scattered(count), (10.0, 5.0)
    best = min(
        path_length_mm(points, start, order) for order in itertools.permutations(range(count))
    )
    assert path_length_mm(points, start, drilling_order(points, start)) == pytest.approx(best)


def test_search_meets_the_exact_way_where_both_can_be_had() -> None:
    """Nine holes by search: no better order among all that end the exact eight-hole ways."""
    for seed in range(2):
        points, start = scattered(9, seed), (0.0, 0.0)
        found = path_length_mm(points, start, drilling_order(points, start, restarts=500))
        best = math.inf
        for last in range(9):
            rest = [point for number, point in enumerate(points) if number != last]
            for before in range(8):
                best = min(
                    best, _ending(rest, start, before) + math.dist(rest[before], points[last])
                )
        assert found == pytest.approx(best)


def _ending(points: list[Point], start: Point, last: int) -> float:
    """Return the length of the shortest path that ends at ``last``, by trying all sets."""
    count = len(points)
    best = {(1 << k, k): math.dist(start, points[k]) for k in range(count)}
    for done in range(1, 1 << count):
        for at in range(count):
            if (done, at) in best:
                for to in range(count):
                    if not done & (1 << to):
                        key = (done | 1 << to, to)
                        reach = best[(done, at)] + math.dist(points[at], points[to])
                        best[key] = min(best.get(key, math.inf), reach)
    return best[((1 << count) - 1, last)]


def test_a_row_is_drilled_along_the_row() -> None:
    points = [(float(x), 0.0) for x in (7, 3, 11, 1, 9, 5, 2, 8, 4, 10, 6)]
    order = drilling_order(points, (0.0, 0.0))
    assert [points[number][0] for number in order] == [float(x) for x in range(1, 12)]


def test_equal_places_and_equal_questions() -> None:
    points = [(5.0, 5.0)] * 30 + [(50.0, 5.0)] * 30
    order = drilling_order(points, (0.0, 0.0), restarts=500)
    assert path_length_mm(points, (0.0, 0.0), order) == pytest.approx(math.hypot(5, 5) + 45.0)
    assert order == drilling_order(points, (0.0, 0.0), restarts=500)


def test_a_thousand_holes() -> None:
    points = scattered(1000)
    order = drilling_order(points, (0.0, 0.0), restarts=5000)
    assert sorted(order) == list(range(1000))
    # a long random tour has about 0.7124 sqrt(n A): Beardwood, Halton, Hammersley (1959); the
    # constant by Johnson, McGeoch, Rothberg (1996), boundary adding some percent
    assert path_length_mm(points, (0.0, 0.0), order) < 1.07 * 0.7124 * math.sqrt(1000 * 200 * 120)


def test_a_place_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        drilling_order([(math.nan, 0.0)], (0.0, 0.0))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=8, max_size=60),
    st.booleans(),
)
def test_a_tour_stays_a_tour_and_gets_no_longer(
    points: list[tuple[int, int]], open_ended: bool
) -> None:
    places = np.array(points, dtype=np.float64)
    first = greedy_tour(places, open_ended)
    tour = shorten(places, near_neighbours(places, 6), first, 300)
    count = len(points) + (1 if open_ended else 0)
    assert sorted(tour.tolist()) == list(range(count))

    def length(way: list[int]) -> float:
        return sum(separation(places, way[k - 1], way[k]) for k in range(count))

    assert length(tour.tolist()) <= length(first.tolist()) + 1e-6


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=5, max_size=30))
def test_near_neighbours_against_sorting(points: list[tuple[int, int]]) -> None:
    places = np.array(points, dtype=np.float64)
    near = near_neighbours(places, 4)
    for i, row in enumerate(near):
        gaps = np.hypot(*(places - places[i]).T)
        others = sorted(gap for j, gap in enumerate(gaps) if j != i)
        assert [gaps[j] for j in row] == pytest.approx(others[:4])
        assert i not in row
