"""Drilling: all holes of one bit as one order, over every piece that lies on the bed.

Which cutter does what no fit decides: trims, levels, drills, bores recesses, cuts marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from flushwork.art.drawn import DrawnFace, DrawnHoles
from flushwork.core.tolerances import SLOT_WIDTH_MM
from flushwork.job.records import Job
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Cutter, CutterKind, Locating
from flushwork.toolpaths.drill import drilling_order
from flushwork.toolpaths.orders import DrillCut

INTO_SPOILBOARD_MM: Final = 0.3
"""How far a through cut goes into the spoilboard: enough to part the last fibres (common
practice, no source)."""
MARK_MM: Final = 1.6
"""Width that a witness mark may take (assumed, 1 to 2 mm: what a loupe sees whole)."""
LEAST_TRIM_CUTTER_MM: Final = 3.0
"""Outlines are cut with a cutter at least this wide (common practice, no source)."""


def trim_cutter(job: Job) -> Cutter | None:
    """Return the cutter for the outline: the job's choice, or the narrowest stout one."""
    if job.outline.cutter is not None:
        return job.outline.cutter
    stout = [
        item
        for item in job.shop.cutters
        if item.kind is CutterKind.FLAT
        and item.diameter_mm >= LEAST_TRIM_CUTTER_MM
        and item.flute_mm
        >= job.blank.thickness_mm - 2.0 * job.allowances.flatten_mm + INTO_SPOILBOARD_MM
    ]
    return min(stout, key=lambda item: item.diameter_mm, default=None)


def levelling_cutter(job: Job) -> Cutter | None:
    """Return the widest flat cutter owned."""
    flats = [item for item in job.shop.cutters if item.kind is CutterKind.FLAT]
    return max(flats, key=lambda item: item.diameter_mm, default=None)


def hole_cutter(job: Job, pattern: DrawnHoles) -> Cutter | None:
    """Return the cutter for a hole pattern: the job's choice, or the best that is owned.

    A flat floor wants a flat cutter, the hole's own width or the widest below it; a drill of the
    hole's width serves where the floor may be pointed.
    """
    holes = pattern.holes
    if holes.cutter is not None:
        return holes.cutter
    owned = [item for item in job.shop.cutters if item.plunges]
    drills = [
        item
        for item in owned
        if item.kind is CutterKind.DRILL
        and abs(item.diameter_mm - holes.diameter_mm) <= SLOT_WIDTH_MM
    ]
    if drills and not holes.flat_bottom:
        return drills[0]
    deep_mm = holes.depth_mm if not holes.through else job.blank.thickness_mm + INTO_SPOILBOARD_MM
    flats = [
        item
        for item in owned
        if item.kind is CutterKind.FLAT
        and item.diameter_mm <= holes.diameter_mm + SLOT_WIDTH_MM
        and item.flute_mm >= deep_mm
    ]
    return max(flats, key=lambda item: item.diameter_mm, default=None)


def recess_cutter(job: Job, locating: Locating, deepest_mm: float) -> Cutter | None:
    """Return the cutter that bores the recesses: the one named, or the widest flat that fits."""
    if locating.cutter:
        return next((each for each in job.shop.cutters if each.name == locating.cutter), None)
    wide_mm = locating.diameter_mm + locating.play_mm + SLOT_WIDTH_MM
    fitting = [
        each
        for each in job.shop.cutters
        if each.kind is CutterKind.FLAT
        and each.plunges
        and each.diameter_mm <= wide_mm
        and each.flute_mm >= deepest_mm
    ]
    return max(fitting, key=lambda each: each.diameter_mm, default=None)


def mark_cutter(job: Job, used: Sequence[Cutter]) -> Cutter | None:
    """Return the cutter for marks: a vee or a narrow one the mounting uses anyway, or one owned."""
    for cutters in (used, job.shop.cutters):
        fitting = [
            cutter
            for cutter in cutters
            if cutter.plunges
            and (
                cutter.kind is CutterKind.VEE
                or (cutter.kind is CutterKind.FLAT and cutter.diameter_mm <= MARK_MM)
            )
        ]
        if fitting:
            return min(
                fitting, key=lambda each: (each.kind is not CutterKind.VEE, each.diameter_mm)
            )
    return None


Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Hole:
    """One hole to drill: where, and the pattern it belongs to by its place in the row."""

    place: Place
    pattern: int


def bed_places(job: Job) -> tuple[Place, ...]:
    """Return where the pieces on the bed lie, counted from the first."""
    bed = job.bed
    return tuple((number * bed.step_x_mm, number * bed.step_y_mm) for number in range(bed.pieces))


def on_the_bed(points: Sequence[Place], places: Sequence[Place]) -> tuple[Place, ...]:
    """Return the holes at ``points`` on every piece, which lie at ``places``."""
    return tuple((x + dx, y + dy) for dx, dy in places for x, y in points)


def drill_operations(
    job: Job,
    face: DrawnFace,
    thickness_mm: float,
    above_mm: float = 0.0,
) -> tuple[DrillCut, ...]:
    """Return the drilling of a face, bit by bit: each bit's holes in one short order.

    A run of holes of one pattern is one operation; a bit that serves several patterns goes from
    one to the other where that is shortest.  ``above_mm`` is how much wood stands above the
    finished face, which depths count from.
    """
    by_bit: dict[Cutter, list[int]] = {}
    for number, pattern in enumerate(face.holes):
        cutter = hole_cutter(job, pattern)
        if cutter is not None and cutter.diameter_mm <= pattern.holes.diameter_mm + SLOT_WIDTH_MM:
            by_bit.setdefault(cutter, []).append(number)
    places = bed_places(job)
    result: list[DrillCut] = []
    for cutter, numbers in by_bit.items():
        holes = [
            _Hole((place.x_mm + dx, place.y_mm + dy), number)
            for dx, dy in places
            for number in numbers
            for place in face.holes[number].places
        ]
        order = _short_order(tuple(hole.place for hole in holes))
        for number, run in groupby((holes[index] for index in order), key=lambda one: one.pattern):
            points = tuple(hole.place for hole in run)
            result.append(_operation(face.holes[number], cutter, points, thickness_mm, above_mm))
    return tuple(result)


@memoized
def _short_order(places: tuple[Place, ...]) -> tuple[int, ...]:
    return drilling_order(places, (0.0, 0.0))


def _operation(
    pattern: DrawnHoles,
    cutter: Cutter,
    points: tuple[Place, ...],
    thickness_mm: float,
    above_mm: float,
) -> DrillCut:
    holes = pattern.holes
    return DrillCut(
        subject=holes.name,
        cutter=cutter,
        top_mm=0.0,
        floor_mm=-(thickness_mm + INTO_SPOILBOARD_MM)
        if holes.through
        else -(holes.depth_mm + above_mm),
        points=points,
        hole_mm=holes.diameter_mm,
        flat_bottom=holes.flat_bottom and not holes.through,
    )
