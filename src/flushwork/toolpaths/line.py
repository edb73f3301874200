"""Lines: cut along their middle by the cutter's own width, in the fewest lifts."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist
from typing import Final

import shapely

from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import Operation
from flushwork.toolpaths.paths import Path, pop_nearest
from flushwork.toolpaths.track import SAME_MM, Track
from flushwork.toolpaths.walk import walks

THIN_MM: Final = 0.001
"""Bound within which a line's points are thinned."""


def trace_line(track: Track, operation: Operation) -> None:
    """Cut ``operation.lines``: lines that touch in as few walks as their crossings allow.

    An open walk is cut to and fro, one depth each way, entered by a ramp along itself; a closed
    one winds down round and round.
    """
    heights = track.levels(operation)
    if not heights or operation.lines.is_empty:
        return
    waiting = walks(shapely.simplify(operation.lines, THIN_MM))
    while waiting:
        path = pop_nearest(waiting, track.place)
        track.over(path.start)
        track.drop(operation.top_mm + entry.ABOVE_MM)
        track.plunge(operation.top_mm)
        run_down(track, path, heights)
        track.lift()


def run_down(track: Track, path: Path, heights: Sequence[float]) -> None:
    """Follow ``path`` at each height; the tip stands at its start on the stock.

    A closed path needs no level lap before the last: lap after lap falls by one depth of pass, so
    each cuts as deep everywhere.
    """
    for height in heights:
        if not path.closed and dist(track.place, path.start) > SAME_MM:
            path = path.reversed()
        entry.ramp(track, path, height)
        if not path.closed or height == heights[-1]:
            track.follow(path.at(height))
