"""Which stages are cut by imported files, and what that means for bits and artwork."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from flushwork.art.drawn import DrawnFace, DrawnHoles, DrawnInlay, DrawnPocket
from flushwork.job.records import HeightZero, Imported, Job
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Plan, Setup, Stage, StageKind
from flushwork.process.user_order import stages_named
from flushwork.shelf.items import Bit, BitKind
from flushwork.toolpaths.orders import CutOrder, Operation

MACHINE_KINDS: Final = (
    StageKind.CUT,
    StageKind.MILL_FLUSH,
    StageKind.SHAPE,
    StageKind.DRILL,
    StageKind.TRIM,
)
BITS_FROM: Final = (StageKind.CUT, StageKind.SHAPE, StageKind.DRILL)
"""Stages whose subjects are cut by the bits of imported files."""
WHOLE: Final = "setup "


@dataclass(frozen=True, slots=True)
class ImportedWork:
    """The stage that imported files do, and the one subject of it they do ("" for all)."""

    stage: int
    subject: str
    imported: Imported

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
            if stage.kind in MACHINE_KINDS and number == str(stage.setup)
        )
    return tuple(
        (plan.stages[each.index].number, each.subject)
        for each in stages_named(plan.stages, step)
        if plan.stages[each.index].kind in MACHINE_KINDS
    )


def imported_work(job: Job, plan: Plan) -> tuple[ImportedWork, ...]:
    """Return what imported files do; a step that names no stage, or several, does nothing.

    The check tells of such a step.
    """
    result: list[ImportedWork] = []
    for imported in job.imported:
        meant = stages_meant(plan, imported.step)
        if len(meant) == 1:
            result.append(ImportedWork(*meant[0], imported))
    return tuple(result)


def with_imported_bits(
    job: Job, faces: Sequence[DrawnFace], plan: Plan
) -> tuple[Job, tuple[DrawnFace, ...]]:
    """Return the job and its faces with the bits of imported files as those to be used.

    What such a file can reach, and so what it is held against, follows from its own bits.
    """
    chosen: dict[str, tuple[Bit, ...]] = {}
    outline = job.outline
    for work in imported_work(job, plan):
        stage = plan.stage(work.stage)
        bits = tuple(dict.fromkeys(file.bit for file in work.imported.files))
        if stage.kind is StageKind.TRIM and bits:
            outline = replace(outline, bit=bits[-1])
        for subject in stage.subjects:
            if stage.kind in BITS_FROM and work.does(subject) and bits:
                chosen[subject] = bits
    if not chosen and outline == job.outline:
        return job, tuple(faces)
    changed = tuple(
        replace(
            face,
            inlays=tuple(_inlay(item, chosen) for item in face.inlays),
            holes=tuple(_holes(item, chosen) for item in face.holes),
            pockets=tuple(_pocket(item, chosen) for item in face.pockets),
        )
        for face in faces
    )
    return replace(job, outline=outline), changed


def _inlay(drawn: DrawnInlay, chosen: Mapping[str, tuple[Bit, ...]]) -> DrawnInlay:
    bits = chosen.get(drawn.inlay.name)
    if bits is None:
        return drawn
    return replace(drawn, inlay=replace(drawn.inlay, bits=_wanted(drawn.inlay.v_bit, bits)))


def _pocket(drawn: DrawnPocket, chosen: Mapping[str, tuple[Bit, ...]]) -> DrawnPocket:
    bits = chosen.get(drawn.pocket.name)
    if bits is None:
        return drawn
    return replace(drawn, pocket=replace(drawn.pocket, bits=_wanted(drawn.pocket.v_bit, bits)))


def _wanted(engraved: bool, bits: tuple[Bit, ...]) -> tuple[Bit, ...]:
    return tuple(each for each in bits if (each.kind is BitKind.V_BIT) == engraved) or bits


def _holes(drawn: DrawnHoles, chosen: Mapping[str, tuple[Bit, ...]]) -> DrawnHoles:
    bits = chosen.get(drawn.holes.name)
    if bits is None:
        return drawn
    fitting = [each for each in bits if each.diameter_mm <= drawn.holes.diameter_mm + 1e-6]
    best = max(fitting or bits, key=lambda each: each.diameter_mm)
    return replace(drawn, holes=replace(drawn.holes, bit=best))


def ours(operations: Sequence[Operation], works: Sequence[ImportedWork]) -> tuple[Operation, ...]:
    """Return the operations of a stage that no imported file does."""
    return tuple(each for each in operations if not any(work.does(each.subject) for work in works))


def imported_orders(
    like: CutOrder,
    operations: Sequence[Operation],
    works: Sequence[ImportedWork],
    setup: Setup,
    planes: FacePlanes,
) -> tuple[CutOrder, ...]:
    """Return the orders of a stage's imported files, in the order they are run.

    ``like`` is an order of the same stage; ``operations`` are all of that stage.
    """
    result: list[CutOrder] = []
    for work in works:
        asked = [each for each in operations if work.does(each.subject)]
        zero_mm = _zero_mm(work.imported, like.face_z_mm, setup, planes)
        for file in work.imported.files:
            own = [each for each in asked if each.bit == file.bit]
            result.append(
                replace(
                    like,
                    bit=file.bit,
                    origin_mm=work.imported.zero_mm,
                    face_z_mm=zero_mm,
                    face_above_mm=like.face_z_mm - zero_mm,
                    operations=tuple(own or (replace(each, bit=file.bit) for each in asked)),
                    notes=(f"the {work.imported.height_zero.value}",),
                    imported=file,
                    places=((0.0, 0.0),),
                )
            )
    return tuple(result)


def _zero_mm(imported: Imported, standing_mm: float, setup: Setup, planes: FacePlanes) -> float:
    """Return the height of a file's Z0 in the face's heights."""
    if imported.height_zero is HeightZero.FINISHED:
        return planes.finished_mm
    if imported.height_zero is HeightZero.UNDERSIDE:
        return setup.face_z_mm - setup.stands_mm
    return standing_mm


def works_of(works: Sequence[ImportedWork], stage: Stage) -> tuple[ImportedWork, ...]:
    """Return those of a stage, in the order of the job."""
    return tuple(work for work in works if work.stage == stage.number)
