"""The bits of a plan: what each reaches of an inlay, and which of them cut each round."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flushwork.art.drawn import DrawnFace
from flushwork.fit.all_inlays import fit_rounds, with_widths
from flushwork.fit.bit_sets import BitSet
from flushwork.fit.cutting_force import stock_of_wood
from flushwork.fit.pocket_time import CutTerms
from flushwork.fit.reach import Fit
from flushwork.job.records import Job
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Plan, StageKind

Fitted = tuple[Mapping[str, Fit], tuple[BitSet, ...], tuple[DrawnFace, ...]]
"""The fit of each inlay by its name, the sets of bits chosen, the faces with what lines become."""


def fit_bits(job: Job, faces: Sequence[DrawnFace], plan: Plan) -> Fitted:
    """Return which bits cut what: those of one round of one setup are chosen together."""
    above_mm = _above_depths_mm(job, plan.planes)
    fits, sets = fit_rounds(faces, job.shop.bits, cut_groups(plan), cut_terms(job), above_mm)
    return fits, sets, with_widths(faces, fits)


def cut_groups(plan: Plan) -> tuple[tuple[str, ...], ...]:
    """Return the inlays, or the pockets left empty, that one stage cuts, stage by stage."""
    kinds = (StageKind.CUT, StageKind.SHAPE)
    return tuple(stage.subjects for stage in plan.stages if stage.kind in kinds)


def cut_terms(job: Job) -> CutTerms:
    """Return what the times of cutting depend on in this job's shop."""
    shop = job.shop
    return CutTerms(shop.machine, stock_of_wood(job.blank.wood), 60.0 * shop.hands.change_min)


def _above_depths_mm(job: Job, planes: Sequence[FacePlanes]) -> dict[str, float]:
    """Return how much deeper each inlay is cut than its depth says, by its name.

    It is cut from a face that still stands above the finished one its depth counts from; a pocket
    left empty is cut last of all, from the finished face.
    """
    own = {each.face: each for each in planes}
    return {
        inlay.name: own[inlay.face].standing_mm(inlay)
        - own[inlay.face].floor_mm(inlay)
        - inlay.depth_mm
        for inlay in job.inlays
    } | {pocket.name: 0.0 for pocket in job.pockets}
