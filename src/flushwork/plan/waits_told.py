"""How long each cure lasts, as the days are planned: one figure wherever it is told."""

from __future__ import annotations

from flushwork.plan.run_lags import CURED, HARD
from flushwork.plan.schedule import Schedule, Wait
from flushwork.plan.stages import Plan, Stage, StageKind

MINUTE_S = 60.0
POURS = (StageKind.FILL, StageKind.CAP)


def planned_wait_s(plan: Plan, schedule: Schedule | None, stage: Stage) -> float:
    """Return how long is waited at a stage: the longest cure the days plan there.

    Where no days are planned, and for what dries, it is the wait the stage itself was inferred
    with: of a pour that ends with the warm hours.
    """
    if stage.kind is not StageKind.CURE or schedule is None:
        return stage.lag_s
    poured: set[int] = set()
    for before in reversed(plan.stages[: stage.number - 1]):
        if before.kind not in POURS:
            break
        poured.add(before.number)
    of_task = {step.task: step.stage for step in schedule.steps}
    lasting = [
        wait.ready_min - wait.since_min
        for wait in schedule.waits
        if not wait.what.endswith(CURED)
        and of_task.get(wait.task) in poured
        and of_task.get(wait.until, 0) > stage.number
    ]
    return MINUTE_S * max(lasting) if lasting else stage.lag_s


def hard_wait_s(schedule: Schedule | None, poured: Stage) -> float | None:
    """Return the longest wait the days plan until what a stage pours can be cut; None: no days."""
    return _longest_s(schedule, HARD, {poured.number})


def cured_wait_s(schedule: Schedule | None) -> float | None:
    """Return the longest wait the days plan until a resin is fully cured; None: no days."""
    return _longest_s(schedule, CURED, None)


def _longest_s(schedule: Schedule | None, what: str, stages: set[int] | None) -> float | None:
    if schedule is None or not schedule.waits:
        return None
    of_task = {step.task: step.stage for step in schedule.steps}

    def counts(wait: Wait) -> bool:
        return wait.what.endswith(what) and (stages is None or of_task.get(wait.task) in stages)

    lasting = [wait.ready_min - wait.since_min for wait in schedule.waits if counts(wait)]
    return MINUTE_S * max(lasting) if lasting else None
