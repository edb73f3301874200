"""How far the drilling order lies over the proven optimum, by the number of local restarts.

Run from the checkout: ``python design/drilling_restarts.py``.  Data and sources in
``tests/truth/data/tsplib.md``; the choices are ``NEIGHBOURS`` and ``LEAST_RESTARTS`` in
``flushwork.toolpaths.drill``.
"""

from __future__ import annotations

import csv
from pathlib import Path
from time import process_time

import numpy as np

from flushwork.kernels.tour import greedy_tour, near_neighbours, shorten

DATA = Path(__file__).parents[1] / "tests" / "truth" / "data"
OPTIMA = {"d198": 15780, "pcb442": 50778, "d493": 35002, "u1060": 224094}
STEPS = (50.039938, 49.964968)


def main() -> None:
    """Print instance, neighbours, restarts, length, share over the optimum, seconds."""
    for name, optimum in OPTIMA.items():
        with (DATA / f"tsplib_{name}.csv").open(encoding="ascii", newline="") as file:
            rows = list(csv.DictReader(file))
        if "column" in rows[0]:
            places = np.array([[int(row["column"]), int(row["row"])] for row in rows]) * STEPS
        else:
            places = np.array([[float(row["x"]), float(row["y"])] for row in rows])
        for neighbours in (5, 8, 10, 12):
            near = near_neighbours(places, neighbours)
            for restarts in (0, 1_000, 3_000, 10_000, 30_000):
                began = process_time()
                tour = shorten(places, near, greedy_tour(places, False), restarts)
                spent = process_time() - began
                way = places[tour] - places[np.roll(tour, 1)]
                length = int(np.floor(np.hypot(way[:, 0], way[:, 1]) + 0.5).sum())
                over = 100.0 * (length / optimum - 1.0)
                print(
                    f"{name:7} {neighbours:3} {restarts:6} {length:6} {over:6.2f} % {spent:5.2f} s"
                )


if __name__ == "__main__":
    main()
