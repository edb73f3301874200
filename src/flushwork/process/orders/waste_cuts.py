"""What is cut into the waste and the spoilboard: recesses for dowels or discs, registration marks.

The setups that a plan's stages need, and what goes where in the waste of each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from shapely import MultiPolygon, Point

from flushwork.art.drawn import DrawnFace
from flushwork.art.regions import many, united
from flushwork.job.keys.cut_list import INTO_SPOILBOARD_MM
from flushwork.job.records import FaceName, Job
from flushwork.process.orders.drill_orders import (
    bed_places,
    mark_bit,
    on_the_bed,
    recess_bit,
    trim_bit,
)
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Setup, Stage, StageKind
from flushwork.process.waste import (
    BELOW_MM,
    BESIDE_MM,
    KERF_MM,
    SUBJECT,
    Place,
    goes_through,
    keep_out_box,
    marks_of,
    on_face,
    recesses,
    stop_boxes,
)
from flushwork.shelf.items import Bit, Locating
from flushwork.toolpaths.orders import CutOrder, DrillCut

BESIDE_KERF_MM: Final = 0.5
"""Kept free beside the kerf of the trimming bit."""


def kerf_of(job: Job) -> float:
    """Return how far around the trim line its own cutting reaches."""
    bit = trim_bit(job)
    return KERF_MM if bit is None else bit.diameter_mm + BESIDE_KERF_MM


def blank_depth_mm(locating: Locating, stands_mm: float) -> float:
    """Return how deep the recesses go into a blank that stands so thick."""
    return stands_mm + INTO_SPOILBOARD_MM if goes_through(locating) else locating.blank_mm


def locating_orders(job: Job, setup: Setup, like: CutOrder) -> tuple[CutOrder, ...]:
    """Return the file for the bare spoilboard and that for the blank, none without room.

    The recesses are bored for every piece on the bed of ``like``.
    """
    locating = job.locating
    if locating is None or not setup.recesses:
        return ()
    deep_mm = blank_depth_mm(locating, setup.stands_mm)
    bit = recess_bit(job, locating, max(deep_mm, locating.board_mm))
    if bit is None:
        return ()
    like = replace(like, bit=bit)
    places = on_the_bed(setup.recesses, like.places)
    board = _bored(locating, bit, places, locating.board_mm)
    return (
        replace(
            like,
            name=f"Bore the spoilboard for the {locating.by}",
            face_z_mm=setup.face_z_mm - setup.stands_mm,
            operations=(board,),
            bare=True,
            over_mm=like.over_mm + setup.stands_mm if like.over_mm else 0.0,
        ),
        replace(
            like,
            name=f"Bore the blank for the {locating.by}",
            operations=(_bored(locating, bit, places, deep_mm),),
        ),
    )


def _bored(locating: Locating, bit: Bit, places: tuple[Place, ...], depth_mm: float) -> DrillCut:
    return DrillCut(
        subject=locating.by,
        bit=bit,
        top_mm=0.0,
        floor_mm=-depth_mm,
        points=places,
        hole_mm=locating.diameter_mm + locating.play_mm,
        flat_bottom=not goes_through(locating),
    )


def stands_on(job: Job, faces: Sequence[DrawnFace], face: FaceName) -> MultiPolygon:
    """Return where dowels, clamps and stops are about a face that is up, in any of its setups."""
    found = recesses(job, faces, kerf_of(job))
    radius_mm = job.locating.diameter_mm / 2.0 if job.locating is not None else 0.0
    dowels = [Point(each).buffer(radius_mm) for each in on_face(job, found, face)] if found else []
    clamps = [keep_out_box(job, each) for each in job.keep_outs if each.face in ("", face)]
    return many(united([*dowels, *clamps, *stop_boxes(job, job.holding)]))


def mark_operations(
    job: Job, setup: Setup, planes: FacePlanes, used: Sequence[Bit]
) -> tuple[DrillCut, ...]:
    """Return the registration marks of a setup on all pieces of the bed; none without room.

    They are drilled by one of the bits ``used``.
    """
    bit = mark_bit(job, used)
    if bit is None or not setup.marks:
        return ()
    return (
        DrillCut(
            subject=SUBJECT,
            bit=bit,
            top_mm=0.0,
            floor_mm=planes.finished_mm - setup.face_z_mm - BELOW_MM,
            points=on_the_bed(setup.marks, bed_places(job)),
            flat_bottom=False,
        ),
    )


def setups_for(
    job: Job,
    faces: Sequence[DrawnFace],
    stages: Sequence[Stage],
    planes: Sequence[FacePlanes],
) -> tuple[Setup, ...]:
    """Return the setups of a row of stages, in working order; ``planes`` are of the faces.

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
    result: list[Setup] = []
    for stage in stages:
        if stage.setup and (not result or result[-1].number != stage.setup):
            result.append(
                Setup(
                    number=stage.setup,
                    face=stage.face,
                    holding=job.holding,
                    stages=tuple(other.number for other in stages if other.setup == stage.setup),
                    origin_mm=(0.0, 0.0),
                    face_z_mm=stands_mm[stage.face],
                    stands_mm=job.blank.thickness_mm + stands_mm["front"] + stands_mm["back"],
                    turned=bool(result) and result[-1].face != stage.face,
                    marks=marks.get(stage.setup, ()),
                    reads=reads.get(stage.setup, 0),
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
    """Return the marks of each setup by its number, and the setup whose marks it reads.

    ``there`` are the recesses of each face, in the frame of the face that is up, as the marks are.
    """
    marks: dict[int, tuple[Place, ...]] = {}
    reads: dict[int, int] = {}
    wide_mm = job.locating.diameter_mm if job.locating is not None else 0.0
    for face in faces if job.marks else ():
        mounted = [each.setup for each in stages if each.setup and each.face == face.name]
        numbers = list(dict.fromkeys(mounted))
        taken_mm = wide_mm / 2.0 + BESIDE_MM
        found = marks_of(job, face, len(numbers), there[face.name], taken_mm, kerf_mm)
        marks |= dict(zip(numbers, found, strict=True))
        reads |= {after: before for before, after in pairwise(numbers) if marks[before]}
    return marks, reads
