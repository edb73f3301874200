"""Where the strips of tape go under a blank, so that as much of it is held as was counted on.

Strips run along the length, evenly across the width.  They are cut out where a bit comes through:
tape gums it, and is no longer under what it should hold.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import MultiPolygon, Point
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnFace
from flushwork.art.regions import many, united
from flushwork.fit.grip import grip_of
from flushwork.job.records import Job
from flushwork.process.orders.waste_cuts import kerf_of
from flushwork.process.stages import Setup
from flushwork.process.waste import goes_through

BESIDE_TAPE_MM: Final = 1.0
"""Kept free of tape around what is cut right through (assumed, 0.5 to 3 mm)."""


@dataclass(frozen=True, slots=True)
class TapePlan:
    """The strips under a blank, as seen through it from above.

    ``rows`` strips of ``wide_mm``; ``taped`` what of them is left where nothing comes through,
    ``share`` how much that is of the underside, ``inside_share`` of the piece within the trim line
    (of the blank, where it is not trimmed); ``wanted`` what the holding counts on.
    """

    rows: int
    wide_mm: float
    pitch_mm: float
    taped: MultiPolygon
    share: float
    inside_share: float
    wanted: float

    @property
    def enough(self) -> bool:
        """Whether as much is taped, of the blank and of the piece in it, as is counted on."""
        return min(self.share, self.inside_share) >= self.wanted - 1e-9


def tape_plan(job: Job, faces: Sequence[DrawnFace], setup: Setup) -> TapePlan | None:
    """Return where tape goes under a blank in a setup; None where its holding has none.

    The fewest rows that are enough, else as many as there is room for.
    """
    grip = grip_of(setup.holding)
    if grip is None or grip.tape_share <= 0.0:
        return None
    face = next(each for each in faces if each.name == setup.face)
    free = many(face.blank.difference(_through(job, faces, face, setup)))
    inside = face.trim if job.outline.artwork is not None else face.blank
    wide_mm = setup.holding.tape_mm
    most = math.ceil(job.blank.width_mm / wide_mm - 1e-9)
    fewest = min(most, max(1, math.floor(grip.tape_share * job.blank.width_mm / wide_mm)))
    for rows in range(fewest, most + 1):
        plan = _rows(job, face, free, inside, rows, wide_mm, grip.tape_share)
        if plan.enough:
            break
    return plan


def _rows(
    job: Job,
    face: DrawnFace,
    free: MultiPolygon,
    inside: MultiPolygon,
    rows: int,
    wide_mm: float,
    wanted: float,
) -> TapePlan:
    """Return so many rows; the last ones meet edge to edge where they fill the whole width."""
    length_mm, width_mm = job.blank.length_mm, job.blank.width_mm
    pitch_mm = max(width_mm / rows, wide_mm)
    first_mm = 0.0 if rows * wide_mm >= width_mm else (pitch_mm - wide_mm) / 2.0
    strips = [
        shapely.box(0.0, near_mm, length_mm, min(near_mm + wide_mm, width_mm))
        for near_mm in (first_mm + number * pitch_mm for number in range(rows))
    ]
    taped = many(united(strips).intersection(free))
    held = taped.intersection(inside)
    return TapePlan(
        rows=rows,
        wide_mm=wide_mm,
        pitch_mm=pitch_mm,
        taped=taped,
        share=float(taped.area / face.blank.area),
        inside_share=float(held.area / inside.area),
        wanted=wanted,
    )


def _through(job: Job, faces: Sequence[DrawnFace], up: DrawnFace, setup: Setup) -> MultiPolygon:
    """Return what is cut right through a blank, or already open in its underside, from above."""
    trimmed = job.outline.artwork is not None
    cut: list[BaseGeometry] = [up.trim.buffer(kerf_of(job)).difference(up.trim)] if trimmed else []
    for face in faces:
        own: list[BaseGeometry] = [
            Point(place.x_mm, place.y_mm).buffer(pattern.holes.diameter_mm / 2.0)
            for pattern in face.holes
            if pattern.holes.through or face.name != up.name
            for place in pattern.places
        ]
        if face.name != up.name:
            own += [pocket.region for pocket in face.pockets]
            own = [affine_transform(each, back_map(job.blank).numbers) for each in own]
        cut += own
    if job.locating is not None and goes_through(job.locating):
        radius_mm = job.locating.diameter_mm / 2.0
        cut += [Point(place).buffer(radius_mm) for place in setup.recesses]
    return many(united([each.buffer(BESIDE_TAPE_MM) for each in cut]))
