"""A seal coat of uncured resin: what it is mixed of at a stage, and how much of it the walls take.

It is a pour like any other: measured, poured within its pot life, and covered by the fill within
its recoat window, all by the shop's temperature.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from flushwork.job.keys.mixes import clear_mix
from flushwork.job.records import FaceName, Job, Mix
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.resin.cure import cure_ends, wait_until_sandable_s
from flushwork.resin.pours import PourRequest, Served
from flushwork.resin.recess import keeps_share
from flushwork.shelf.items import AS_THE_FILL, Resin
from flushwork.strata.surfaces import Poured

WHOLE_FACE = "the whole face"
BESIDE_MM = 2.0
"""Where walls are sealed in a face already sanded, the sealer goes so much further over the wood
beside them than the resin will (assumed, 1 to 5 mm; what a fine brush covers anyway)."""


def seals_beside(stage: Stage) -> bool:
    """Whether a stage seals walls in a face sanded since it was sealed, and the wood beside them.

    Its card says so.
    """
    return stage.kind is StageKind.SEAL and bool(stage.subjects) and stage.round > 1


def resin_brushed(job: Job, face: FaceName, subjects: Iterable[str] = ()) -> Resin | None:
    """Return the resin that the job's sealer is on some walls, or on a face; None where it is none.

    A sealer that is the resin of the fill is that of the first inlay it is brushed for.
    """
    sealer = job.sealer
    if sealer is None or not sealer.resin:
        return None
    if sealer.resin != AS_THE_FILL:
        return next((each for each in job.shop.resins if each.name == sealer.resin), None)
    wanted = set(subjects)
    found = [each for each in job.face(face).inlays if not wanted or each.name in wanted]
    return found[0].mix.resin if found else None


def seal_mix(job: Job, stage: Stage) -> Mix | None:
    """Return what is mixed for a stage that brushes resin on; None for every other stage."""
    if stage.kind is not StageKind.SEAL or job.sealer is None:
        return None
    resin = resin_brushed(job, stage.face, stage.subjects)
    return None if resin is None else replace(clear_mix(resin, job.source), name=job.sealer.name)


def recoat_s(job: Job, resin: Resin) -> tuple[float, float]:
    """Return when a seal of resin may be filled, and until when, at the temperature of its clocks.

    The resin's own window, made narrower where the sealer states a later begin or an earlier end.
    """
    sealer = job.sealer
    if sealer is None:
        return resin.recoat_from_s, resin.recoat_until_s
    least_s = max(resin.recoat_from_s, sealer.dry_s)
    until_s = min(resin.recoat_until_s, sealer.fill_within_s or resin.recoat_until_s)
    return least_s, max(until_s, least_s)


def seal_lag_s(job: Job, face: FaceName, subjects: Sequence[str] = ()) -> float:
    """Return the wait after a seal: of resin until a face can be cut, or walls can be filled."""
    resin = resin_brushed(job, face, subjects)
    if job.sealer is None:
        return 0.0
    if resin is None:
        return job.sealer.dry_s
    if not subjects:
        return wait_until_sandable_s(resin, job.shop.air)
    air = job.shop.air
    return cure_ends(recoat_s(job, resin)[0], resin, air, air.day_until_h).later_s


def seal_requests(
    job: Job, plan: Plan, poured: Sequence[Poured], count: int, first: int, offset: int
) -> list[PourRequest]:
    """Return what the seal coats of ``count`` pieces ask for, each a session of its own.

    ``offset`` moves the sessions apart from those of other groups of pieces.
    """
    found: list[PourRequest] = []
    brush_min = job.shop.hands.on_face_min(job.shop.hands.seal_min, job.blank.face_dm2)
    for stage in plan.stages:
        mix = seal_mix(job, stage)
        if mix is None or job.sealer is None:
            continue
        wet_mm = job.sealer.film_mm / keeps_share(mix, job.sealer.film_mm)
        served = tuple(
            Served(subject, stage.face, 0.0, area_mm2 * wet_mm / 1000.0, walls_mm2=area_mm2)
            for subject, area_mm2 in brushed_mm2(job, plan, stage, poured)
            if area_mm2 > 0.0
        )
        if served:
            found.append(
                PourRequest(
                    stage.number,
                    mix,
                    count,
                    served,
                    stage.number - offset,
                    fill_s=60.0 * brush_min,
                    first=first,
                )
            )
    return found


def brushed_mm2(
    job: Job, plan: Plan, stage: Stage, poured: Sequence[Poured]
) -> list[tuple[str, float]]:
    """Return the area of wood that a seal wets, by what it is brushed on.

    Of cut walls and floors what the replay finds under the fills that follow; of a face all of it.
    """
    if not stage.subjects:
        return [(WHOLE_FACE, job.blank.length_mm * job.blank.width_mm)]
    until = next(
        (
            other.number
            for other in plan.stages[stage.number :]
            if other.kind is StageKind.SEAL and set(other.subjects) & set(stage.subjects)
        ),
        len(plan.stages) + 1,
    )
    return [
        (
            name,
            sum(
                each.sealed_mm2
                for each in poured
                if each.subject == name and stage.number < each.stage < until
            ),
        )
        for name in stage.subjects
    ]
