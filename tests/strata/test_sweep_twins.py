"""Each kernel against a plain numpy twin that tries many positions along the move."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from flushwork.kernels.shaped_sweep import (
    BALL,
    CONE,
    HOLLOW,
    bin_segments,
    settle,
    sweep_shaped,
)
from flushwork.kernels.sweep import half_plane_share, local_run, row_span, sweep_flat
from tests.many import examples
from tests.strata.hand_made import Point3

CELLS = 48
CELL = 0.1
FLOOR = np.zeros((CELLS, CELLS), np.float32)
LIVE = (CELLS, CELLS)
ALONE = np.zeros(1, np.bool_)

inside = st.floats(0.5, 4.3)
points = st.tuples(inside, inside, st.floats(-2.5, 0.5))


def centres(count: int, step: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    at = (np.arange(count) + 0.5) * step
    return np.meshgrid(at, at)


def reports(count: int) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    return np.zeros(count), np.zeros(count), np.full(count, -1, np.int64)


def positions(segment: NDArray[np.float64], count: int = 4001) -> NDArray[np.float64]:
    share = np.linspace(0.0, 1.0, count)[:, None]
    return segment[:3] * (1.0 - share) + segment[3:] * share


def lowest_flat(segment: NDArray[np.float64], radius: float) -> NDArray[np.float64]:
    x, y = centres(CELLS, CELL)
    low = np.full(x.shape, math.inf)
    for px, py, pz in positions(segment, 801):
        low = np.where((x - px) ** 2 + (y - py) ** 2 <= radius**2, np.minimum(low, pz), low)
    return low


@settings(max_examples=15, deadline=None)
@given(start=points, end=points)
def test_flat_sweep_of_covered_cells(start: Point3, end: Point3) -> None:
    radius = 0.8
    segment = np.array([*start, *end])
    base = np.zeros((1, CELLS, CELLS), np.float32)
    work = base.copy()
    removed, bite, cell = reports(1)
    sweep_flat(
        base, work, FLOOR, False, segment[None], ALONE, np.array([0]), radius, CELL, (0.0, 0.0),
        LIVE, removed, bite, cell,
    )  # fmt: skip
    whole = lowest_flat(segment, radius - 0.75 * CELL) < math.inf
    low = np.minimum(lowest_flat(segment, radius), 0.0)
    drop = abs(end[2] - start[2])
    length = max(math.dist(start[:2], end[:2]), 0.02)
    slack = 1e-5 + drop * (0.02 + 0.05 / length) * (length < 0.1) + drop / 400
    assert np.all(np.abs(work[0] - low)[whole] <= slack)
    outside = lowest_flat(segment, radius + 0.75 * CELL) == math.inf
    assert np.all(work[0][outside] == 0.0)
    assert removed[0] == pytest.approx(-float(work.sum(dtype=np.float64)) * CELL**2, rel=1e-5)
    assert bite[0] == pytest.approx(-float(work.min()), abs=1e-5)


def profile(kind: str, distance: NDArray[np.float64]) -> NDArray[np.float64]:
    radius, tip, steep = 0.9, 0.1, 1.0 / math.tan(math.radians(22.5))
    if kind == "ball":
        height = radius - np.sqrt(np.maximum(0.0, radius**2 - distance**2))
    elif kind == "round-over":
        off = np.clip(distance - tip, 0.0, ROUND)
        height = np.sqrt(np.maximum(0.0, ROUND**2 - (ROUND - off) ** 2))
    else:
        height = np.maximum(0.0, distance - tip) * steep
    return np.where(distance <= radius, height, math.inf)


ROUND = 0.8
PROFILES = {
    "ball": (BALL, 0.9, 0.0, 1.0),
    "V-bit": (CONE, 0.9, 0.1, 1.0 / math.tan(math.radians(22.5))),
    "round-over": (HOLLOW, 0.9, 0.1, ROUND),
}


@pytest.mark.parametrize("kind", PROFILES)
@settings(max_examples=12, deadline=None)
@given(start=points, end=points)
@example(start=(1.0, 1.0, -0.8), end=(4.0, 2.5, -1.0))
@example(start=(4.0, 1.0, -1.2), end=(0.8, 1.3, -0.7))
def test_shaped_sweep(kind: str, start: Point3, end: Point3) -> None:
    segment = np.array([*start, *end])
    fine = np.zeros((CELLS, CELLS), np.float32)
    removed, bite, cell = reports(1)
    sweep_shaped(
        PROFILES[kind], fine, FLOOR, False, segment[None], ALONE, np.array([0]), CELL, 1,
        (0.0, 0.0), LIVE, 0.0, removed, bite, cell,
    )  # fmt: skip
    x, y = centres(CELLS, CELL)
    low = np.zeros(x.shape)
    for px, py, pz in positions(segment, 1601):
        low = np.minimum(low, pz + profile(kind, np.hypot(x - px, y - py)))
    # the twin's positions lie a little apart; at the rim a sample may fall either side
    # a hollow flank has more than one low place on a sloping run; the twin may find a lower one
    assert np.all(fine <= low + (0.01 if kind == "round-over" else 1e-5))
    rough = np.abs(fine - low) > 0.02
    assert np.count_nonzero(rough) <= 0.01 * rough.size
    assert removed[0] == pytest.approx(-float(fine.sum(dtype=np.float64)) * CELL**2, rel=1e-5)


places = st.tuples(st.integers(500, 4300), st.integers(500, 4300), st.integers(-2500, 500))
little = st.integers(-12, 12) | st.integers(-400, 400)
ways = st.lists(places, min_size=3, max_size=9)
walks = st.tuples(places, st.lists(st.tuples(little, little, little), min_size=2, max_size=8)).map(
    lambda told: [tuple(int(k) for k in at) for at in np.cumsum([told[0], *told[1]], axis=0)]
)
"""Ways across the tile, and walks whose steps are smaller than a cell, in thousandths of a mm."""


def reached_from_both_sides(points: NDArray[np.float64], radius: float) -> NDArray[np.bool_]:
    """Return the cells at a bit's edge, (n, n), that two runs come to from opposite ways."""
    x, y = centres(CELLS, CELL)
    ways_in: list[tuple[NDArray[np.bool_], NDArray[np.float64], NDArray[np.float64]]] = []
    both = np.zeros(x.shape, np.bool_)
    for (ax, ay), (bx, by) in pairwise(points[:, :2]):
        square = (bx - ax) ** 2 + (by - ay) ** 2
        along = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / max(square, 1e-18)
        along = np.clip(along, 0.0, 1.0)
        dx, dy = x - ax - along * (bx - ax), y - ay - along * (by - ay)
        away = np.maximum(np.hypot(dx, dy), 1e-12)
        here = np.abs(away - radius) <= 0.72 * CELL, dx / away, dy / away
        for edge, ux, uy in ways_in:
            both |= edge & here[0] & (ux * here[1] + uy * here[2] < -0.49)
        ways_in.append(here)
    return both


