"""The bits of a plan: what each reaches of an inlay, and which of them cut each round."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from flushwork.art.drawn import Drawn, DrawnFace, DrawnInlay, DrawnPocket
from flushwork.fit.bit_sets import BitSet, choose_set
from flushwork.fit.choice import ABOVE_MM, Weighed, chosen, weigh, with_floor
from flushwork.fit.cutting_force import stock_of_wood
from flushwork.fit.discs import grow
from flushwork.fit.feeds import stands
from flushwork.fit.pocket_time import CutTerms
from flushwork.fit.reach import Fit
from flushwork.job.records import Job
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Plan, StageKind
from flushwork.runtime.pool import map_shared
from flushwork.shelf.items import Bit, BitKind

Width = TypeVar("Width", DrawnInlay, DrawnPocket)

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


# ---- All inlays of a job fitted, those cut together by one set of bits


def _weigh_all(
    drawn: Sequence[Drawn], bits: Sequence[Bit], above_mm: Mapping[str, float]
) -> Sequence[Fit | Weighed]:
    """Weigh inlays, shared between processes."""
    owned = tuple(bits)
    return map_shared(lambda one: weigh(one, owned, above_mm.get(one.thing.name, ABOVE_MM)), drawn)


def fit_rounds(
    faces: Sequence[DrawnFace],
    bits: Sequence[Bit],
    groups: Sequence[Sequence[str]],
    terms: CutTerms,
    above_mm: Mapping[str, float] | None = None,
) -> tuple[dict[str, Fit], tuple[BitSet, ...]]:
    """Return the fit of every inlay by its name, front before back, and the sets chosen.

    ``groups`` name the inlays that are cut together, in one round of one setup: their bits
    are chosen together, one set for each group, in the groups' order.  An inlay in no group is
    cut by itself.  A bit too weak for the wood is left out.  ``above_mm`` is how much deeper each
    is cut than its depth says, by its name.
    """
    above = above_mm or {}
    bits = [item for item in bits if stands(item, terms.machine, terms.wood)]
    drawn = [thing for face in faces for thing in face.things]
    weighed = {item.drawn.thing.name: item for item in _weigh_all(drawn, bits, above)}
    grouped = {name for group in groups for name in group}
    every = [*groups, *((name,) for name in weighed if name not in grouped)]
    fits: dict[str, Fit] = {}
    sets: list[BitSet] = []
    for group in every:
        mine = [weighed[name] for name in group if name in weighed]
        open_items = [item for item in mine if isinstance(item, Weighed)]
        fixed = [item for item in mine if isinstance(item, Fit)]
        there = _flats(fixed)
        if open_items:
            found, chains = choose_set([item.choice for item in open_items], there, terms)
            sets.append(found)
            for item, chain in zip(open_items, chains, strict=True):
                fits[item.drawn.thing.name] = chosen(item, chain, found, terms)
            there = tuple(dict.fromkeys((*there, *found.bits)))
        for fit in fixed:
            name = fit.drawn.thing.name
            fits[name] = with_floor(fit, there, bits, terms, above.get(name, ABOVE_MM))
    return {name: fits[name] for name in weighed}, tuple(sets)


def _flats(fits: Sequence[Fit]) -> tuple[Bit, ...]:
    """Return the flat bits of fits that left no choice."""
    every = dict.fromkeys(bit for fit in fits for bit in fit.bits)
    return tuple(bit for bit in every if bit.kind is BitKind.FLAT)


def with_widths(faces: Sequence[DrawnFace], fits: Mapping[str, Fit]) -> tuple[DrawnFace, ...]:
    """Give lines without a width the region their bit makes of them."""
    return tuple(
        replace(
            face,
            inlays=tuple(_with_width(drawn, fits) for drawn in face.inlays),
            pockets=tuple(_with_width(drawn, fits) for drawn in face.pockets),
        )
        for face in faces
    )


def _with_width(drawn: Width, fits: Mapping[str, Fit]) -> Width:
    fit = fits[drawn.thing.name]
    if not drawn.region.is_empty or drawn.strokes.is_empty or not fit.bits:
        return drawn
    return replace(drawn, region=grow(drawn.strokes, fit.bits[0].radius_mm))
