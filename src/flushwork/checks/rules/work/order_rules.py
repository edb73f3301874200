"""Is everything done in an order that wood and resin allow, and does no step undo another?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from shapely import Point
from shapely.affinity import affine_transform

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnHoles, DrawnInlay
from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.checks.rules.work.mix_rules import end_grain_mm, likely_bleed_mm, mobile
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Place, Severity, Source, Subject
from flushwork.job.records import Manner, Mix
from flushwork.process.sealing import seals_beside
from flushwork.process.stages import POURING, Stage, StageKind
from flushwork.process.user_order import stages_named
from flushwork.resin.bleed import soak_mm
from flushwork.shelf.items import PigmentKind
from flushwork.strata.surfaces import ThicknessRow

BARE_MM2 = 0.05
"""Less wood than this laid bare is an edge that touches."""
_WORKS_RESIN = (
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.MILL_FLUSH,
    StageKind.SAND,
    StageKind.DRILL,
    StageKind.TRIM,
    StageKind.FINISH,
)
_MAKES_DUST = (StageKind.CUT, StageKind.MILL_FLUSH, StageKind.SAND, StageKind.DRILL, StageKind.TRIM)
WORKS_OFF: Final = (StageKind.SURFACE, StageKind.MILL_FLUSH, StageKind.SAND)
"""What takes a finish off the whole face."""
BREAKS: Final = (
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.SEAL,
    StageKind.FILL,
    StageKind.CAP,
    StageKind.DRILL,
    StageKind.TRIM,
)
"""What cuts through a finish, or is put on it."""


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
    yield Finding(
        code="overspill-on-bare-wood",
        severity=Severity.WARNING,
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


def cut_before_cure(build: Build) -> Iterator[Finding]:
    """Yield a must fix for machine work or sanding on a face whose last fill has not cured."""
    wet: dict[str, Stage] = {}
    for stage in build.plan.stages:
        if stage.kind in POURING:
            wet[stage.face] = stage
        elif stage.kind is StageKind.CURE and stage.lag_s > 0.0:
            wet.pop(stage.face, None)
        elif stage.kind in _WORKS_RESIN and stage.face in wet:
            poured = wet[stage.face]
            yield Finding(
                code="cut-before-cure",
                severity=Severity.MUST_FIX,
                message=f"Stage {stage.number} ({stage.title}) works the {stage.face} before "
                f"{poured.mix} of stage {poured.number} has cured.",
                remedy="Put the cure between them: uncured resin smears, and its dust is harmful.",
                subjects=(mix := Subject("mix", poured.mix),),
                source=build.source_of(mix),
            )


def holes_before_pour(build: Build) -> Iterator[Finding]:
    """Yield a finding for holes drilled before a pour: must fix where its resin reaches them.

    A hole right through counts on both faces.
    """
    for stage in build.plan.stages:
        if stage.kind is not StageKind.DRILL:
            continue
        later = [other for other in build.plan.stages[stage.number :] if other.kind in POURING]
        for pattern in (item for face in build.faces for item in face.holes):
            if pattern.holes.name not in stage.subjects:
                continue
            through = pattern.holes.depth_mm is None
            reaching = [other for other in later if through or other.face == stage.face]
            if reaching:
                yield _filled_up(build, stage, pattern, reaching)


def _filled_up(build: Build, stage: Stage, pattern: DrawnHoles, pours: Sequence[Stage]) -> Finding:
    holes, overspill_mm = pattern.holes, build.job.allowances.overspill_mm
    wet = next(
        (
            (pour, drawn.inlay.name)
            for pour in pours
            for drawn in build.inlays
            if drawn.inlay.name in pour.subjects
            and _reaches(build, stage, pattern, pour, drawn, overspill_mm)
        ),
        None,
    )
    first = pours[0]
    spot = pattern.places[0] if pattern.places else None
    return Finding(
        code="holes-before-pour",
        severity=Severity.MUST_FIX if wet else Severity.WARNING,
        message=f"{holes.name} is drilled at stage {stage.number}, before stage {first.number} "
        f"({first.title}): "
        + (
            f"the resin of {wet[1]} runs into it."
            if wet
            else "drops, dust and sandings end in the holes."
        ),
        remedy="Drill after the last flush milling, or plug the holes with wax or tape before each "
        "pour and clear them by hand.",
        subjects=(Subject("holes", holes.name),),
        source=holes.source,
        place=Place(stage.face, spot.x_mm, spot.y_mm) if spot is not None else None,
    )


def _reaches(
    build: Build,
    stage: Stage,
    pattern: DrawnHoles,
    pour: Stage,
    drawn: DrawnInlay,
    overspill_mm: float,
) -> bool:
    """Whether what is poured over an inlay and its overspill touches one of the holes."""
    region = drawn.region
    if pour.face != stage.face:
        region = affine_transform(region, back_map(build.job.blank).numbers)
    near_mm = overspill_mm + pattern.holes.diameter_mm / 2.0
    return any(region.distance(Point(hole.x_mm, hole.y_mm)) < near_mm for hole in pattern.places)


def sanded_before_flush(build: Build) -> Iterator[Finding]:
    """Yield a warning for sandings before the machine has milled flush what stands proud."""
    manners = {inlay.name: inlay.manner for inlay in build.job.inlays}
    proud: dict[str, Stage] = {}
    for stage in build.plan.stages:
        stands = stage.kind is StageKind.CAP or (
            stage.kind is StageKind.FILL
            and any(manners[name] is Manner.OVERFILLED for name in stage.subjects)
        )
        if stands:
            proud[stage.face] = stage
        elif stage.kind is StageKind.MILL_FLUSH:
            proud.pop(stage.face, None)
        elif stage.kind is StageKind.SAND and stage.face in proud:
            poured = proud.pop(stage.face)
            yield Finding(
                code="sanded-before-flush",
                severity=Severity.WARNING,
                message=f"Stage {stage.number} ({stage.title}) sands {poured.mix} of stage "
                f"{poured.number} while it stands proud: a pad takes the soft wood around it "
                "first.",
                remedy="Mill it flush, or scrape it flush, before it is sanded.",
                subjects=(mix := Subject("mix", poured.mix),),
                source=build.source_of(mix),
            )


def dust_before_cap(build: Build) -> Iterator[Finding]:
    """Yield a must fix for dusty work on a face between a fill and the clear over it."""
    open_fills: dict[str, Stage] = {}
    dusty: dict[str, Stage] = {}
    for stage in build.plan.stages:
        if stage.kind is StageKind.FILL:
            open_fills |= dict.fromkeys(stage.subjects, stage)
        elif stage.kind in _MAKES_DUST:
            dusty |= {name: stage for name, fill in open_fills.items() if fill.face == stage.face}
        elif stage.kind is StageKind.CAP:
            worked = next((name for name in stage.subjects if name in dusty), None)
            if worked is not None:
                yield _dusty(build, worked, dusty[worked], stage)
            for name in stage.subjects:
                open_fills.pop(name, None)
                dusty.pop(name, None)


def _dusty(build: Build, name: str, work: Stage, cap: Stage) -> Finding:
    return Finding(
        code="dust-before-cap",
        severity=Severity.MUST_FIX,
        message=f"Stage {work.number} ({work.title}) works the {work.face} between the fill of "
        f"{name} and its cap in stage {cap.number}: dust lies on the flakes, and clear seals it "
        "in for good.",
        remedy="Put the cap straight after its fill, within the recoat window; or wash the line, "
        "scuff-sand it and look along it under a low lamp before it is capped.",
        subjects=(inlay := Subject("inlay", name),),
        source=build.source_of(inlay),
    )


def uncapped_flakes(build: Build) -> Iterator[Finding]:
    """Yield a finding for metallic lines whose flakes the sanding will reach."""
    for drawn in build.inlays:
        inlay = drawn.inlay
        if inlay.manner is Manner.CAPPED or not has_flakes(inlay.mix):
            continue
        if inlay.seam is None:
            continue
        yield Finding(
            code="bright-line-uncapped",
            severity=Severity.WARNING,
            message=f"{inlay.name} is a seam line in {inlay.mix.name}, whose flakes lie flat only "
            f"near the free surface, and it is {inlay.manner.value}: sanding cuts them and the "
            "line goes dull.",
            remedy="Write `how: scraped flush and capped` with `cap:` a clear mix, so that only "
            "the clear is sanded.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
        )


def has_flakes(mix: Mix) -> bool:
    """Whether a mix shines by flakes."""
    return any(item.pigment.kind is PigmentKind.FLAKE for item in mix.pigments)


def finish_worked_off(build: Build) -> Iterator[Finding]:
    """Yield a finding for a finish that is worked afterwards.

    Must fix where it is sanded or milled away, a warning where it is cut through or poured on.
    Holes that the job asks for after the finish are no fault.
    """
    stages, plan = build.plan.stages, build.job.finish
    finish = next((stage for stage in stages if stage.kind is StageKind.FINISH), None)
    if finish is None or plan is None:
        return
    later = [
        stage
        for stage in stages[finish.number :]
        if stage.kind in (*WORKS_OFF, *BREAKS)
        and (stage.kind is not StageKind.DRILL or plan.holes_first)
    ]
    if not later:
        return
    gone = [stage for stage in later if stage.kind in WORKS_OFF]
    told = ", ".join(f"{stage.number} ({stage.title})" for stage in later)
    yield Finding(
        code="finish-worked-off",
        severity=Severity.MUST_FIX if gone else Severity.WARNING,
        message=f"{plan.finish.name} is put on at stage {finish.number}, before stage {told}: "
        + ("its coats are sanded or milled away." if gone else "its coats are cut through."),
        remedy="Put the finish on last of all: take the order out, or turn it round.",
        subjects=(Subject("material", plan.finish.name),),
        source=_insisted(build, (finish,), later),
    )


def freed_then_set_up(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for a piece that is trimmed free and then set up again.

    A warning where tabs still hold it in its waste.
    """
    stages = build.plan.stages
    trim = next((stage for stage in stages if stage.kind is StageKind.TRIM), None)
    if trim is None:
        return
    asked_late = build.job.finish is not None and not build.job.finish.holes_first
    later = [
        stage
        for stage in stages[trim.number :]
        if stage.setup > trim.setup and not (asked_late and stage.kind is StageKind.DRILL)
    ]
    if not later:
        return
    tabs = build.job.outline.tabs
    first = later[0]
    yield Finding(
        code="freed-then-set-up",
        severity=Severity.WARNING if tabs else Severity.MUST_FIX,
        message=f"The piece is trimmed at stage {trim.number} and set up again for stage "
        f"{first.number} ({first.title}): "
        + (
            f"only its {tabs} tabs hold it in the waste while it is worked."
            if tabs
            else "it has no waste and no dowels left to be held and found by, and a piece that "
            "comes loose under a bit is thrown."
        ),
        remedy="Trim last of all: take the order out, or turn it round.",
        subjects=(TRIM_LINE,),
        source=_insisted(build, (trim,), later),
    )


def _insisted(build: Build, first: Sequence[Stage], later: Sequence[Stage]) -> Source:
    """Return the line of the order that brings one before the others; else the job's first."""
    ahead, behind = ({stage.number for stage in row} for row in (first, later))
    best: tuple[int, Source] | None = None
    for each in build.job.order_constraints:
        one, two = (
            {meant.index + 1 for meant in stages_named(build.plan.stages, step)}
            for step in (each.first, each.then)
        )
        # one whose two steps are both meant tells more than one that names either
        rank = 2 * bool(one & ahead) + bool(two & behind)
        if rank and (best is None or rank > best[0]):
            best = rank, each.source
    return best[1] if best is not None else build.job.source


RULES = (
    fill_before_seal,
    overspill_on_bare_wood,
    cut_before_cure,
    holes_before_pour,
    sanded_before_flush,
    dust_before_cap,
    uncapped_flakes,
    finish_worked_off,
    freed_then_set_up,
)
