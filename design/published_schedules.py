"""How near the planner comes to the proven optimum of published scheduling problems, and how fast.

Run: ``python design/published_schedules.py``.  The problems and their sources are those of
``tests/truth/data/scheduling.md``.
"""

from __future__ import annotations

import csv
import time
from itertools import pairwise
from pathlib import Path

from flushwork.schedule.solve.decompose import solve_by_segments
from flushwork.schedule.solve.solver import Limits
from flushwork.schedule.solve.tasks import Lag, Problem, Resource, Task

DATA = Path(__file__).parents[1] / "tests" / "truth" / "data"
CAPACITIES = (12, 13, 4, 12)


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one instance."""
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def job_shop(name: str) -> Problem:
    """Return a job shop: each job's operations in their order, each on its machine."""
    found = rows(f"jobshop_{name}.csv")
    tasks = tuple(
        Task(str(place), int(row["duration"]), ((row["machine"], 1),))
        for place, row in enumerate(found)
    )
    lags = tuple(
        Lag(str(one), str(two))
        for one, two in pairwise(range(len(found)))
        if found[one]["job"] == found[two]["job"]
    )
    machines = sorted({row["machine"] for row in found})
    return Problem(tasks, tuple(Resource(machine) for machine in machines), lags)


def project() -> Problem:
    """Return a project of thirty activities that share four scarce resources."""
    found = rows("psplib_j301_1.csv")
    names = [f"r{number}" for number in range(1, len(CAPACITIES) + 1)]
    tasks = tuple(
        Task(row["job"], int(row["duration"]), tuple((name, int(row[name])) for name in names))
        for row in found
    )
    lags = tuple(Lag(row["job"], later) for row in found for later in row["successors"].split())
    limits = zip(names, CAPACITIES, strict=True)
    return Problem(tasks, tuple(Resource(name, most) for name, most in limits), lags)


def main() -> None:
    """Print one line for each problem."""
    print(f"{'problem':20}{'optimum':>9}{'found':>8}{'bound':>8}{'s':>8}")
    for name, problem, optimum in (
        ("job shop ft06", job_shop("ft06"), 55),
        ("job shop la01", job_shop("la01"), 666),
        ("project j301_1", project(), 43),
    ):
        start_s = time.perf_counter()
        found = solve_by_segments(problem, Limits(effort=20.0, tidy_effort=0.1))
        goal = found.goals[-1]
        took_s = time.perf_counter() - start_s
        print(f"{name:20}{optimum:>9}{goal.reached:>8}{goal.bound:>8}{took_s:>8.2f}")


if __name__ == "__main__":
    main()
