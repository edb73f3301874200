"""The grassfire over a medial axis against a plain walk over trees."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from flushwork.kernels.medial import prominence_mm

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def furthest(points: Floats, edges: Ints, edge: int, beyond: int) -> float:
    """Return how far the discs beyond one end of an edge of a tree reach, from its other end."""
    a, b = (int(row) for row in edges[edge])
    root = a if beyond == b else b
    best = 0.0
    waiting = [(beyond, root, math.dist(points[beyond, :2], points[root, :2]))]
    while waiting:
        node, parent, away = waiting.pop()
        others = [
            int(p if q == node else q) for p, q in edges if node in (p, q) and parent not in (p, q)
        ]
        if not others:
            best = max(best, away + points[node, 2])
        waiting += [
            (other, node, away + math.dist(points[other, :2], points[node, :2])) for other in others
        ]
    return float(best - points[root, 2])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 10), st.floats(0, 10), st.floats(0, 1), st.integers(0, 50)),
        min_size=3,
        max_size=14,
    )
)
def test_a_branch_is_worth_what_it_reaches_beyond(
    rows: list[tuple[float, float, float, int]],
) -> None:
    points = np.array([row[:3] for row in rows])
    edges = np.array([(k, row[3] % k) for k, row in enumerate(rows) if k], dtype=np.int64)
    for k, parent in edges.tolist():
        # along an axis the radius changes by no more than the way, or one disc holds the other
        way = math.dist(points[k, :2], points[parent, :2])
        least, most = points[parent, 2] - way, points[parent, 2] + way
        points[k, 2] = min(max(points[k, 2], least, 0.0), most)
    got = prominence_mm(points, edges)
    for k, (a, b) in enumerate(edges.tolist()):
        sides = (furthest(points, edges, k, b), furthest(points, edges, k, a))
        assert min(abs(got[k] - side) for side in sides) < 1e-9


def test_a_loop_never_burns_and_its_tail_does() -> None:
    points = np.array([(0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1), (3, 0, 0.5)], dtype=np.float64)
    edges = np.array([(0, 1), (1, 2), (2, 3), (3, 0), (1, 4)], dtype=np.int64)
    got = prominence_mm(points, edges)
    assert np.isinf(got[:4]).all()
    assert got[4] == pytest.approx(0.5 + 2.0 - 1.0)
