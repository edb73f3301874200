"""Where the wood of a face stands when a stage begins."""

from __future__ import annotations

from flushwork.plan.heights import FacePlanes
from flushwork.plan.stages import Mounting, Plan, Stage, StageKind


def standing_when_mm(plan: Plan, stage: Stage, mounting: Mounting, planes: FacePlanes) -> float:
    """Return where the wood of the face stands when the stage begins.

    What is drilled or trimmed before a sanding, as the job insists, begins on what that will take.
    """
    if stage.kind in (StageKind.LOCATE, StageKind.MARK):
        return mounting.face_z_mm
    if stage.kind in (StageKind.CUT, StageKind.LEVEL):
        return planes.before_mm(stage.round)
    sanded = [
        each.round
        for each in plan.stages[: stage.number - 1]
        if each.kind is StageKind.SAND and each.face == stage.face
    ]
    return planes.rounds_mm[max(sanded) - 1] if sanded else planes.flat_mm
