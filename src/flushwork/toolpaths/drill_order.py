"""The order in which holes are drilled: the shortest way through them that can be found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from flushwork.kernels.tour import greedy_tour, near_neighbours, shorten

Point = tuple[float, float]

NEIGHBOURS: Final = 10
"""Near neighbours tried for each hole (``design/drilling_restarts.py``)."""

RESTARTS_PER_HOLE: Final = 60
LEAST_RESTARTS: Final = 10_000
MOST_RESTARTS: Final = 30_000
"""Local restarts: they bring four published drilling problems of 198 to 1,060 holes within 0.5 % of
their proven optimum in 0.7 s (``design/drilling_restarts.py``)."""

_EXACT_UP_TO: Final = 8


def drilling_order(
    points: Sequence[Point], start: Point, restarts: int | None = None
) -> tuple[int, ...]:
    """Return the numbers of ``points`` in the order of a short open path from ``start``.

    Places are in mm.  Exact up to eight points, beyond that local search with ``restarts`` tries
    (by default 60 for each hole, from 10,000 to 30,000).  Equal arguments give equal orders.
    Raises ``ValueError`` where a place is not a finite number.
    """
    if not all(math.isfinite(value) for point in (*points, start) for value in point):
        raise ValueError("a hole's place is not a finite number")
    if len(points) <= _EXACT_UP_TO:
        return _exact(points, start)
    places = np.array([start, *points], dtype=np.float64)
    near = near_neighbours(places, min(NEIGHBOURS, len(points)))
    usual = min(max(LEAST_RESTARTS, RESTARTS_PER_HOLE * len(points)), MOST_RESTARTS)
    tries = usual if restarts is None else restarts
    tour = shorten(places, near, greedy_tour(places, open_ended=True), tries)
    return _unrolled([int(point) for point in tour])


def path_length_mm(points: Sequence[Point], start: Point, order: Sequence[int]) -> float:
    """Return the length of the path from ``start`` through ``points`` in that order, in mm."""
    way = [start, *(points[number] for number in order)]
    return sum(math.dist(a, b) for a, b in pairwise(way))


def _unrolled(tour: list[int]) -> tuple[int, ...]:
    """Return the closed tour as the path that begins at point 0, the stand-in for its end gone."""
    at = tour.index(0)
    turned = tour[at:] + tour[:at]
    if turned[-1] != len(tour) - 1:
        turned = [turned[0], *reversed(turned[1:])]
    return tuple(point - 1 for point in turned[1:-1])


def _exact(points: Sequence[Point], start: Point) -> tuple[int, ...]:
    """Return the shortest path by dynamic programming over the sets of holes done.

    Source: M. Held, R. M. Karp, A Dynamic Programming Approach to Sequencing Problems, Journal of
    the SIAM 10 (1962).
    """
    count = len(points)
    if count == 0:
        return ()
    best: dict[tuple[int, int], tuple[float, tuple[int, ...]]] = {
        (1 << i, i): (math.dist(start, points[i]), (i,)) for i in range(count)
    }
    for done in range(1, 1 << count):
        for last in range(count):
            if (done, last) not in best:
                continue
            length, path = best[(done, last)]
            for following in range(count):
                if done & (1 << following):
                    continue
                key = (done | (1 << following), following)
                longer = length + math.dist(points[last], points[following])
                if key not in best or longer < best[key][0]:
                    best[key] = (longer, (*path, following))
    everything = (1 << count) - 1
    return min(best[(everything, last)] for last in range(count))[1]
