"""From replayed liquids to requests for pours: what each mix is asked for at each stage."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.plan.stages import Plan, StageKind
from flushwork.resin.requests import PourRequest, requests_for
from flushwork.strata.board import Poured


def pour_requests(
    job: Job, faces: Sequence[DrawnFace], plan: Plan, poured: Sequence[Poured]
) -> tuple[PourRequest, ...]:
    """Return one request per stage that pours, for all pieces and test pieces together."""
    return requests_for(
        poured,
        {mix.name: mix for mix in job.mixes},
        job.pieces + job.test_pieces,
        pour_sessions(plan),
        {
            drawn.inlay.name: drawn.region.length * drawn.inlay.depth_mm + drawn.region.area
            for face in faces
            for drawn in face.inlays
            if job.sealer is None or not drawn.inlay.sealed
        },
    )


def pour_sessions(plan: Plan) -> dict[int, int]:
    """Return, for each stage that pours, the cure that ends its session.

    Fills before the same cure are made one after another and may share one batch.
    """
    result: dict[int, int] = {}
    waiting: list[int] = []
    for stage in plan.stages:
        if stage.kind in (StageKind.FILL, StageKind.CAP):
            waiting.append(stage.number)
        elif stage.kind is StageKind.CURE:
            result |= dict.fromkeys(waiting, stage.number)
            waiting = []
    return result
