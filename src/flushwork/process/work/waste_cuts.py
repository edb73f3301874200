"""What is cut into the waste and the spoilboard: recesses for dowels or discs, witness marks.

The mountings that a plan's stages need, and what goes where in the waste of each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.process.locating import goes_through, on_face, recesses
from flushwork.process.registration_marks import BELOW_MM, SUBJECT, marks_of
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Mounting, Stage, StageKind
from flushwork.process.waste import BESIDE_MM, KERF_MM, Place
from flushwork.process.work.drill_orders import (
    INTO_SPOILBOARD_MM,
    bed_places,
    mark_cutter,
    on_the_bed,
    recess_cutter,
    trim_cutter,
)
from flushwork.shelf.items import Cutter, Locating
from flushwork.toolpaths.orders import CutOrder, DrillCut

BESIDE_KERF_MM: Final = 0.5
"""Kept free beside the kerf of the trimming cutter."""


def kerf_of(job: Job) -> float:
    """Return how far around the trim line its own cutting reaches."""
    cutter = trim_cutter(job)
    return KERF_MM if cutter is None else cutter.diameter_mm + BESIDE_KERF_MM


def blank_depth_mm(locating: Locating, stands_mm: float) -> float:
    """Return how deep the recesses go into a blank that stands so thick."""
    return stands_mm + INTO_SPOILBOARD_MM if goes_through(locating) else locating.blank_mm


def locating_orders(job: Job, mounting: Mounting, like: CutOrder) -> tuple[CutOrder, ...]:
    """Return the file for the bare spoilboard and that for the blank, none without room.

    The recesses are bored for every piece on the bed of ``like``.
    """
    locating = job.locating
    if locating is None or not mounting.recesses:
        return ()
    deep_mm = blank_depth_mm(locating, mounting.stands_mm)
    cutter = recess_cutter(job, locating, max(deep_mm, locating.board_mm))
    if cutter is None:
        return ()
    like = replace(like, cutter=cutter)
    places = on_the_bed(mounting.recesses, like.places)
    board = _bored(locating, cutter, places, locating.board_mm)
    return (
        replace(
            like,
            name=f"Bore the spoilboard for the {locating.by}",
            face_z_mm=mounting.face_z_mm - mounting.stands_mm,
            operations=(board,),
            bare=True,
            over_mm=like.over_mm + mounting.stands_mm if like.over_mm else 0.0,
        ),
        replace(
            like,
            name=f"Bore the blank for the {locating.by}",
            operations=(_bored(locating, cutter, places, deep_mm),),
        ),
    )


def _bored(
    locating: Locating, cutter: Cutter, places: tuple[Place, ...], depth_mm: float
) -> DrillCut:
    return DrillCut(
        subject=locating.by,
        cutter=cutter,
        top_mm=0.0,
        floor_mm=-depth_mm,
        points=places,
        hole_mm=locating.diameter_mm + locating.play_mm,
        flat_bottom=not goes_through(locating),
    )


def mark_operations(
    job: Job, mounting: Mounting, planes: FacePlanes, used: Sequence[Cutter]
) -> tuple[DrillCut, ...]:
    """Return the witness marks of a mounting on all pieces of the bed; none without room.

    They are drilled by one of the cutters ``used``.
    """
    cutter = mark_cutter(job, used)
    if cutter is None or not mounting.marks:
        return ()
    return (
        DrillCut(
            subject=SUBJECT,
            cutter=cutter,
            top_mm=0.0,
            floor_mm=planes.finished_mm - mounting.face_z_mm - BELOW_MM,
            points=on_the_bed(mounting.marks, bed_places(job)),
            flat_bottom=False,
        ),
    )


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
