"""Does a machine run in the days while the coat of another piece still gives off vapour?

A piece's own coat is waited for; that of another is not: it has to dry where no motor runs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from flushwork.built import Build
from flushwork.findings import Finding, Severity, Subject
from flushwork.job.sources import thing_at
from flushwork.plan.exposure import ON_MACHINE
from flushwork.plan.schedule import Step
from flushwork.plan.stages import Stage, StageKind

MINUTE_S = 60.0


def machine_near_wet_coat(build: Build) -> Iterator[Finding]:
    """Yield a caution for each coat that burns, where the plan machines or sands too soon after.

    Too soon is before it is dry or the time of airing has passed (see ``shelf.hazards.AIRING_S``).
    """
    steps = build.schedule.steps if build.schedule is not None else ()
    told: set[str] = set()
    for stage in build.plan.stages:
        name = coat_name(build, stage)
        if not name or name in told:
            continue
        soon = soonest(steps, stage)
        if soon is not None:
            told.add(name)
            yield _finding(build, stage, name, *soon)


def coat_name(build: Build, stage: Stage) -> str:
    """Return what a stage puts on that burns; empty where nothing does."""
    if not stage.airing_s:
        return ""
    if stage.kind is StageKind.SEAL and build.job.sealer is not None:
        return build.job.sealer.name
    if stage.kind is StageKind.FINISH and build.job.finish is not None:
        return build.job.finish.finish.name
    return ""


def soonest(steps: tuple[Step, ...], stage: Stage) -> tuple[int, Step] | None:
    """Return how many minutes after a coat the next step with a motor begins, where too few."""
    lasts_s = max(stage.airing_s, stage.lag_s if stage.kind is StageKind.SEAL else 0.0)
    within_min = math.ceil(lasts_s / MINUTE_S)
    coats = [step for step in steps if step.stage == stage.number and not step.done]
    hot = [step for step in steps if step.kind in (*ON_MACHINE, StageKind.SAND)]
    near = [
        (step.begin_min - coat.end_min, step)
        for coat in coats
        for step in hot
        if 0 <= step.begin_min - coat.end_min < within_min
    ]
    return min(near, key=lambda each: each[0], default=None)


def _finding(build: Build, stage: Stage, name: str, minutes: int, step: Step) -> Finding:
    after = f"{minutes} min after" if minutes else "straight after"
    return Finding(
        code="vapour-near-machine",
        severity=Severity.CAUTION,
        message=f"The days begin stage {step.stage} ({step.title}) {after} the coat of {name} on "
        f"another piece at stage {stage.number}: its vapour burns, and the plan does not wait for "
        f"it to leave the room.",
        remedy="Coat and dry the pieces outdoors or in another aired room, with no motor, flame or "
        f"heat; else air the workshop {math.ceil(stage.airing_s / MINUTE_S)} min after each coat "
        "before a machine runs, whatever the day sheet says, or take a sealer that does not burn.",
        subjects=(Subject("material", name),),
        source=thing_at(build.job, name),
    )


RULES = (machine_near_wet_coat,)
