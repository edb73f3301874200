"""Lines: cut along their middle by the cutter's own width, in the fewest lifts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import dist
from typing import Final

import numpy as np
import shapely

from flushwork.shelf.items import Cutter
from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import LineCut
from flushwork.toolpaths.paths import Path, pop_nearest
from flushwork.toolpaths.track import SAME_MM, Track
from flushwork.toolpaths.walk import walks

THIN_MM: Final = 0.001
"""Bound within which a line's points are thinned."""


BESIDE_MM: Final = 0.05
"""So far beyond the cutter the two edges of a line are looked at."""


def trace_line(track: Track, operation: LineCut) -> None:
    """Cut ``operation.lines``: lines that touch in as few walks as their crossings allow.

    An open walk is cut to and fro, one depth each way, entered by a ramp along itself; a closed
    one winds down round and round.  A line along filled pockets has their softer edge, the wood, on
    the cutter's right at its last depth, where a spindle that turns clockwise climbs and does not
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
        run_down(track, path, heights, operation.cutter)
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
    aside = operation.cutter.radius_mm + BESIDE_MM
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


def run_down(track: Track, path: Path, heights: Sequence[float], cutter: Cutter) -> None:
    """Follow ``path`` at each height; the tip stands at its start on the stock.

    A closed path needs no level lap before the last: lap after lap falls by one depth of pass, so
    each cuts as deep everywhere.
    """
    for height in heights:
        if not path.closed and dist(track.place, path.start) > SAME_MM:
            path = path.reversed()
        entry.ramp(track, path, height, cutter)
        if not path.closed or height == heights[-1]:
            track.follow(path.at(height))
