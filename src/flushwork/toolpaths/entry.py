"""Ways down into the stock: along a helix, along the path itself, or straight."""

from __future__ import annotations

from math import ceil, pi, radians, tan
from typing import Final

import numpy as np

from flushwork.core.tolerances import DEPTH_MM
from flushwork.shelf.items import Bit
from flushwork.toolpaths.paths import Path, way
from flushwork.toolpaths.track import Floats, Place2, Track

RAMP: Final = tan(radians(5.0))
"""Fall per mm of way, 5 degrees.

Assumed (3 to 10 degrees are common practice, no source); a row of ramps in a test strip of the wood
would replace it.
"""

ABOVE_MM: Final = 0.5
"""Fast travel downward ends this far above what is still to be cut: common practice, no source."""

SHORTEST_MM: Final = 0.05
"""A path shorter than this is a point: there is no way along it to ramp on."""

BACK_OFF_MM: Final = 0.254
"""A plunge resumes this far above where it stopped: a hundredth of an inch, from memory."""

PLUNGED_DIAMETERS: Final = 1.0
"""A bit that may plunge does so where its way is shorter than this: to and fro over less than
its own width it never leaves its own hole, in hundreds of lines.  Assumed (0.5 to 2)."""


def helix(track: Track, centre: Place2, radius_mm: float, floor_mm: float) -> None:
    """Wind down counter-clockwise from where the tip is to ``floor_mm``, then once around there.

    The tip stands ``radius_mm`` from ``centre``.
    """
    depth = track.z_mm - floor_mm
    turns = max(1, ceil(depth / (2.0 * pi * radius_mm * RAMP)))
    start, top = track.place, track.z_mm
    for k in range(turns):
        track.arc(centre, 2.0 * pi, (*start, top - depth * (k + 1) / turns))
    track.arc(centre, 2.0 * pi, (*start, floor_mm))


def ramp(track: Track, path: Path, floor_mm: float, bit: Bit) -> None:
    """Go down along ``path`` from its start, and end at its start on ``floor_mm``.

    A closed path is followed round and round; an open one to and fro.  What the slope leaves
    standing above the floor is cut when the path itself is followed.  A way too short for that is
    plunged, by a depth of pass at most, where the bit may.
    """
    depth = track.z_mm - floor_mm
    length = path.length_mm
    if depth <= 0.0:
        return
    short = PLUNGED_DIAMETERS * bit.diameter_mm if bit.plunges else 0.0
    if length < max(SHORTEST_MM, short):
        sink(track, floor_mm, bit)
        return
    if path.closed:
        laps = max(1, ceil(depth / (length * RAMP)))
        slope = depth / (laps * length)
        for _ in range(laps):
            track.follow(_falling(path.points, track.z_mm, slope))
        track.feed(path.start, floor_mm)
        return
    legs = 2 * max(1, ceil(depth / (length * RAMP) / 2.0))
    leg = _first_part(path.points, depth / RAMP / legs)
    slope = depth / (legs * float(way(leg)[-1]))
    for k in range(legs):
        track.follow(_falling(leg if k % 2 == 0 else leg[::-1], track.z_mm, slope))
    track.feed(path.start, floor_mm)


def sink(track: Track, floor_mm: float, bit: Bit) -> None:
    """Plunge to ``floor_mm``, by a depth of pass at a time and out in between for the chips."""
    proposal, top = track.proposal, track.z_mm
    most = bit.pass_mm if proposal is None else proposal.pass_mm
    while track.z_mm - floor_mm > most + DEPTH_MM:
        track.plunge(track.z_mm - most)
        reached = track.z_mm
        track.rise(top + ABOVE_MM)
        track.drop(reached + BACK_OFF_MM)
        track.plunge(reached)
    track.plunge(floor_mm)


def _falling(points: Floats, top_mm: float, slope: float) -> Floats:
    """Return the points after the first as places (n, 3), falling by ``slope`` per mm of way."""
    return np.column_stack((points[1:], top_mm - slope * way(points)[1:]))


def _first_part(points: Floats, length_mm: float) -> Floats:
    """Return the first ``length_mm`` of an open path, all of it where it is shorter."""
    along = way(points)
    if along[-1] <= length_mm:
        return points
    k = int(np.searchsorted(along, length_mm))
    share = (length_mm - along[k - 1]) / (along[k] - along[k - 1])
    end = points[k - 1] + share * (points[k] - points[k - 1])
    return np.vstack((points[:k], end))
