"""Lines: cut along their middle by the bit's own width, in the fewest lifts.

Walks: lines that touch, joined so that all are run over once with the fewest lifts.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace
from math import atan2, dist, pi
from typing import Final

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from flushwork.shelf.items import Bit
from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import LineCut
from flushwork.toolpaths.paths import Path, pop_nearest
from flushwork.toolpaths.track import SAME_MM, Floats, Track

TOUCH_MM: Final = 0.005
"""Ends of lines closer than this are one place: the bound to which artwork is flattened."""

Key = Hashable
Walk = list[int]
"""Edges in the order and direction run: k forward, ~k backward."""


def walks(lines: BaseGeometry) -> list[Path]:
    """Join lines in the plane, split where they cross or touch, into the fewest paths.

    Doubled stretches are run once.
    """
    noded = shapely.line_merge(shapely.union_all(lines, grid_size=TOUCH_MM / 50.0))
    parts = [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(noded)
        if isinstance(part, LineString) and not part.is_empty
    ]
    return list(joined([Path(part, closed=False) for part in parts]))


def joined(paths: Sequence[Path]) -> tuple[Path, ...]:
    """Join paths that meet at their ends (not elsewhere) into the fewest."""
    lines = [path.points for path in paths if len(path.points) > 1]
    ends = [(_place(points[0]), _place(points[-1])) for points in lines]
    walked = [
        Path(points, closed=closed, either=not closed) for points, closed in join_edges(lines, ends)
    ]
    return (*walked, *(path for path in paths if len(path.points) < 2))


def join_edges(
    edges: Sequence[Floats], ends: Sequence[tuple[Key, Key]]
) -> list[tuple[Floats, bool]]:
    """Join polylines (n, 2 or more columns) that meet at their ends into walks.

    ``ends`` names the places each begins and ends at.  At each place the straightest pairs are
    joined, which leaves as many open walks as half the places where an odd number of ends meet: no
    set of walks over every edge has fewer (Euler, 1736).  Round trips are spliced into walks they
    touch.  Returns points and whether they close.
    """
    leaving: dict[Key, list[tuple[int, float]]] = defaultdict(list)
    for k, edge in enumerate(edges):
        leaving[ends[k][0]].append((k, _heading(edge)))
        leaving[ends[k][1]].append((~k, _heading(edge[::-1])))
    after: dict[int, int] = {}
    for there in leaving.values():
        after.update(_pairs(there))
    found = _spliced(list(_follow(len(edges), after)), ends)
    return [(_points(walk, edges), _first(walk, ends) == _last(walk, ends)) for walk in found]


def _pairs(leaving: Sequence[tuple[int, float]]) -> dict[int, int]:
    """Pair edge ends at one place, straightest first: arriving by ~a one goes on by b."""
    turns = sorted(
        (abs((heading - other + pi) % (2.0 * pi) - pi), j, k)
        for k, (_, heading) in enumerate(leaving)
        for j, (_, other) in enumerate(leaving[:k])
    )
    after: dict[int, int] = {}
    used: set[int] = set()
    for _, j, k in reversed(turns):
        if j not in used and k not in used:
            used |= {j, k}
            a, b = leaving[j][0], leaving[k][0]
            after[~a] = b
            after[~b] = a
    return after


def _follow(count: int, after: dict[int, int]) -> Iterator[Walk]:
    """Yield the walks that the pairs make: open ones from their ends, then round trips."""
    arrived = set(after.values())
    done = [False] * count
    starts = [end for k in range(count) for end in (k, ~k) if end not in arrived]
    for start in [*starts, *range(count)]:
        walk: Walk = []
        step: int | None = start
        while step is not None and not done[max(step, ~step)]:
            done[max(step, ~step)] = True
            walk.append(step)
            step = after.get(step)
        if walk:
            yield walk


def _spliced(found: list[Walk], ends: Sequence[tuple[Key, Key]]) -> list[Walk]:
    """Run round trips in the middle of walks that pass a place of theirs."""
    closed = [walk for walk in found if _first(walk, ends) == _last(walk, ends)]
    result = [walk for walk in found if _first(walk, ends) != _last(walk, ends)]
    changed = True
    while closed and changed:
        changed = False
        for trip in list(closed):
            others = result + [walk for walk in closed if walk is not trip]
            if any(_splice(trip, walk, ends) for walk in others):
                closed = [walk for walk in closed if walk is not trip]
                changed = True
    return result + closed


def _splice(trip: Walk, walk: Walk, ends: Sequence[tuple[Key, Key]]) -> bool:
    """Put ``trip`` into ``walk`` at a place both pass; return whether there was one."""
    starts = {_start(step, ends): k for k, step in reversed(list(enumerate(trip)))}
    places = [_start(step, ends) for step in walk] + [_last(walk, ends)]
    for position, place in enumerate(places):
        if place in starts:
            k = starts[place]
            walk[position:position] = trip[k:] + trip[:k]
            return True
    return False


def _points(walk: Walk, edges: Sequence[Floats]) -> Floats:
    pieces = [edges[step] if step >= 0 else edges[~step][::-1] for step in walk]
    return np.concatenate([pieces[0][:1], *(piece[1:] for piece in pieces)])


def _start(step: int, ends: Sequence[tuple[Key, Key]]) -> Key:
    return ends[step][0] if step >= 0 else ends[~step][1]


def _first(walk: Walk, ends: Sequence[tuple[Key, Key]]) -> Key:
    return _start(walk[0], ends)


def _last(walk: Walk, ends: Sequence[tuple[Key, Key]]) -> Key:
    return _start(~walk[-1], ends)


def _place(point: Floats) -> Key:
    return round(float(point[0]) / TOUCH_MM), round(float(point[1]) / TOUCH_MM)


def _heading(edge: Floats) -> float:
    """Return the direction in which an edge leaves its first point."""
    dx, dy = edge[1, :2] - edge[0, :2]
    return atan2(float(dy), float(dx))


THIN_MM: Final = 0.001
"""Bound within which a line's points are thinned."""


