"""From stages to replay steps: what each stage does to the stack of surfaces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.job.records import FACES, FaceName, Job, Manner
from flushwork.process.rounds import FacePlanes, fill_levels_mm
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.resin.recess import keeps_share, recess_of
from flushwork.strata.steps import Action, Coat, CutStep, Fill, Plane, ReplayStep, Seal
from flushwork.toolpaths.orders import GcodeFile


def replay_steps(
    job: Job, faces: Sequence[DrawnFace], plan: Plan, gcode_files: Mapping[int, Sequence[GcodeFile]]
) -> tuple[ReplayStep, ...]:
    """Return what the replay shall do, stage by stage; ``gcode_files`` are by stage number."""
    by_name = {face.name: face for face in faces}
    return tuple(
        ReplayStep(
            stage=stage.number,
            actions=_actions(
                job,
                by_name[stage.face],
                plan.on(stage.face),
                stage,
                gcode_files.get(stage.number, ()),
            ),
        )
        for stage in plan.stages
    )


def _actions(
    job: Job, face: DrawnFace, planes: FacePlanes, stage: Stage, files: Sequence[GcodeFile]
) -> tuple[Action, ...]:
    if files:
        return tuple(_cut(file) for file in files if not file.order.bare)
    drawn = tuple(item for item in face.inlays if item.inlay.name in stage.subjects)
    actions: tuple[Action, ...] = ()
    match stage.kind:
        case StageKind.SURFACE:
            actions = (Plane(face.name, planes.flat_mm, "surfaced"),)
        case StageKind.SEAL if drawn:
            actions = _seal(job, face.name, drawn)
        case StageKind.FILL | StageKind.CAP:
            pour = _fill if stage.kind is StageKind.FILL else _cap
            actions = tuple(pour(job, item, planes, stage) for item in drawn)
        case StageKind.SAND:
            actions = (Plane(face.name, planes.rounds_mm[stage.round - 1], "sanded"),)
        case StageKind.FINISH if job.finish is not None:
            film_mm = job.finish.finish.film_mm * job.finish.coats
            actions = tuple(Coat(name, job.finish.finish.name, film_mm) for name in FACES)
        case _:
            pass
    return actions


def _cut(file: GcodeFile) -> CutStep:
    order = file.order
    return CutStep(
        face=order.face,
        file_name=file.file_name,
        program=file.program,
        bit=order.bit,
        origin_mm=order.origin_mm,
        zero_mm=order.face_z_mm,
    )


def _seal(job: Job, face: FaceName, drawn: Sequence[DrawnInlay]) -> tuple[Action, ...]:
    if job.sealer is None:
        return ()
    return (
        Seal(
            face=face,
            regions=tuple(item.region for item in drawn),
            material=job.sealer.name,
            film_mm=job.sealer.film_mm,
        ),
    )


def _fill(job: Job, drawn: DrawnInlay, planes: FacePlanes, stage: Stage) -> Fill:
    inlay = drawn.inlay
    levels_mm = fill_levels_mm(inlay, job.allowances, planes)
    last = stage.layer == len(levels_mm)
    level_mm = levels_mm[stage.layer - 1]
    under_mm = levels_mm[stage.layer - 2] if stage.layer > 1 else planes.floor_mm(inlay)
    overfilled = inlay.manner is Manner.OVERFILLED
    return Fill(
        face=stage.face,
        subject=inlay.name,
        mix=inlay.mix.name,
        region=drawn.region,
        level_mm=level_mm,
        overspill_mm=job.allowances.overspill_mm if overfilled and last else 0.0,
        keeps=keeps_share(inlay.mix, level_mm - under_mm),
        recess=recess_of(inlay.mix) if last and not overfilled else None,
        sealer_mm=_counted_mm(job),
    )


def _cap(job: Job, drawn: DrawnInlay, planes: FacePlanes, stage: Stage) -> Fill:
    cap = drawn.inlay.cap
    if cap is None:
        message = f"{drawn.inlay.name} has no cap"
        raise ValueError(message)
    return Fill(
        face=stage.face,
        subject=drawn.inlay.name,
        mix=cap.name,
        region=drawn.region,
        level_mm=planes.before_mm(stage.round) + drawn.inlay.cap_mm,
        overspill_mm=job.allowances.overspill_mm,
        keeps=keeps_share(cap, drawn.inlay.cap_mm),
        sealer_mm=_counted_mm(job),
    )


def _counted_mm(job: Job) -> float:
    """Return the film of the sealer on the cut wood, 0 without one: what it wets is counted."""
    return job.sealer.film_mm if job.sealer is not None else 0.0
