"""Which stages are cut by files from elsewhere, and what that means for cutters and artwork."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from flushwork.art.drawn import DrawnFace, DrawnHoles, DrawnInlay
from flushwork.job.records import Brought, HeightZero, Job
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Mounting, Plan, Stage, StageKind
from flushwork.process.user_order import stages_named
from flushwork.shelf.items import Cutter, CutterKind
from flushwork.toolpaths.orders import CutOrder, Operation

MACHINE_KINDS: Final = (StageKind.CUT, StageKind.LEVEL, StageKind.DRILL, StageKind.TRIM)
WHOLE: Final = "mounting "


@dataclass(frozen=True, slots=True)
class BroughtWork:
    """The stage that files from elsewhere do, and the one subject of it they do ("" for all)."""

    stage: int
    subject: str
    brought: Brought

    def does(self, subject: str) -> bool:
        """Whether these files do that part of their stage."""
        return self.subject in ("", subject)


def stages_meant(plan: Plan, step: str) -> tuple[tuple[int, str], ...]:
    """Return the machine stages a step's name means, each with the one subject that is meant."""
    if step.startswith(WHOLE):
        number = step.removeprefix(WHOLE).strip()
        return tuple(
            (stage.number, "")
            for stage in plan.stages
            if stage.kind in MACHINE_KINDS and number == str(stage.mounting)
        )
    return tuple(
        (plan.stages[each.index].number, each.subject)
        for each in stages_named(plan.stages, step)
        if plan.stages[each.index].kind in MACHINE_KINDS
    )


def brought_work(job: Job, plan: Plan) -> tuple[BroughtWork, ...]:
    """Return what files from elsewhere do; a step that names no stage, or several, does nothing.

    The proof tells of such a step.
    """
    result: list[BroughtWork] = []
    for brought in job.brought:
        meant = stages_meant(plan, brought.step)
        if len(meant) == 1:
            result.append(BroughtWork(*meant[0], brought))
    return tuple(result)


def with_brought_cutters(
    job: Job, faces: Sequence[DrawnFace], plan: Plan
) -> tuple[Job, tuple[DrawnFace, ...]]:
    """Return the job and its faces with the cutters of files from elsewhere as those to be used.

    What such a file can reach, and so what it is held against, follows from its own cutters.
    """
    chosen: dict[str, tuple[Cutter, ...]] = {}
    outline = job.outline
    for work in brought_work(job, plan):
        stage = plan.stage(work.stage)
        cutters = tuple(dict.fromkeys(file.cutter for file in work.brought.files))
        if stage.kind is StageKind.TRIM and cutters:
            outline = replace(outline, cutter=cutters[-1])
        for subject in stage.subjects:
            if stage.kind in (StageKind.CUT, StageKind.DRILL) and work.does(subject) and cutters:
                chosen[subject] = cutters
    if not chosen and outline == job.outline:
        return job, tuple(faces)
    changed = tuple(
        replace(
            face,
            inlays=tuple(_inlay(item, chosen) for item in face.inlays),
            holes=tuple(_holes(item, chosen) for item in face.holes),
        )
        for face in faces
    )
    return replace(job, outline=outline), changed


def _inlay(drawn: DrawnInlay, chosen: Mapping[str, tuple[Cutter, ...]]) -> DrawnInlay:
    cutters = chosen.get(drawn.inlay.name)
    if cutters is None:
        return drawn
    wanted = [each for each in cutters if (each.kind is CutterKind.VEE) == drawn.inlay.vee]
    return replace(drawn, inlay=replace(drawn.inlay, cutters=tuple(wanted or cutters)))


def _holes(drawn: DrawnHoles, chosen: Mapping[str, tuple[Cutter, ...]]) -> DrawnHoles:
    cutters = chosen.get(drawn.holes.name)
    if cutters is None:
        return drawn
    fitting = [each for each in cutters if each.diameter_mm <= drawn.holes.diameter_mm + 1e-6]
    best = max(fitting or cutters, key=lambda each: each.diameter_mm)
    return replace(drawn, holes=replace(drawn.holes, cutter=best))


def ours(operations: Sequence[Operation], works: Sequence[BroughtWork]) -> tuple[Operation, ...]:
    """Return the operations of a stage that no file from elsewhere does."""
    return tuple(each for each in operations if not any(work.does(each.subject) for work in works))


def brought_orders(
    like: CutOrder,
    operations: Sequence[Operation],
    works: Sequence[BroughtWork],
    mounting: Mounting,
    planes: FacePlanes,
) -> tuple[CutOrder, ...]:
    """Return the orders of a stage's files from elsewhere, in the order they are run.

    ``like`` is an order of the same stage; ``operations`` are all of that stage.
    """
    result: list[CutOrder] = []
    for work in works:
        asked = [each for each in operations if work.does(each.subject)]
        zero_mm = _zero_mm(work.brought, like.face_z_mm, mounting, planes)
        for file in work.brought.files:
            own = [each for each in asked if each.cutter == file.cutter]
            result.append(
                replace(
                    like,
                    cutter=file.cutter,
                    origin_mm=work.brought.zero_mm,
                    face_z_mm=zero_mm,
                    face_above_mm=like.face_z_mm - zero_mm,
                    operations=tuple(own or (replace(each, cutter=file.cutter) for each in asked)),
                    notes=(f"the {work.brought.height_zero.value}",),
                    brought=file,
                    places=((0.0, 0.0),),
                )
            )
    return tuple(result)


def _zero_mm(brought: Brought, standing_mm: float, mounting: Mounting, planes: FacePlanes) -> float:
    """Return the height of a file's Z0 in the face's heights."""
    if brought.height_zero is HeightZero.FINISHED:
        return planes.finished_mm
    if brought.height_zero is HeightZero.UNDERSIDE:
        return mounting.face_z_mm - mounting.stands_mm
    return standing_mm


def works_of(works: Sequence[BroughtWork], stage: Stage) -> tuple[BroughtWork, ...]:
    """Return those of a stage, in the order of the job."""
    return tuple(work for work in works if work.stage == stage.number)
