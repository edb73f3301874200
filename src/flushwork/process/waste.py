"""The waste of a blank: the wood outside the trim line that is free for recesses and marks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import shapely
from shapely import MultiPolygon, Point, Polygon

from flushwork.art.drawn import DrawnFace
from flushwork.art.placement import anchor_point
from flushwork.art.regions import many, united
from flushwork.job.records import FaceName, Job
from flushwork.shelf.items import KeepOut

Place = tuple[float, float]

KERF_MM: Final = 7.0
"""Width kept free around the trim line for the bit that trims, where none is known."""
BESIDE_MM: Final = 2.0
"""Wood left between a recess and the kerf or the blank's edge (assumed, 1.5 to 4 mm)."""


def keep_out_box(job: Job, keep: KeepOut) -> Polygon:
    """Return the area of a clamp in the frame of the face that is up."""
    whole = (0.0, 0.0, job.blank.length_mm, job.blank.width_mm)
    x_mm, y_mm = anchor_point(whole, keep.anchor)
    x_mm, y_mm = x_mm + keep.x_mm, y_mm + keep.y_mm
    return shapely.box(
        x_mm - keep.wide_mm / 2.0,
        y_mm - keep.deep_mm / 2.0,
        x_mm + keep.wide_mm / 2.0,
        y_mm + keep.deep_mm / 2.0,
    )


def keep_outs_of(job: Job, face: FaceName, setup: int) -> tuple[KeepOut, ...]:
    """Return the clamps that are there in a setup of a face."""
    return tuple(
        keep
        for keep in job.keep_outs
        if keep.face in ("", face) and (not keep.setups or setup in keep.setups)
    )


def waste(job: Job, face: DrawnFace, kerf_mm: float) -> MultiPolygon:
    """Return what of a face is free waste: off the trim line's kerf, the clamps and all artwork.

    Without a trim line there is none.
    """
    if job.outline.artwork is None:
        return MultiPolygon()
    clamps = [keep_out_box(job, keep) for keep in job.keep_outs if keep.face in ("", face.name)]
    drawn = [item.region for item in face.things]
    holes = [
        Point(place.x_mm, place.y_mm).buffer(pattern.holes.diameter_mm / 2.0)
        for pattern in face.holes
        for place in pattern.places
    ]
    taken = united([face.trim.buffer(kerf_mm), *clamps, *drawn, *holes])
    return many(face.blank.difference(taken))


def room(free: MultiPolygon, radius_mm: float) -> MultiPolygon:
    """Return where the middle of a round recess may lie, wood left all around it."""
    return many(free.buffer(-(radius_mm + BESIDE_MM)))


def without(free: MultiPolygon, places: Sequence[Place], radius_mm: float) -> MultiPolygon:
    """Return free waste less discs around places already taken."""
    return many(free.difference(united([Point(place).buffer(radius_mm) for place in places])))


def turned(job: Job, place: Place) -> Place:
    """Return where a place of one face lies in the frame of the other."""
    if job.blank.turn_about_x:
        return place[0], job.blank.width_mm - place[1]
    return job.blank.length_mm - place[0], place[1]
