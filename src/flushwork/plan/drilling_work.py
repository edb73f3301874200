"""Drilling: all holes of one bit as one order, over every piece that lies on the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from flushwork.geometry.drawn import DrawnFace, DrawnHoles
from flushwork.job.records import Job
from flushwork.plan.trim_choice import INTO_SPOILBOARD_MM, hole_cutter
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Cutter
from flushwork.tolerances import SLOT_WIDTH_MM
from flushwork.toolpaths.drill_order import drilling_order
from flushwork.toolpaths.orders import DrillCut

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