BESIDE_MM: Final = 0.05
"""So far beyond the bit the two edges of a line are looked at."""


def trace_line(track: Track, operation: LineCut) -> None:
    """Cut ``operation.lines``: lines that touch in as few walks as their crossings allow.

    An open walk is cut to and fro, one depth each way, entered by a ramp along itself; a closed
    one winds down round and round.  A line along filled pockets has their softer edge, the wood, on
    the bit's right at its last depth, where a spindle that turns clockwise climbs and does not
    tear.
    """
    heights = track.levels(operation)
    if not heights or operation.lines.is_empty:
        return
    waiting = walks(shapely.simplify(operation.lines, THIN_MM))
    if not operation.filled.is_empty:
        waiting = [_climbing(path, operation, len(heights)) for path in waiting]
    while waiting:
        path = pop_nearest(waiting, track.place)
        track.over(path.start)
        track.drop(operation.top_mm + entry.ABOVE_MM)
        track.plunge(operation.top_mm)
        run_down(track, path, heights, operation.bit)
        track.lift()


def _climbing(path: Path, operation: LineCut, passes: int) -> Path:
    """Turn a walk so that its last pass has more of its wooden edge on the right than on the left.

    An open walk runs to and fro, so that its first pass runs as its last only where they are odd in
    number.
    """
    shapely.prepare(operation.filled)
    points = path.points[:, :2]
    steps = np.diff(points, axis=0)
    length = np.hypot(steps[:, 0], steps[:, 1])
    aside = operation.bit.radius_mm + BESIDE_MM
    right = np.column_stack((steps[:, 1], -steps[:, 0])) / length[:, None] * aside
    middles = (points[1:] + points[:-1]) / 2.0
    on_right, on_left = (
        shapely.intersects_xy(operation.filled, *(middles + side).T) for side in (right, -right)
    )
    climbed = length[on_left & ~on_right].sum() - length[on_right & ~on_left].sum()
    if climbed == 0.0:
        return path
    as_wanted = path if climbed > 0.0 else path.reversed()
    if not path.closed and passes % 2 == 0:
        as_wanted = as_wanted.reversed()
    return replace(as_wanted, either=False)


def run_down(track: Track, path: Path, heights: Sequence[float], bit: Bit) -> None:
    """Follow ``path`` at each height; the tip stands at its start on the stock.

    A closed path needs no level lap before the last: lap after lap falls by one depth of pass, so
    each cuts as deep everywhere.
    """
    for height in heights:
        if not path.closed and dist(track.place, path.start) > SAME_MM:
            path = path.reversed()
        entry.ramp(track, path, height, bit)
        if not path.closed or height == heights[-1]:
            track.follow(path.at(height))
