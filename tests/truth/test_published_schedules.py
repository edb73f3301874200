"""Published scheduling problems with proven optima, through the planner's own entry.

The instances and their sources are told in ``data/scheduling.md``.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from flushwork.schedule.solve.solver import Limits, solve
from flushwork.schedule.solve.tasks import Lag, Problem, Resource, Solution, Task

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def job_shop(operations: list[tuple[int, int, int]]) -> Problem:
    """Return a job shop of (job, machine, duration) operations, each job's in its order."""
    tasks = tuple(
        Task(str(index), minutes, ((f"machine {machine}", 1),))
        for index, (_, machine, minutes) in enumerate(operations)
    )
    lags = tuple(
        Lag(str(one), str(two))
        for one, two in pairwise(range(len(operations)))
        if operations[one][0] == operations[two][0]
    )
    machines = sorted({machine for _, machine, _ in operations})
    return Problem(tasks, tuple(Resource(f"machine {each}") for each in machines), lags)


def holds(problem: Problem, solution: Solution) -> None:
    """Assert that no resource is overdrawn and every lag is kept."""
    spans = solution.spans
    for task in problem.tasks:
        assert spans[task.name][1] - spans[task.name][0] == task.minutes
    for lag in problem.lags:
        assert spans[lag.after][0] >= spans[lag.before][1] + lag.least
    for resource in problem.resources:
        users = [
            (spans[task.name], dict(task.uses).get(resource.name, 0)) for task in problem.tasks
        ]
        for (moment, _), _ in users:
            taken = sum(amount for (begin, end), amount in users if begin <= moment < end)
            assert taken <= resource.capacity


@pytest.mark.parametrize(("name", "optimum"), [("ft06", 55), ("la01", 666)])
def test_job_shops_are_solved_to_their_proven_optimum(name: str, optimum: int) -> None:
    problem = job_shop(
        [
            (int(row["job"]), int(row["machine"]), int(row["duration"]))
            for row in rows(f"jobshop_{name}.csv")
        ]
    )
    solution = solve(problem, Limits(effort=20.0, tidy_effort=0.1))
    assert solution.finish == optimum
    assert solution.goals[0].proven
    holds(problem, solution)


def test_a_project_with_scarce_resources_is_solved_to_its_proven_optimum() -> None:
    given = rows("psplib_j301_1.csv")
    tasks = tuple(
        Task(
            row["job"],
            int(row["duration"]),
            tuple((f"r{number}", int(row[f"r{number}"])) for number in range(1, 5)),
        )
        for row in given
    )
    lags = tuple(
        Lag(row["job"], successor) for row in given for successor in row["successors"].split()
    )
    capacities = (12, 13, 4, 12)
    resources = tuple(
        Resource(f"r{number}", capacity) for number, capacity in enumerate(capacities, start=1)
    )
    problem = Problem(tasks, resources, lags)
    solution = solve(problem, Limits(effort=20.0, tidy_effort=0.1))
    assert solution.finish == 43
    assert solution.goals[0].proven
    holds(problem, solution)


def uniform(seed: int) -> Iterator[float]:
    """Yield numbers in (0, 1) by the generator printed with the instances.

    E. Taillard, "Benchmarks for basic scheduling problems", European Journal of Operational
    Research 64(2), 278-285 (1993), section 2.
    """
    while True:
        low = 16807 * (seed % 127773) - 2836 * (seed // 127773)
        seed = low if low > 0 else low + 2**31 - 1
        yield seed / (2**31 - 1)


def large_shop(jobs: int, machines: int, time_seed: int, machine_seed: int) -> Problem:
    """Return a job shop of E. Taillard (same paper, section 4): times, then machines by swaps."""
    times, swaps = uniform(time_seed), uniform(machine_seed)
    minutes = [[1 + int(next(times) * 99) for _ in range(machines)] for _ in range(jobs)]
    order = [list(range(machines)) for _ in range(jobs)]
    for row in order:
        for place in range(machines):
            other = place + int(next(swaps) * (machines - place))
            row[place], row[other] = row[other], row[place]
    return job_shop(
        [
            (job, order[job][place], minutes[job][place])
            for job in range(jobs)
            for place in range(machines)
        ]
    )


def test_a_large_one_states_its_gap() -> None:
    """The 15 x 15 instance 1 of the paper; its optimum 1231 has since been proven."""
    problem = large_shop(15, 15, 840612802, 398197754)
    solution = solve(problem, Limits(effort=0.3, tidy_effort=0.05))
    goal = solution.goals[0]
    assert goal.bound <= 1231 <= goal.reached
    holds(problem, solution)
