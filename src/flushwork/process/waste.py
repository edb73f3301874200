"""The waste of a blank: what of it is free, where dowels, discs and registration marks stand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import LineString, MultiPolygon, Point, Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnFace
from flushwork.art.placement import anchor_point
from flushwork.art.regions import many, united
from flushwork.job.records import FaceName, Job
from flushwork.process.orders.drill_orders import MARK_MM
from flushwork.shelf.items import Holding, KeepOut, Locating

Place = tuple[float, float]

_STOPS = re.compile(r"\bstops?\b")
STOP_MM: Final = 6.0
"""How thick a stop is drawn."""

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


def stop_boxes(job: Job, holding: Holding) -> tuple[Polygon, ...]:
    """Return where the two stops of a corner stand, as far as a holding's words speak of stops.

    By the corner at zero, along a third of each edge: enough to draw.
    """
    if not _STOPS.search(holding.locates_by.lower()):
        return ()
    length_mm, width_mm = job.blank.length_mm, job.blank.width_mm
    return (
        shapely.box(length_mm / 12.0, -STOP_MM, length_mm * 5.0 / 12.0, 0.0),
        shapely.box(-STOP_MM, width_mm / 12.0, 0.0, width_mm * 5.0 / 12.0),
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


# ---- Where the two dowels or discs stand: in the waste, on the line the blank is flipped about
#
# On that line each stands behind itself once the blank has been flipped, so that one pair of
# recesses in the spoilboard serves both faces.


UNEVEN_MM: Final = 3.0
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
    """Return a place in each stretch, uneven about the middle and as far from the ends as may be.

    Short grain between a hole and the end breaks out.  Where no two are uneven enough, those that
    are most.
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

    def inward(pair: tuple[float, float]) -> tuple[float, float]:
        ends = pair[0], length_mm - pair[1]
        return round(min(ends), 6), round(sum(ends), 6)

    enough = [pair for pair in pairs if apart(pair) >= UNEVEN_MM - 1e-9]
    return max(enough, key=inward) if enough else max(pairs, key=apart)


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


# ---- Where registration marks are cut: four in the waste near the corners, anew in each setup


SUBJECT: Final = "registration marks"
APART_MM: Final = 4.0
"""From one setup's mark to the next one's beside it (assumed, 3 to 6 mm)."""
BELOW_MM: Final = 0.3
"""Marks reach this far below the finished face, so that sanding leaves them (assumed, 0.2 to 0.5
mm)."""
VARIATION: Final = 0.4
"""Marks closer than this share of the blank's length or width tell too little of turn and stretch
(assumed, 0.3 to 0.6)."""


def marks_of(
    job: Job,
    face: DrawnFace,
    setups: int,
    taken: Sequence[Place],
    taken_mm: float,
    kerf_mm: float,
) -> tuple[tuple[Place, ...], ...]:
    """Return the marks of each setup of a face, four each; none from where room ends.

    ``taken`` are recesses of the radius ``taken_mm`` already in the waste.  The marks are counted
    from the lower left corner against the clock's sense: lower left, lower right, upper right,
    upper left.
    """
    blank = job.blank
    free = without(waste(job, face, kerf_mm), taken, taken_mm)
    left = room(free, MARK_MM / 2.0)
    corners = (
        (0.0, 0.0),
        (blank.length_mm, 0.0),
        (blank.length_mm, blank.width_mm),
        (0.0, blank.width_mm),
    )
    result: list[tuple[Place, ...]] = []
    for _ in range(setups):
        four: list[Place] = []
        for corner in corners:
            place = _nearest(left, corner)
            if place is None:
                break
            four.append(place)
            left = without(left, [place], APART_MM)
        whole = len(four) == len(corners) and _variation(job, four)
        result.append(tuple(four) if whole else ())
    return tuple(result)


def _nearest(free: MultiPolygon, corner: Place) -> Place | None:
    if free.is_empty:
        return None
    found = nearest_points(free, Point(corner))[0]
    return round(found.x, 3), round(found.y, 3)


def _variation(job: Job, four: Sequence[Place]) -> bool:
    xs, ys = [place[0] for place in four], [place[1] for place in four]
    return (
        max(xs) - min(xs) >= VARIATION * job.blank.length_mm
        and max(ys) - min(ys) >= VARIATION * job.blank.width_mm
        and abs(four[1][0] - four[0][0]) >= VARIATION * job.blank.length_mm
        and abs(four[2][1] - four[1][1]) >= VARIATION * job.blank.width_mm
    )
