"""Where registration marks are cut: four in the waste near the corners, anew in each setup."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from shapely import MultiPolygon, Point
from shapely.ops import nearest_points

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.process.orders.drill_orders import MARK_MM
from flushwork.process.waste import Place, room, waste, without

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
