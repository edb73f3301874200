"""From replayed liquids to requests for pours: what each mix is asked for at each stage."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import Job, Lead
from flushwork.process.sealing import seal_requests
from flushwork.process.stages import POURING, Plan, StageKind
from flushwork.resin.pours import PourRequest, requests_for
from flushwork.strata.surfaces import Poured


def pour_requests(
    job: Job,
    faces: Sequence[DrawnFace],
    plan: Plan,
    poured: Sequence[Poured],
    groups: Sequence[int] | None = None,
) -> tuple[PourRequest, ...]:
    """Return one request per stage that pours and group of pieces, group after group.

    ``groups`` counts the pieces that are poured together, test pieces before the others; without
    it all are, unless the test pieces are made ahead.
    """
    mixes = {mix.name: mix for mix in job.mixes}
    sessions = pour_sessions(plan)
    pockets = {
        drawn.inlay.name: max(1, len(drawn.region.geoms)) for face in faces for drawn in face.inlays
    }
    counts = list(groups) if groups is not None else together(job)
    found: list[PourRequest] = []
    for place, count in enumerate(counts):
        # a session of its own for each group, in the order in which they are poured
        earlier = (len(counts) - 1 - place) * (len(plan.stages) + 1)
        own = {stage: session - earlier for stage, session in sessions.items()}
        found += requests_for(poured, mixes, count, own, pockets, first=sum(counts[:place]))
        found += seal_requests(job, plan, poured, count, sum(counts[:place]), earlier)
    return tuple(found)


def together(job: Job) -> list[int]:
    """Return the groups of a run poured as one: two where the test pieces are made ahead."""
    if goes_ahead(job):
        return [job.test_pieces, job.pieces]
    return [job.pieces + job.test_pieces]


def goes_ahead(job: Job) -> bool:
    """Whether test pieces are made before the others, with batches of their own."""
    return job.test_pieces > 0 and job.test_ahead is not Lead.NO


def pour_sessions(plan: Plan) -> dict[int, int]:
    """Return, for each stage that pours, the cure that ends its session.

    Fills before the same cure are made one after another and may share one batch.
    """
    result: dict[int, int] = {}
    waiting: list[int] = []
    for stage in plan.stages:
        if stage.kind in POURING:
            waiting.append(stage.number)
        elif stage.kind is StageKind.CURE:
            result |= dict.fromkeys(waiting, stage.number)
            waiting = []
    return result