@settings(max_examples=examples(80), deadline=None)
@given(ways | walks, st.booleans(), st.booleans())
@example([(500, 500, 0), (501, 582, -37), (500, 584, 47)], False, True)
@example([(1452, 949, -98), (1454, 950, -2432), (1455, 951, 195)], False, True)
@example([(3047, 1829, -1000), (3059, 1841, -1000), (3042, 1833, -1000)], True, False)
@example([(1724, 1902, 0), (1718, 1898, 0), (1725, 1917, 0), (1718, 1921, 0)], True, True)
def test_joined_runs_cut_what_each_alone_would(
    places: list[tuple[int, int, int]], level: bool, flat: bool
) -> None:
    """Handing edge cells over to the next run changes no height and loses no volume."""
    points = np.array(places, np.float64) / 1000.0
    points[:, :2] = np.clip(points[:, :2], 0.5, 4.3)
    points[:, 2] = np.where(level, -1.0, points[:, 2])
    moves = np.hstack([points[:-1], points[1:]])
    picks = np.arange(len(moves))
    standing = np.all(points[:-1, :2] == points[1:, :2], axis=1)
    results = []
    for handed in (False, True):
        joined = np.zeros(len(moves), np.bool_)
        joined[:-1] = handed & ~standing[:-1] & ~standing[1:]
        removed, bite, cell = reports(len(moves))
        if flat:
            base = np.zeros((1, CELLS, CELLS), np.float32)
            work = base.copy()
            sweep_flat(
                base, work, FLOOR, False, moves, joined, picks, 0.8, CELL, (0.0, 0.0), LIVE,
                removed, bite, cell,
            )  # fmt: skip
            after = work[0]
        else:
            after = np.zeros((CELLS, CELLS), np.float32)
            shape = PROFILES["V-bit"]
            sweep_shaped(
                shape, after, FLOOR, False, moves, joined, picks, CELL, 1, (0.0, 0.0), LIVE, 0.0,
                removed, bite, cell,
            )  # fmt: skip
        assert removed.sum() == pytest.approx(-after.sum(dtype=np.float64) * CELL**2, abs=1e-4)
        results.append(after)
    apart = np.abs(results[0] - results[1])
    if not flat:
        assert apart.max() <= 1e-4
        return
    # at an edge reached from both sides the order of the runs counts; never elsewhere, but for the
    # sagitta that a round end takes off
    both = reached_from_both_sides(points, 0.8)
    assert apart[~both].max() <= 0.003
    assert np.count_nonzero(apart > 0.003) <= 0.02 * apart.size
    assert apart.sum() <= 0.005 * max(1.0, -float(results[0].sum()))


