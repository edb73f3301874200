"""From artwork to stages and setups: the process follows from what is wanted."""

from __future__ import annotations

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.core.words import counted, listed
from flushwork.job.records import FaceName, Job, Manner, Mix
from flushwork.process.box_steps import closes_in
from flushwork.process.orders.waste_cuts import setups_for
from flushwork.process.rounds import (
    RoundWait,
    fill_levels_mm,
    milled_to_mm,
    milled_to_words,
    needs_milling,
    planes_of,
    waits,
)
from flushwork.process.sealing import seal_lag_s
from flushwork.process.stage_draft import StageDraft
from flushwork.process.stages import Plan, StageKind
from flushwork.process.user_order import in_user_order
from flushwork.resin.cure import wait_until_recoat_s, wait_until_sandable_s
from flushwork.resin.thinned import working_resin


def infer_plan(job: Job, faces: tuple[DrawnFace, ...]) -> Plan:
    """Return the stages in working order, and the setups they need."""
    planes = planes_of(job.allowances, faces)
    draft = StageDraft(job, {each.face: each for each in planes})
    worked = tuple(face for face in faces if face.worked)
    _stock(draft)
    for name in () if job.planed else ("front", "back"):
        draft.add(
            StageKind.SURFACE,
            name,
            f"Surface the {name}",
            "every depth counts from a flat face, and taking both faces alike keeps the blank flat",
        )
    for face in worked:
        _work_face(draft, face, last=face is worked[-1])
    if not worked and job.outline.artwork is not None:
        _trim(draft, "front")
    for face in faces if worked else ():
        _sand_bare(draft, face)
    _finish(draft, worked)
    _box_last(draft)
    draft.stages = list(in_user_order(draft.stages, job.order_constraints))
    return Plan(tuple(draft.stages), setups_for(job, faces, draft.stages, planes), planes)


def _stock(draft: StageDraft) -> None:
    """Lay down how the blank is made, where the job says that it rests or is glued."""
    job = draft.job
    if job.rough.rest_s > 0.0:
        draft.add(
            StageKind.ROUGH,
            "front",
            "Saw the stock rough, let it rest",
            "freshly sawn wood bends as its inside dries; it is made to size once it has",
            lag_s=job.rough.rest_s,
        )
    if job.blank.glue_up is not None:
        draft.add(
            StageKind.GLUE,
            "front",
            f"Glue up the blank of {counted(len(job.blank.strips_mm), 'strip')}",
            "the joint swells with the water of the glue, and sinks again as it dries",
            lag_s=job.blank.glue_up.dries_s,
        )


def _work_face(draft: StageDraft, face: DrawnFace, *, last: bool) -> None:
    job = draft.job
    face_rounds = draft.planes[face.name].drawn(face)
    reasons = waits(face)
    if job.sealer is not None and face_rounds:
        draft.add(
            StageKind.SEAL,
            face.name,
            f"Seal the {face.name} face with {job.sealer.name}",
            "resin that runs over an edge would stain bare pores beside the pocket",
            lag_s=seal_lag_s(job, face.name),
        )
    for number, drawn in enumerate(face_rounds, start=1):
        _work_round(draft, face, drawn, number, reasons)
    _shape(draft, face)
    if face.holes and (job.finish is None or job.finish.holes_first):
        _drill(
            draft, face, "after the last flush milling, so that no resin or dust fills the holes"
        )
    if last and job.outline.artwork is not None:
        _trim(draft, face.name)


def _work_round(
    draft: StageDraft,
    face: DrawnFace,
    drawn: tuple[DrawnInlay, ...],
    number: int,
    reasons: dict[str, tuple[RoundWait, ...]],
) -> None:
    job = draft.job
    names = tuple(item.inlay.name for item in drawn)
    draft.stay_mounted(face.name)
    draft.add(
        StageKind.CUT,
        face.name,
        f"Cut {_listed(names)}",
        _why_now(names, reasons, number, sealed=job.sealer is not None),
        number=number,
        subjects=names,
        mounted=True,
    )
    bare = tuple(item.inlay.name for item in drawn if item.inlay.sealed)
    if job.sealer is not None and bare:
        draft.add(
            StageKind.SEAL,
            face.name,
            f"Seal the cut walls of {_listed(bare)} with {job.sealer.name}",
            "walls just cut into wood drink resin and let colour bleed",
            number=number,
            subjects=bare,
            lag_s=seal_lag_s(job, face.name, bare),
        )
    _fill_and_cap(draft, face.name, drawn, number)
    if needs_milling(drawn):
        draft.mount(face.name)
        draft.add(
            StageKind.MILL_FLUSH,
            face.name,
            f"Mill the proud resin of {_listed(names)} flush",
            f"down to {milled_to_words(job.allowances)} as it stands, once it is hard; "
            + (
                "the rest is sanded"
                if milled_to_mm(job.allowances) >= 0.0
                else "resin and wood come flush, and the sanding follows"
            ),
            number=number,
            subjects=names,
            mounted=True,
        )
    draft.add(
        StageKind.SAND,
        face.name,
        f"Sand the {face.name} flush",
        "resin and wood come to one plane; the board stays where it is held"
        if needs_milling(drawn)
        else "the scraped face comes to one plane",
        number=number,
        subjects=names,
        mounted=needs_milling(drawn),
    )


