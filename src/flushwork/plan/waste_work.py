"""What is cut into the waste and the spoilboard: recesses for dowels or discs, witness marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from flushwork.job.records import Job
from flushwork.plan.drilling_work import bed_places, on_the_bed
from flushwork.plan.heights import FacePlanes
from flushwork.plan.locating import goes_through
from flushwork.plan.marks import BELOW_MM, SUBJECT
from flushwork.plan.stages import Mounting
from flushwork.plan.trim_choice import INTO_SPOILBOARD_MM, mark_cutter, recess_cutter, trim_cutter
from flushwork.plan.waste import KERF_MM, Place
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