def test_settled_cells_are_means_of_their_samples() -> None:
    random = np.random.default_rng(3)
    fine = random.uniform(-1.0, 0.0, (8, 8)).astype(np.float32)
    base = np.stack([np.full((2, 2), -0.7), np.full((2, 2), -0.2)]).astype(np.float32)
    done = settle(base, fine, 4, (2, 2), -1e5)
    for layer, level in enumerate((-0.7, -0.2)):
        twin = np.minimum(fine, level).reshape(2, 4, 2, 4).mean(axis=(1, 3))
        np.testing.assert_allclose(done[layer], twin, atol=1e-6)


@settings(max_examples=40, deadline=None)
@given(inside_by=st.floats(-0.9, 0.9), angle=st.floats(-math.pi, math.pi))
def test_share_of_a_square_beside_a_line(inside_by: float, angle: float) -> None:
    x, y = centres(400, 1.0 / 400)
    nx, ny = math.cos(angle), math.sin(angle)
    covered = float(np.mean((x - 0.5) * nx + (y - 0.5) * ny <= inside_by))
    assert half_plane_share(inside_by, nx, ny) == pytest.approx(covered, abs=4e-3)


@settings(max_examples=40, deadline=None)
@given(x0=inside, y0=inside, x1=inside, y1=inside, y=st.floats(0.0, 5.0))
def test_span_of_a_row(x0: float, y0: float, x1: float, y1: float, y: float) -> None:
    segment = np.array([x0, y0, 0.0, x1, y1, 0.0])
    low, high = row_span(local_run(segment, (0.0, 0.0)), y, 0.7)
    x = np.linspace(-2.0, 8.0, 2001)
    at = positions(segment, 801)
    near = (np.hypot(x[:, None] - at[:, 0], y - at[:, 1]) <= 0.7).any(axis=1)
    if near.any():
        assert low == pytest.approx(x[near].min(), abs=0.02)
        assert high == pytest.approx(x[near].max(), abs=0.02)
    elif low <= high:
        assert high - low < 0.3


@settings(max_examples=25, deadline=None)
@given(
    ends=st.lists(st.tuples(st.floats(-5, 45), st.floats(-5, 45)), min_size=2, max_size=12),
    radius=st.floats(0.1, 6.0),
)
def test_bins_miss_no_tile(ends: list[tuple[float, float]], radius: float) -> None:
    table = np.array([(*a, -1.0, *b, -1.0) for a, b in pairwise(ends)])
    tops = np.zeros((4, 4), np.float32)
    tops[2, 1] = -1.0
    starts, picks = bin_segments(table, tops, radius, 10.0)
    for row in range(4):
        for column in range(4):
            tile = row * 4 + column
            held = picks[starts[tile] : starts[tile + 1]]
            assert list(held) == sorted(set(held))
            if (row, column) == (2, 1):
                assert held.size == 0
                continue
            for number, segment in enumerate(table):
                at = positions(segment, 201)
                dx = np.maximum(np.abs(at[:, 0] - (column * 10 + 5)) - 5.0, 0.0)
                dy = np.maximum(np.abs(at[:, 1] - (row * 10 + 5)) - 5.0, 0.0)
                if np.hypot(dx, dy).min() < radius - 1e-6:
                    assert number in held
