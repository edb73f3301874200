"""Is the wood sealed where colour comes to it, and still sealed where it spills over?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flushwork.art.drawn import DrawnInlay
from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.checks.rules.work.mix_rules import end_grain_mm, likely_bleed_mm, mobile
from flushwork.core.findings import Finding, Measure, Place, Severity, Subject
from flushwork.job.records import Manner
from flushwork.process.sealing import seals_beside
from flushwork.process.stages import Stage, StageKind
from flushwork.resin.bleed import soak_mm
from flushwork.strata.surfaces import ThicknessRow

BARE_MM2 = 0.05
"""Less wood than this laid bare is an edge that touches."""


def fill_before_seal(build: Build) -> Iterator[Finding]:
    """Yield a finding for each fill on walls cut into wood and not sealed since.

    Must fix with a colourant that travels (dye) or on open-pored wood, a warning otherwise.
    """
    sealed: set[str] = set()
    for stage in build.plan.stages:
        if stage.kind is StageKind.CUT:
            sealed -= set(stage.subjects)
        elif stage.kind is StageKind.SEAL:
            sealed |= set(stage.subjects)
        elif stage.kind is StageKind.FILL:
            for name in stage.subjects:
                if name not in sealed and exposes_wood(build, name):
                    yield _unsealed(build, name, stage)


def exposes_wood(build: Build, name: str) -> bool:
    """Whether cutting an inlay lays wood bare: not so for one wholly within cured resin."""
    drawn = next(item for item in build.inlays if item.inlay.name == name)
    under = [item for item in build.inlays if item.inlay.name in drawn.inlay.second_pass_of]
    if not under or any(item.inlay.depth_mm < drawn.inlay.depth_mm for item in under):
        return True
    outside = drawn.region.difference(united([item.region for item in under]))
    return bool(outside.area > BARE_MM2)


def _unsealed(build: Build, name: str, stage: Stage) -> Finding:
    mix = next(mix for mix in build.job.mixes if mix.name == stage.mix)
    drawn = next(item for item in build.inlays if item.inlay.name == name)
    wood = build.job.blank.wood
    travels = mobile(mix)
    grave = bool(travels) or wood.pores == "open"
    walls_mm = end_grain_mm(drawn.region, grain_along_x=build.job.blank.grain_along_x)
    why = (
        f"{' and '.join(travels)} travels into bare grain"
        if travels
        else f"{wood.name} has {wood.pores} pores"
    )
    spot = drawn.region.representative_point()
    return Finding(
        code="fill-before-seal",
        severity=Severity.MUST_FIX if grave else Severity.WARNING,
        message=f"{name} is filled with {mix.name} while its freshly cut walls are bare: {why}, "
        f"and {walls_mm:.0f} mm of its walls are end grain (a halo of about "
        f"{likely_bleed_mm(build, mix):.1f} mm).",
        remedy="Let the sealer in (take out `sealed: no` or `sealer: none`), or try the mix on a "
        "bleed strip first. Walls in cured resin need no seal, only cleaning and scuff-sanding.",
        subjects=(inlay := Subject("inlay", name),),
        source=build.source_of(inlay),
        place=Place(drawn.inlay.face, spot.x, spot.y) if not drawn.region.is_empty else None,
        measure=Measure("end-grain wall", walls_mm, None, "mm"),
    )


def overspill_on_bare_wood(build: Build) -> Iterator[Finding]:
    """Yield a warning for colour that runs over an edge onto wood whose seal has been taken off.

    Not where what is taken off the face afterwards takes the stain along.
    """
    sealer, allowances = build.job.sealer, build.job.allowances
    if sealer is None or allowances.overspill_mm <= 0.0:
        return
    sealed: dict[str, Stage] = {}
    filled: dict[str, list[DrawnInlay]] = {}
    for stage in build.plan.stages:
        if stage.kind is StageKind.SEAL and not stage.subjects:
            sealed |= {item.inlay.name: stage for item in build.face(stage.face).inlays}
        elif seals_beside(stage):
            sealed |= dict.fromkeys(stage.subjects, stage)
        if stage.kind is not StageKind.FILL:
            continue
        poured = [item for item in build.inlays if item.inlay.name in stage.subjects]
        known = filled.setdefault(stage.face, [])
        known += [item for item in poured if item not in known]
        for drawn in poured:
            seal = sealed.get(drawn.inlay.name)
            worn = None if seal is None else _worn(build, seal, stage, sealer.film_mm)
            if worn is not None:
                yield from _spilt(build, drawn, stage, worn, known)


def _worn(build: Build, seal: Stage, until: Stage, film_mm: float) -> ThicknessRow | None:
    """Return what took more than the sealer's film off a sealed face before a later stage."""
    stood_mm = _stands_mm(build, seal)
    for entry in build.replay.thickness_table:
        between = entry.face == seal.face and seal.number < entry.stage < until.number
        if between and stood_mm - entry.face_mm > film_mm:
            return entry
    return None


def _stands_mm(build: Build, stage: Stage) -> float:
    """Return where the wood of a stage's face stands when the stage begins."""
    before = [
        entry
        for entry in build.replay.thickness_table
        if entry.face == stage.face and entry.stage < stage.number
    ]
    return before[-1].face_mm


def _spilt(
    build: Build, drawn: DrawnInlay, stage: Stage, worn: ThicknessRow, filled: Sequence[DrawnInlay]
) -> Iterator[Finding]:
    inlay, job = drawn.inlay, build.job
    if inlay.manner is not Manner.OVERFILLED or inlay.mix.clear or drawn.region.is_empty:
        return
    spill = drawn.region.buffer(job.allowances.overspill_mm).intersection(
        build.face(stage.face).trim
    )
    bare = spill.difference(united([item.region for item in filled]))
    last = [entry for entry in build.replay.thickness_table if entry.face == stage.face][-1]
    taken_mm = _stands_mm(build, stage) - last.face_mm
    soaks_mm = soak_mm(job.blank.wood.pores, likely_bleed_mm(build, inlay.mix))
    if bare.area <= BARE_MM2 or soaks_mm <= taken_mm:
        return
    spot = bare.representative_point()
    yield Finding.warning(
        "overspill-on-bare-wood",
        message=f"{inlay.name} is filled over its edge at stage {stage.number}, and "
        f"{bare.area:.0f} mm2 of the wood beside it lie bare: stage {worn.stage} took the seal off "
        f"the {stage.face}. {inlay.mix.name} soaks in about {soaks_mm:.2f} mm there, and "
        f"{taken_mm:.2f} mm are taken off afterwards: its colour stays around the edge.",
        remedy="Let its walls be sealed again, and the wood beside them with it (take out "
        "`sealed: no`, sand before and not after); or fill it scraped flush, in the same round as "
        "the others, or sand more afterwards (`light sand`).",
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.source,
        place=Place(stage.face, spot.x, spot.y),
        measure=Measure("soaks in", soaks_mm, taken_mm, "mm"),
    )


RULES = (fill_before_seal, overspill_on_bare_wood)
