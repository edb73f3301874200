"""Where the two dowels or discs stand: in the waste, on the line the blank is flipped about.

On that line each stands behind itself once the blank has been flipped, so that one pair of
recesses in the spoilboard serves both faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shapely import LineString, MultiPolygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnFace
from flushwork.art.regions import many
from flushwork.job.records import Job
from flushwork.process.waste import BESIDE_MM, Place, room, turned, waste
from flushwork.shelf.items import Locating

UNEVEN_MM: Final = 4.0
"""The two stand this much unevenly about the middle where there is room for it, so that the blank
cannot lie end for end unnoticed (assumed, 2 to 6 mm)."""


@dataclass(frozen=True, slots=True)
class Recesses:
    """The places of the two in the front's frame, and the room there is at each end.

    ``places`` is empty where one end has no room.  ``free_mm`` is how long the axis runs through
    free waste at either end, ``needs_mm`` how much one of them needs; ``uneven_mm`` by how much a
    blank lying end for end would miss them.
    """

    places: tuple[Place, ...]
    free_mm: tuple[float, float]
    needs_mm: float
    uneven_mm: float = 0.0


def axis_of(job: Job) -> LineString:
    """Return the line the blank is flipped about, in either face's frame."""
    blank = job.blank
    if blank.turn_about_x:
        return LineString([(0.0, blank.width_mm / 2.0), (blank.length_mm, blank.width_mm / 2.0)])
    return LineString([(blank.length_mm / 2.0, 0.0), (blank.length_mm / 2.0, blank.width_mm)])


def recesses(job: Job, faces: Sequence[DrawnFace], kerf_mm: float) -> Recesses | None:
    """Return where the job's dowels or discs stand; None where it has none."""
    locating = job.locating
    if locating is None:
        return None
    radius_mm = (locating.diameter_mm + locating.play_mm) / 2.0
    free = _free_on_both(job, faces, kerf_mm)
    axis = axis_of(job)
    low, high = _ends(axis, free)
    needs_mm = 2.0 * (radius_mm + BESIDE_MM)
    narrow = room(free, radius_mm)
    near, far = _ends(axis, narrow)
    if near is None or far is None:
        return Recesses((), (_long(low), _long(high)), needs_mm)
    first_mm, second_mm = _uneven(axis.length, _along(axis, near), _along(axis, far))
    first, second = axis.interpolate(first_mm), axis.interpolate(second_mm)
    return Recesses(
        ((first.x, first.y), (second.x, second.y)),
        (_long(low), _long(high)),
        needs_mm,
        abs(axis.length - first_mm - second_mm),
    )


def free_ends_mm(job: Job, faces: Sequence[DrawnFace], kerf_mm: float) -> tuple[float, float]:
    """Return how long the line the blank is flipped about runs through free waste at each end.

    Free seen from either face: off the kerf, the clamps and all artwork.
    """
    low, high = _ends(axis_of(job), _free_on_both(job, faces, kerf_mm))
    return _long(low), _long(high)


def _free_on_both(job: Job, faces: Sequence[DrawnFace], kerf_mm: float) -> MultiPolygon:
    """Return the waste that is free seen from either face, in the front's frame."""
    found: BaseGeometry | None = None
    for face in faces:
        free: BaseGeometry = waste(job, face, kerf_mm)
        if face.name == "back":
            free = affine_transform(free, back_map(job.blank).numbers)
        found = free if found is None else found.intersection(free)
    return many(found) if found is not None else MultiPolygon()


def _ends(axis: LineString, free: MultiPolygon) -> tuple[LineString | None, LineString | None]:
    """Return the outermost free stretch of the axis in each of its halves."""
    shared = axis.intersection(free)
    parts = [
        part
        for part in getattr(shared, "geoms", [shared])
        if isinstance(part, LineString) and not part.is_empty
    ]
    middle = axis.length / 2.0
    halves: tuple[list[tuple[float, LineString]], list[tuple[float, LineString]]] = ([], [])
    for part in parts:
        at = axis.project(part.interpolate(0.5, normalized=True))
        halves[at > middle].append((abs(at - middle), part))
    low, high = (max(half, key=lambda each: each[0])[1] if half else None for half in halves)
    return low, high


def _along(axis: LineString, part: LineString) -> tuple[float, float]:
    """Return from where to where along the axis a part of it runs."""
    begin, end = sorted(axis.project(part.interpolate(share, normalized=True)) for share in (0, 1))
    return float(begin), float(end)


def _uneven(
    length_mm: float, near: tuple[float, float], far: tuple[float, float]
) -> tuple[float, float]:
    """Return a place in each stretch, uneven about the middle and near the stretches' middles.

    Where no two are uneven enough, those that are most.
    """
    middles = sum(near) / 2.0, sum(far) / 2.0
    pairs = [
        (first, second)
        for first in (middles[0], *near)
        for second in (
            middles[1],
            *far,
            length_mm - first - UNEVEN_MM,
            length_mm - first + UNEVEN_MM,
        )
        if far[0] <= second <= far[1]
    ]

    def apart(pair: tuple[float, float]) -> float:
        return abs(length_mm - pair[0] - pair[1])

    def moved(pair: tuple[float, float]) -> float:
        return abs(pair[0] - middles[0]) + abs(pair[1] - middles[1])

    enough = [pair for pair in pairs if apart(pair) >= UNEVEN_MM - 1e-9]
    return min(enough, key=moved) if enough else max(pairs, key=apart)


def _long(part: LineString | None) -> float:
    return 0.0 if part is None else float(part.length)


def on_face(job: Job, found: Recesses, face: str) -> tuple[Place, ...]:
    """Return the places of the two in a face's frame."""
    if face == "front":
        return found.places
    return tuple(turned(job, place) for place in found.places)


def goes_through(locating: Locating) -> bool:
    """Whether the recesses go right through the blank."""
    return locating.blank_mm <= 0.0