def _fill_and_cap(
    draft: StageDraft, face: FaceName, drawn: tuple[DrawnInlay, ...], number: int
) -> None:
    poured = _fill(draft, face, drawn, number)
    caps = _by_mix(
        tuple(
            (item.inlay.cap, item.inlay.name)
            for item in drawn
            if item.inlay.manner is Manner.CAPPED and item.inlay.cap is not None
        )
    )
    if not caps:
        _cure(draft, face, poured, number)
        return
    _set(draft, face, poured, number, "it can be capped", "the cap bonds")
    for mix, names in caps:
        draft.add(
            StageKind.CAP,
            face,
            f"Cap {_listed(names)} with {mix.name}",
            "the clear takes the sanding, so that it never reaches the flakes",
            number=number,
            subjects=names,
            mix=mix.name,
        )
    _cure(draft, face, tuple(mix for mix, _ in caps), number)


def _fill(
    draft: StageDraft, face: FaceName, drawn: tuple[DrawnInlay, ...], number: int
) -> tuple[Mix, ...]:
    """Lay down the fills of a round, layer by layer, and return the mixes poured last of all."""
    job, names = draft.job, {item.inlay.name for item in drawn}
    layers = {
        item.inlay.name: len(fill_levels_mm(item.inlay, job.allowances, draft.planes[face]))
        for item in drawn
    }
    most = max(layers[name] for name in names)
    poured: tuple[Mix, ...] = ()
    for layer in range(1, most + 1):
        if layer > 1:
            reason = "a layer bonds to the one before"
            _set(draft, face, poured, number, "the next layer can go on it", reason)
        still = tuple(item for item in drawn if layers[item.inlay.name] >= layer)
        fills = _by_mix(tuple((item.inlay.mix, item.inlay.name) for item in still))
        poured = tuple(mix for mix, _ in fills)
        for mix, filled in fills:
            parted = max(layers[name] for name in filled)
            draft.add(
                StageKind.FILL,
                face,
                f"Fill {_listed(filled)} with {mix.name}"
                + (f", layer {layer} of {parted}" if parted > 1 else ""),
                "while the seal is sound and the walls are clean"
                if layer == 1
                else f"more than {mix.resin.layer_mm:g} mm at once would heat itself and crack",
                number=number,
                subjects=filled,
                mix=mix.name,
                layer=layer,
            )
    return poured


def _set(
    draft: StageDraft,
    face: FaceName,
    mixes: tuple[Mix, ...],
    number: int,
    until: str,
    what_bonds: str,
) -> None:
    lag_s = max(wait_until_recoat_s(working_resin(mix), draft.job.shop.air) for mix in mixes)
    draft.add(
        StageKind.CURE,
        face,
        f"Let {_listed(tuple(mix.name for mix in mixes))} set until {until}",
        f"{what_bonds} while the resin beneath is firm but not yet hard; later it has to be "
        "washed and scuff-sanded first",
        number=number,
        lag_s=lag_s,
    )


def _cure(draft: StageDraft, face: FaceName, mixes: tuple[Mix, ...], number: int) -> None:
    lag_s = max(wait_until_sandable_s(working_resin(mix), draft.job.shop.air) for mix in mixes)
    draft.add(
        StageKind.CURE,
        face,
        f"Let {_listed(tuple(mix.name for mix in mixes))} cure",
        "cut or sanded before it is hard, resin smears and its dust is at its most harmful",
        number=number,
        lag_s=lag_s,
    )

    _box_meanwhile(draft)


