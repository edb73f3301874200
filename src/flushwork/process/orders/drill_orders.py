"""Drilling: all holes of one bit as one order, over every piece that lies on the bed.

Which bit does what no fit decides: trims, levels, drills, bores recesses, cuts marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from flushwork.art.drawn import DrawnFace, DrawnHoles
from flushwork.core.tolerances import SLOT_WIDTH_MM
from flushwork.job.keys.cut_list import INTO_SPOILBOARD_MM, stout_bit
from flushwork.job.records import Job
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Bit, BitKind, Locating
from flushwork.toolpaths.drill import drilling_order
from flushwork.toolpaths.orders import DrillCut

MARK_MM: Final = 1.6
"""Width that a registration mark may take (assumed, 1 to 2 mm: what a loupe sees whole)."""


def trim_bit(job: Job) -> Bit | None:
    """Return the bit for the outline: the job's choice, or the narrowest stout one."""
    if job.outline.bit is not None:
        return job.outline.bit
    return stout_bit(job.shop.bits, job.blank.thickness_mm - 2.0 * job.allowances.surface_mm)


def facing_bit(job: Job) -> Bit | None:
    """Return the widest flat bit owned."""
    flats = [item for item in job.shop.bits if item.kind is BitKind.FLAT]
    return max(flats, key=lambda item: item.diameter_mm, default=None)


def hole_bit(job: Job, pattern: DrawnHoles) -> Bit | None:
    """Return the bit for a hole pattern: the job's choice, or the best that is owned.

    A flat floor wants a flat bit, the hole's own width or the widest below it; a drill of the
    hole's width serves where the floor may be pointed.
    """
    holes = pattern.holes
    if holes.bit is not None:
        return holes.bit
    owned = [item for item in job.shop.bits if item.plunges]
    drills = [
        item
        for item in owned
        if item.kind is BitKind.DRILL and abs(item.diameter_mm - holes.diameter_mm) <= SLOT_WIDTH_MM
    ]
    if drills and not holes.flat_bottom:
        return drills[0]
    deep_mm = holes.depth_mm if not holes.through else job.blank.thickness_mm + INTO_SPOILBOARD_MM
    flats = [
        item
        for item in owned
        if item.kind is BitKind.FLAT
        and item.diameter_mm <= holes.diameter_mm + SLOT_WIDTH_MM
        and item.flute_mm >= deep_mm
    ]
    return max(flats, key=lambda item: item.diameter_mm, default=None)


def recess_bit(job: Job, locating: Locating, deepest_mm: float) -> Bit | None:
    """Return the bit that bores the recesses: the one named, or the widest flat that fits."""
    if locating.bit:
        return next((each for each in job.shop.bits if each.name == locating.bit), None)
    wide_mm = locating.diameter_mm + locating.play_mm + SLOT_WIDTH_MM
    fitting = [
        each
        for each in job.shop.bits
        if each.kind is BitKind.FLAT
        and each.plunges
        and each.diameter_mm <= wide_mm
        and each.flute_mm >= deepest_mm
    ]
    return max(fitting, key=lambda each: each.diameter_mm, default=None)


def mark_bit(job: Job, used: Sequence[Bit]) -> Bit | None:
    """Return the bit for marks: a V-bit or a narrow one the setup uses anyway, or one owned."""
    for bits in (used, job.shop.bits):
        fitting = [
            bit
            for bit in bits
            if bit.plunges
            and (
                bit.kind is BitKind.V_BIT
                or (bit.kind is BitKind.FLAT and bit.diameter_mm <= MARK_MM)
            )
        ]
        if fitting:
            return min(fitting, key=lambda each: (each.kind is not BitKind.V_BIT, each.diameter_mm))
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
    by_bit: dict[Bit, list[int]] = {}
    for number, pattern in enumerate(face.holes):
        bit = hole_bit(job, pattern)
        if bit is not None and bit.diameter_mm <= pattern.holes.diameter_mm + SLOT_WIDTH_MM:
            by_bit.setdefault(bit, []).append(number)
    places = bed_places(job)
    result: list[DrillCut] = []
    for bit, numbers in by_bit.items():
        holes = [
            _Hole((place.x_mm + dx, place.y_mm + dy), number)
            for dx, dy in places
            for number in numbers
            for place in face.holes[number].places
        ]
        order = _short_order(tuple(hole.place for hole in holes))
        for number, run in groupby((holes[index] for index in order), key=lambda one: one.pattern):
            points = tuple(hole.place for hole in run)
            result.append(_operation(face.holes[number], bit, points, thickness_mm, above_mm))
    return tuple(result)


@memoized
def _short_order(places: tuple[Place, ...]) -> tuple[int, ...]:
    return drilling_order(places, (0.0, 0.0))


def _operation(
    pattern: DrawnHoles,
    bit: Bit,
    points: tuple[Place, ...],
    thickness_mm: float,
    above_mm: float,
) -> DrillCut:
    holes = pattern.holes
    return DrillCut(
        subject=holes.name,
        bit=bit,
        top_mm=0.0,
        floor_mm=-(thickness_mm + INTO_SPOILBOARD_MM)
        if holes.through
        else -(holes.depth_mm + above_mm),
        points=points,
        hole_mm=holes.diameter_mm,
        flat_bottom=holes.flat_bottom and not holes.through,
    )
