"""The mountings that a plan's stages need, and what goes where in the waste of each."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.plan.heights import FacePlanes
from flushwork.plan.locating import on_face, recesses
from flushwork.plan.marks import marks_of
from flushwork.plan.stages import Mounting, Stage, StageKind
from flushwork.plan.waste import BESIDE_MM, Place
from flushwork.plan.waste_work import kerf_of


def mountings_for(
    job: Job,
    faces: Sequence[DrawnFace],
    stages: Sequence[Stage],
    planes: Sequence[FacePlanes],
) -> tuple[Mounting, ...]:
    """Return the mountings of a row of stages, in working order; ``planes`` are of the faces.

    Recesses and marks are left out where there is no room for them.
    """
    own = {each.face: each for each in planes}
    stands_mm = {each.face: each.flat_mm for each in planes}
    kerf_mm = kerf_of(job)
    let_in = recesses(job, faces, kerf_mm)
    there: dict[str, tuple[Place, ...]] = {
        face.name: on_face(job, let_in, face.name) if let_in is not None else () for face in faces
    }
    marks, reads = _marks(job, faces, stages, there, kerf_mm)
    result: list[Mounting] = []
    for stage in stages:
        if stage.mounting and (not result or result[-1].number != stage.mounting):
            result.append(
                Mounting(
                    number=stage.mounting,
                    face=stage.face,
                    holding=job.holding,
                    stages=tuple(
                        other.number for other in stages if other.mounting == stage.mounting
                    ),
                    origin_mm=(0.0, 0.0),
                    face_z_mm=stands_mm[stage.face],
                    stands_mm=job.blank.thickness_mm + stands_mm["front"] + stands_mm["back"],
                    turned=bool(result) and result[-1].face != stage.face,
                    marks=marks.get(stage.mounting, ()),
                    reads=reads.get(stage.mounting, 0),
                    recesses=there.get(stage.face, ()),
                )
            )
        if stage.kind is StageKind.SAND:
            stands_mm[stage.face] = own[stage.face].rounds_mm[stage.round - 1]
    return tuple(result)


def _marks(
    job: Job,
    faces: Sequence[DrawnFace],
    stages: Sequence[Stage],
    there: dict[str, tuple[Place, ...]],
    kerf_mm: float,
) -> tuple[dict[int, tuple[Place, ...]], dict[int, int]]:
    """Return the marks of each mounting by its number, and the mounting whose marks it reads.

    ``there`` are the recesses of each face, in the frame of the face that is up, as the marks are.
    """
    marks: dict[int, tuple[Place, ...]] = {}
    reads: dict[int, int] = {}
    wide_mm = job.locating.diameter_mm if job.locating is not None else 0.0
    for face in faces if job.marks else ():
        mounted = [each.mounting for each in stages if each.mounting and each.face == face.name]
        numbers = list(dict.fromkeys(mounted))
        taken_mm = wide_mm / 2.0 + BESIDE_MM
        found = marks_of(job, face, len(numbers), there[face.name], taken_mm, kerf_mm)
        marks |= dict(zip(numbers, found, strict=True))
        reads |= {after: before for before, after in pairwise(numbers) if marks[before]}
    return marks, reads