def _box_meanwhile(draft: StageDraft) -> None:
    """Lay down what is done to the box while resin cures: its glue dries until the next cure."""
    if StageKind.BOX_SAW not in draft.boxed:
        draft.box(StageKind.BOX_SAW, *(() if closes_in(draft.job) else (StageKind.BOX_GLUE,)))
    elif StageKind.BOX_GLUE in draft.boxed:
        draft.box(StageKind.BOX_FIT)


def _box_last(draft: StageDraft) -> None:
    """Lay down what of a box is left; one that closes in the board is then coated by itself."""
    job = draft.job
    draft.box(StageKind.BOX_SAW, StageKind.BOX_GLUE, StageKind.BOX_FIT)
    if job.finish is None or not closes_in(job):
        return
    for coat in range(1, job.finish.coats + 1):
        draft.add(
            StageKind.BOX_COAT,
            "front",
            f"Coat the box with {job.finish.finish.name}, {coat} of {job.finish.coats}",
            "its corners are flush and sanded",
            lag_s=job.finish.finish.recoat_s,
        )


def _sand_bare(draft: StageDraft, face: DrawnFace) -> None:
    """Lay down the sanding of a face that nothing is cut into."""
    if draft.job.allowances.sand_bare and not face.worked:
        draft.add(
            StageKind.SAND,
            face.name,
            f"Sand the bare {face.name}",
            "both faces are finished alike, and the finish shows every scratch of the plane",
            number=1,
        )


def _shape(draft: StageDraft, face: DrawnFace) -> None:
    pockets = tuple(drawn.pocket.name for drawn in face.pockets)
    edges = tuple(edge.name for edge in face.edges)
    hangers = tuple(hanger.name for hanger in face.hangers)
    titles = [f"shape {_listed(edges)}"] if edges else []
    titles += [f"cut {_listed(pockets)}, left empty"] if pockets else []
    titles += [f"cut {_listed(hangers)} to hang it by"] if hangers else []
    if not titles:
        return
    draft.stay_mounted(face.name)
    draft.add(
        StageKind.SHAPE,
        face.name,
        titles[0][0].upper() + "; ".join(titles)[1:],
        "before the box is glued, while its wall can lie flat or stand on edge"
        if draft.job.planed
        else "after the last sanding, so that no resin or dust fills what stays empty"
        + (", and no paper rounds a crisp edge" if edges else ""),
        subjects=(*edges, *pockets, *hangers),
        mounted=True,
    )


def _drill(draft: StageDraft, face: DrawnFace, because: str) -> None:
    names = tuple(item.holes.name for item in face.holes)
    draft.stay_mounted(face.name)
    draft.add(
        StageKind.DRILL, face.name, f"Drill {_listed(names)}", because, subjects=names, mounted=True
    )


def _trim(draft: StageDraft, face: FaceName) -> None:
    draft.stay_mounted(face)
    draft.add(
        StageKind.TRIM,
        face,
        "Trim to the final outline",
        "last of all cuts: it frees the board from what holds it",
        mounted=True,
    )


def _finish(draft: StageDraft, worked: tuple[DrawnFace, ...]) -> None:
    plan = draft.job.finish
    if plan is None:
        return
    draft.add(
        StageKind.FINISH,
        "front",
        f"Finish with {plan.finish.name}, {counted(plan.coats, 'coat')}"
        + (", the box too" if draft.job.box is not None and not closes_in(draft.job) else ""),
        "when the resin is fully cured; the clear brings back the colours that sanding dulled",
        lag_s=plan.finish.recoat_s * plan.coats,
    )
    if plan.holes_first:
        return
    for face in worked:
        if face.holes:
            _drill(draft, face, "the job asks for the holes after the finish")


def _by_mix(pairs: tuple[tuple[Mix, str], ...]) -> tuple[tuple[Mix, tuple[str, ...]], ...]:
    mixes = tuple(dict.fromkeys(mix for mix, _ in pairs))
    return tuple((mix, tuple(name for other, name in pairs if other == mix)) for mix in mixes)


def _listed(names: tuple[str, ...]) -> str:
    return listed(dict.fromkeys(names))


def _why_now(
    names: tuple[str, ...], reasons: dict[str, tuple[RoundWait, ...]], number: int, *, sealed: bool
) -> str:
    if number == 1:
        dry = "the sealer on the face is dry, and " if sealed else ""
        return f"{dry}no other inlay of this face has to come before it"
    told = tuple(dict.fromkeys(wait.because for name in names for wait in reasons[name][:1]))
    return "; ".join(told)
