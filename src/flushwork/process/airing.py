"""How long vapour that burns is about after a stage, and which stages must keep away from it."""

from __future__ import annotations

from typing import Final

from flushwork.job.records import Job
from flushwork.process.exposure import heats_at
from flushwork.process.pour_requests import pour_sessions
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.shelf.hazards import AIRING_S, Heat
from flushwork.shelf.items import Finish, Sealer, Thinner
from flushwork.shelf.known_hazards import hazards_of

COOL: Final = (Heat.MOTOR, Heat.HEAP)
"""What is about at every step and told on its card; all other heat lights vapour by itself."""


def airing_after_s(job: Job, kind: StageKind, mix: str = "") -> float:
    """Return how long a room is aired after what a stage puts on; 0 where no vapour of it burns."""
    return max((_airing_s(item) for item in put_on(job, kind, mix)), default=0.0)


def put_on(job: Job, kind: StageKind, mix: str) -> list[Sealer | Finish | Thinner]:
    """Return what may give off vapour in what a stage puts on."""
    if kind is StageKind.SEAL:
        return [] if job.sealer is None else [job.sealer]
    if kind is StageKind.FINISH:
        return [] if job.finish is None else [job.finish.finish]
    return [
        each.thinner
        for each in job.mixes
        if mix and each.name == mix and each.thinner is not None and each.thinner_share > 0.0
    ]


def _airing_s(item: Sealer | Finish | Thinner) -> float:
    if not hazards_of(item).burns:
        return 0.0
    if item.air_s is not None:
        return item.air_s
    return max(AIRING_S, item.dry_s) if isinstance(item, Sealer) else AIRING_S


def kept_clear_of(job: Job, plan: Plan) -> frozenset[int]:
    """Return the numbers of the stages that begin only where no vapour of another piece is about.

    Those that bring a flame, heat, a spindle or sanding.  Pours made side by side cannot be kept
    apart: what burns beside a heat there must be fixed, and is told as such.
    """
    sessions = pour_sessions(plan)
    vapours = {sessions[stage.number] for stage in plan.stages
               if stage.airing_s and stage.number in sessions}  # fmt: skip
    return frozenset(
        stage.number
        for stage in plan.stages
        if _is_hot(job, plan, stage) and sessions.get(stage.number, -1) not in vapours
    )


def _is_hot(job: Job, plan: Plan, stage: Stage) -> bool:
    return any(each.heat not in COOL for each in heats_at(job, plan, stage))
