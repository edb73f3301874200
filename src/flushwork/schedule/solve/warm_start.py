"""A problem put to the solver from the first day on which anything of it can begin.

The solver looks at every open hour from minute 0 on, so a late segment is counted from its own day.
"""

from __future__ import annotations

from dataclasses import replace

from flushwork.schedule.solve.solver import Limits, solve
from flushwork.schedule.solve.tasks import DAY_MIN, Problem, Solution, moved


def solve_from_its_day(problem: Problem, limits: Limits) -> Solution:
    """Return the solver's plan, put to it from the first day on which anything can begin."""
    begins = (task.earliest if task.start is None else task.start for task in problem.tasks)
    by = min(begins, default=0) // DAY_MIN * DAY_MIN
    if not by:
        return solve(problem, limits)
    found = solve(_sooner(problem, by), limits)
    return replace(
        found,
        spans={name: (begin + by, end + by) for name, (begin, end) in found.spans.items()},
        goals=tuple(
            replace(goal, reached=goal.reached + by, bound=goal.bound + by)
            if goal.name == "finish"
            else goal
            for goal in found.goals
        ),
    )


def _sooner(problem: Problem, by: int) -> Problem:
    """Return a problem with every minute counted from whole days later."""
    shifts = moved(problem.shifts, -by)
    return replace(
        problem,
        tasks=tuple(
            replace(
                task,
                earliest=max(0, task.earliest - by),
                latest=None if task.latest is None else task.latest - by,
                start=None if task.start is None else task.start - by,
            )
            for task in problem.tasks
        ),
        resources=tuple(
            replace(
                item,
                closed=tuple(
                    (max(0, begin - by), end - by) for begin, end in item.closed if end > by
                ),
            )
            for item in problem.resources
        ),
        clocks=tuple(replace(clock, shifts=shifts) for clock in problem.clocks),
        horizon=None if problem.horizon is None else problem.horizon - by,
        shifts=shifts,
    )
