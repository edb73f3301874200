"""Drilling order against proven optima (data and sources in ``data/tsplib.md``)."""

from __future__ import annotations

import csv
from pathlib import Path
from time import process_time

import numpy as np
import pytest
from numpy.typing import NDArray

from flushwork.kernels.tour import greedy_tour, near_neighbours, shorten
from flushwork.toolpaths.drill import NEIGHBOURS

DATA = Path(__file__).parent / "data"
OPTIMA = {"d198": 15780, "pcb442": 50778, "d493": 35002, "u1060": 224094}
STEPS = (50.039938, 49.964968)
"""The grid that u1060 is drilled on; its places are kept as columns and rows."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def places(name: str) -> Floats:
    with (DATA / f"tsplib_{name}.csv").open(encoding="ascii", newline="") as file:
        rows = list(csv.DictReader(file))
    if "column" in rows[0]:
        return np.array([[int(row["column"]), int(row["row"])] for row in rows]) * STEPS
    return np.array([[float(row["x"]), float(row["y"])] for row in rows])


def euc_2d(points: Floats, tour: Ints) -> int:
    way = points[tour] - points[np.roll(tour, 1)]
    return int(np.floor(np.hypot(way[:, 0], way[:, 1]) + 0.5).sum())


def tour_through(points: Floats, restarts: int) -> Ints:
    near = near_neighbours(points, NEIGHBOURS)
    return shorten(points, near, greedy_tour(points, False), restarts)


def test_coordinates_and_rule() -> None:
    assert euc_2d(places("pcb442"), np.arange(442)) == 221440
    assert len(places("d493")) == 493
    assert len({(x, y) for x, y in places("u1060").tolist()}) == 1060
    with (DATA / "tsplib_d198.csv").open(encoding="ascii", newline="") as file:
        position = [int(row["optimal_tour_position"]) for row in csv.DictReader(file)]
    assert euc_2d(places("d198"), np.argsort(position)) == OPTIMA["d198"]


@pytest.mark.parametrize("name", OPTIMA)
def test_within_one_percent_in_a_second_and_half_in_five(name: str) -> None:
    points = places(name)
    tour_through(points, 0)
    for restarts, share, seconds in ((10_000, 1.01, 1.0), (30_000, 1.005, 5.0)):
        began = process_time()
        tour = tour_through(points, restarts)
        assert process_time() - began < seconds
        assert sorted(tour.tolist()) == list(range(len(points)))
        assert OPTIMA[name] <= euc_2d(points, tour) <= share * OPTIMA[name]


@pytest.mark.parametrize("name", ["d198", "u1060"])
def test_the_same_tour_every_time(name: str) -> None:
    points = places(name)
    assert (tour_through(points, 2_000) == tour_through(points, 2_000)).all()
