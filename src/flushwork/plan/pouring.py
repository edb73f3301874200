"""From replayed liquids to requests for pours: what each mix is asked for at each stage."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.job.records import Job
from flushwork.plan.stages import Plan
from flushwork.resin.batches import PourRequest
from flushwork.resin.pours import Served
from flushwork.strata.board import Poured

MM3_PER_CM3 = 1000.0


def pour_requests(job: Job, plan: Plan, poured: Sequence[Poured]) -> tuple[PourRequest, ...]:
    """Return one request per stage that pours, for all pieces and test pieces together."""
    mixes = {mix.name: mix for mix in job.mixes}
    stages = dict.fromkeys(item.stage for item in poured)
    return tuple(
        PourRequest(
            stage=number,
            mix=mixes[plan.stage(number).mix],
            pieces=job.pieces + job.test_pieces,
            serves=tuple(_served(item) for item in poured if item.stage == number),
        )
        for number in stages
    )


def _served(item: Poured) -> Served:
    return Served(
        subject=item.subject,
        face=item.face,
        pocket_cm3=item.pocket_mm3 / MM3_PER_CM3,
        over_cm3=item.over_mm3 / MM3_PER_CM3,
    )
