"""Holes: pecked straight down, or bored by a helix where they are wider than the bit.

The order in which holes are drilled: the shortest way through them that can be found.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, pi
from typing import Final

import numpy as np

from flushwork.core.tolerances import DEPTH_MM, SLOT_WIDTH_MM
from flushwork.kernels.tour import greedy_tour, near_neighbours, shorten
from flushwork.shelf.items import BitKind
from flushwork.toolpaths.orders import DrillCut
from flushwork.toolpaths.track import Place2, Track

ABOVE_MM: Final = 1.0
"""Feeding starts this far above the wood: common practice, no source."""

PECK_DIAMETERS: Final = 1.0
"""Depth of one peck in diameters: common practice, no source."""

BACK_OFF_MM: Final = 0.254
"""A peck resumes this far above the floor of the last one.

NISTIR 6556, 3.5.16.4 asks to back off "a bit"; a hundredth of an inch, from memory.
"""

DWELL_TURNS: Final = 2.0
"""Turns of the spindle on a flat floor, so that each flute passes all of it: from memory."""


@dataclass(frozen=True, slots=True)
class DrillHole:
    """Moves ``first`` to ``last`` (inclusive) are one hole drilled straight down at (x, y).

    They start over the hole at the clear height and end there, or at ``top`` where a cycle pecks
    the hole, and are exactly what the cycles of NISTIR 6556, 3.5.16 expand to: the first move drops
    to ``top``, where feeding starts; each further ``peck`` goes down by that much from there, the
    last one to ``floor``.  One peck that covers it all is a plain hole.  ``dwell_s`` is spent on
    the floor.  Places are in the file's
    coordinates, in mm.
    """

    first: int
    last: int
    x: float
    y: float
    top: float
    floor: float
    peck: float
    dwell_s: float


def trace_drill(
    track: Track, operation: DrillCut, *, cycles: bool = False
) -> tuple[DrillHole, ...]:
    """Drill the holes of ``operation`` in the order given; with ``cycles`` so that these may do it.

    A hole more than the slot tolerance wider than a milling bit is bored by a helix.  Raises
    ``ValueError`` where it is narrower than the bit by more than that.
    """
    bit = operation.bit
    if operation.top_mm <= operation.floor_mm:
        return ()
    if 0.0 < operation.hole_mm < bit.diameter_mm - SLOT_WIDTH_MM:
        raise ValueError(
            f"{operation.subject}: a {operation.hole_mm:.3f} mm hole is narrower than "
            f"the {bit.diameter_mm:.3f} mm bit"
        )
    wider = operation.hole_mm > bit.diameter_mm + SLOT_WIDTH_MM
    if wider and bit.kind is not BitKind.DRILL:
        for place in operation.points:
            _bore(track, operation, place)
        return ()
    return tuple(_peck(track, operation, place, cycles) for place in operation.points)


def _peck(track: Track, operation: DrillCut, place: Place2, cycles: bool) -> DrillHole:
    """Drill one hole, out of the wood between pecks so that chips leave it.

    Between pecks the tip rises no higher than where feeding starts; it crosses to the next hole at
    the clear height all the same.
    """
    bit = operation.bit
    peck_mm = bit.diameter_mm * PECK_DIAMETERS
    start = operation.top_mm + ABOVE_MM
    track.over(place)
    first = len(track.moves)
    depth = start - operation.floor_mm
    count = max(1, ceil((depth - DEPTH_MM) / peck_mm))
    track.drop(start)
    for k in range(count):
        if k:
            track.rise(start)
            track.drop(start - k * peck_mm + BACK_OFF_MM)
        track.plunge(max(operation.floor_mm, start - (k + 1) * peck_mm))
    dwell_s = 60.0 * DWELL_TURNS / track.spindle_rpm if operation.flat_bottom else 0.0
    track.dwell(dwell_s)
    if cycles and count > 1 and not dwell_s:
        track.rise(start)
    else:
        track.lift()
    move, last = track.moves[first], len(track.moves) - 1
    track.lift()
    return DrillHole(
        first=first,
        last=last,
        x=move.x_mm,
        y=move.y_mm,
        top=start,
        floor=operation.floor_mm,
        peck=peck_mm if count > 1 else depth,
        dwell_s=dwell_s,
    )


def _bore(track: Track, operation: DrillCut, place: Place2) -> None:
    """Bore one hole by helices, each a step wider than the last, each ended by a full circle."""
    bit = operation.bit
    heights = track.levels(operation)
    for radius in _radii((operation.hole_mm - bit.diameter_mm) / 2.0, bit.radius_mm):
        start = (place[0] + radius, place[1])
        if track.z_mm > operation.top_mm + ABOVE_MM:
            track.over(start)
            track.drop(operation.top_mm + ABOVE_MM)
        else:
            track.rise(operation.top_mm + ABOVE_MM)
            track.feed(start)
        track.plunge(operation.top_mm)
        for z in (*heights, heights[-1]):
            track.arc(place, 2.0 * pi, (*start, z))
    track.feed(place)
    track.lift()


def _radii(outer_mm: float, bit_radius_mm: float) -> Iterator[float]:
    """Yield the radii of the helices: none leaves a core, the last is ``outer_mm``."""
    step = 0.9 * bit_radius_mm
    count = max(1, ceil(outer_mm / step))
    for k in range(count):
        yield outer_mm * (k + 1) / count


Point = tuple[float, float]

NEIGHBOURS: Final = 10
"""Near neighbours tried for each hole (``design/drilling_restarts.py``)."""

RESTARTS_PER_HOLE: Final = 60
LEAST_RESTARTS: Final = 10_000
MOST_RESTARTS: Final = 30_000
"""Local restarts: they bring four published drilling problems of 198 to 1,060 holes within 0.5 % of
their proven optimum in 0.7 s (``design/drilling_restarts.py``)."""

_EXACT_UP_TO: Final = 8


def drilling_order(
    points: Sequence[Point], start: Point, restarts: int | None = None
) -> tuple[int, ...]:
    """Return the numbers of ``points`` in the order of a short open path from ``start``.

    Places are in mm.  Exact up to eight points, beyond that local search with ``restarts`` tries
    (by default 60 for each hole, from 10,000 to 30,000).  Equal arguments give equal orders.
    Raises ``ValueError`` where a place is not a finite number.
    """
    if not all(math.isfinite(value) for point in (*points, start) for value in point):
        raise ValueError("a hole's place is not a finite number")
    if len(points) <= _EXACT_UP_TO:
        return _exact(points, start)
    places = np.array([start, *points], dtype=np.float64)
    near = near_neighbours(places, min(NEIGHBOURS, len(points)))
    usual = min(max(LEAST_RESTARTS, RESTARTS_PER_HOLE * len(points)), MOST_RESTARTS)
    tries = usual if restarts is None else restarts
    tour = shorten(places, near, greedy_tour(places, open_ended=True), tries)
    return _unrolled([int(point) for point in tour])


def _unrolled(tour: list[int]) -> tuple[int, ...]:
    """Return the closed tour as the path that begins at point 0, the stand-in for its end gone."""
    at = tour.index(0)
    turned = tour[at:] + tour[:at]
    if turned[-1] != len(tour) - 1:
        turned = [turned[0], *reversed(turned[1:])]
    return tuple(point - 1 for point in turned[1:-1])


def _exact(points: Sequence[Point], start: Point) -> tuple[int, ...]:
    """Return the shortest path by dynamic programming over the sets of holes done.

    Source: M. Held, R. M. Karp, A Dynamic Programming Approach to Sequencing Problems, Journal of
    the SIAM 10 (1962).
    """
    count = len(points)
    if count == 0:
        return ()
    best: dict[tuple[int, int], tuple[float, tuple[int, ...]]] = {
        (1 << i, i): (math.dist(start, points[i]), (i,)) for i in range(count)
    }
    for done in range(1, 1 << count):
        for last in range(count):
            if (done, last) not in best:
                continue
            length, path = best[(done, last)]
            for following in range(count):
                if done & (1 << following):
                    continue
                key = (done | (1 << following), following)
                longer = length + math.dist(points[last], points[following])
                if key not in best or longer < best[key][0]:
                    best[key] = (longer, (*path, following))
    everything = (1 << count) - 1
    return min(best[(everything, last)] for last in range(count))[1]
