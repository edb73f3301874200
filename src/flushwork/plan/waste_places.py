"""What goes where in the waste of each mounting: recesses, marks, and whose marks it reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.plan.locating import on_face, recesses
from flushwork.plan.marks import marks_of
from flushwork.plan.stages import Stage
from flushwork.plan.waste import BESIDE_MM, Place
from flushwork.plan.waste_work import kerf_of


@dataclass(frozen=True, slots=True)
class WastePlaces:
    """Marks, and the mounting whose marks are read, by the number of a mounting; recesses by face.

    All places are in the frame of the face that is up.
    """

    marks: dict[int, tuple[Place, ...]]
    reads: dict[int, int]
    recesses: dict[str, tuple[Place, ...]]


def waste_places(job: Job, faces: Sequence[DrawnFace], stages: Sequence[Stage]) -> WastePlaces:
    """Return the places of a plan's stages; empty where there is no room for them."""
    kerf_mm = kerf_of(job)
    let_in = recesses(job, faces, kerf_mm)
    there: dict[str, tuple[Place, ...]] = {
        face.name: on_face(job, let_in, face.name) if let_in is not None else () for face in faces
    }
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
    return WastePlaces(marks, reads, there)
