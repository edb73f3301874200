"""How much work lies between two moments of a plan: a bound that helps the solver to prove.

Where one person does everything, the open minutes between two tasks are at least the work of all
tasks that must lie between them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from flushwork.plan.tasks import Problem, afters


@dataclass(frozen=True, slots=True)
class WorkBound:
    """At least ``minutes`` open minutes from a task's end (or start) to another's start."""

    resource: str
    before: str
    after: str
    minutes: int
    from_start: bool = False


def work_bounds(problem: Problem, resource: str) -> tuple[WorkBound, ...]:
    """Return the bounds between neighbouring meeting points: tasks that several others wait for.

    Also from the first of each row of tasks alike, which begins before all the others.
    """
    works = {
        task.name: task.minutes
        for task in problem.tasks
        if any(name == resource and amount for name, amount in task.uses)
    }
    before_of = problem.befores()
    reach = afters(before_of)
    indegree = Counter(later for _, later in {(arc.before, arc.after) for arc in problem.arcs})
    meeting = [name for name in works if indegree[name] > 1 and len(before_of[name]) > 2]
    leaders = _leaders(problem)
    found: list[WorkBound] = []
    for later in meeting:
        for leader, members in leaders.items():
            inside = {name for member in members for name in ({member} | reach[member])}
            between = inside & before_of[later]
            if leader in between:
                minutes = sum(works.get(name, 0) for name in between)
                found.append(WorkBound(resource, leader, later, minutes, from_start=True))
        for name in meeting:
            if later in reach[name]:
                minutes = sum(works.get(item, 0) for item in reach[name] & before_of[later])
                found.append(WorkBound(resource, name, later, minutes))
    return tuple(found)


def _leaders(problem: Problem) -> dict[str, set[str]]:
    """Return, for the first of each row of tasks alike, the row with itself."""
    follows = dict(problem.alike)
    later = set(follows.values())
    firsts = [name for name in follows if name not in later]
    rows: dict[str, set[str]] = {}
    for first in firsts:
        row = [first]
        while row[-1] in follows:
            row.append(follows[row[-1]])
        rows[first] = set(row)
    return rows
