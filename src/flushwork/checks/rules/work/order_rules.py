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
from flushwork.core.findings import TRIM_LINE, Finding, Place, Severity, Source, Subject
from flushwork.job.records import Manner, Mix
from flushwork.process.stages import POURING, Stage, StageKind
from flushwork.process.user_order import stages_named
from flushwork.shelf.items import PigmentKind
from flushwork.strata.planes import grown

_WORKS_RESIN = (
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.MILL_FLUSH,
    StageKind.SAND,
    StageKind.SHAPE,
    StageKind.DRILL,
    StageKind.TRIM,
    StageKind.FINISH,
)
_MAKES_DUST = (
    StageKind.CUT,
    StageKind.MILL_FLUSH,
    StageKind.SAND,
    StageKind.SHAPE,
    StageKind.DRILL,
    StageKind.TRIM,
)
WORKS_OFF: Final = (StageKind.SURFACE, StageKind.MILL_FLUSH, StageKind.SAND)
"""What takes a finish off the whole face."""
BREAKS: Final = (
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.SEAL,
    StageKind.FILL,
    StageKind.CAP,
    StageKind.SHAPE,
    StageKind.DRILL,
    StageKind.TRIM,
)
"""What cuts through a finish, or is put on it."""


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
            yield Finding.must_fix(
                "cut-before-cure",
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


def pockets_before_pour(build: Build) -> Iterator[Finding]:
    """Yield a finding for pockets cut before a pour that shall stay empty: drops end in them.

    Must fix where the resin poured later reaches one.
    """
    overspill_mm = build.job.allowances.overspill_mm
    for stage in build.plan.stages:
        if stage.kind is not StageKind.SHAPE:
            continue
        later = [
            other
            for other in build.plan.stages[stage.number :]
            if other.kind in POURING and other.face == stage.face
        ]
        wet = united(
            [
                grown(drawn.region, overspill_mm)
                for drawn in build.face(stage.face).inlays
                if any(drawn.inlay.name in pour.subjects for pour in later)
            ]
        )
        for drawn in build.face(stage.face).pockets if later else ():
            if drawn.pocket.name not in stage.subjects:
                continue
            reached = drawn.region.intersects(wet)
            spot = drawn.region.representative_point()
            yield Finding(
                code="pocket-before-pour",
                severity=Severity.MUST_FIX if reached else Severity.WARNING,
                message=f"{drawn.pocket.name} shall stay empty and is cut at stage "
                f"{stage.number}, before stage {later[0].number} ({later[0].title}): "
                + ("resin runs into it." if reached else "drops and dust end in it."),
                remedy="Take the order out: what stays empty is cut after the last sanding.",
                subjects=(drawn.subject,),
                source=drawn.pocket.source,
                place=Place(stage.face, spot.x, spot.y),
            )


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
            yield Finding.warning(
                "sanded-before-flush",
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
    return Finding.must_fix(
        "dust-before-cap",
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
        yield Finding.warning(
            "bright-line-uncapped",
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
    cut_before_cure,
    holes_before_pour,
    pockets_before_pour,
    sanded_before_flush,
    dust_before_cap,
    uncapped_flakes,
    finish_worked_off,
    freed_then_set_up,
)
