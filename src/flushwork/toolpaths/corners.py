"""Light cuts run fast, but slow down before a corner in which the cutter meets more stock."""

from __future__ import annotations

from math import pi, sin
from typing import Final

import numpy as np

from flushwork.fit.chips import engagement_rad
from flushwork.toolpaths.paths import Path
from flushwork.toolpaths.track import Floats, Track

SHARP_RAD: Final = pi / 12.0
"""Bends gentler than this within one cutter's radius of way leave the engagement as it is.

Assumed (10 to 25 degrees): the chip grows by less than a third of what the light cut spares.
"""


def follow_lightly(track: Track, path: Path, height_mm: float, width_mm: float) -> None:
    """Follow ``path``, a cut ``width_mm`` wide with its stock on the right, as fast as it may be.

    Where the path bends left (into the stock ahead) by an angle b, the engagement rises from
    arccos(1 - 2 a / D) by b, beginning where the cutter first meets the wall ahead: r sin of the
    engagement before the bend.  From there to the bend it is fed as in full width.
    """
    fast = track.light(width_mm)
    if fast <= 1.0 + 1e-9 or len(path.points) < 2:
        track.follow(path.at(height_mm))
        return
    proposal = track.proposal
    radius = proposal.cutter.radius_mm if proposal is not None else 0.0
    ahead = radius * sin(min(engagement_rad(width_mm, 2.0 * radius), pi / 2.0))
    points, slow = slow_before_bends(path.points[:, :2], path.closed, radius, ahead)
    for first, last in _runs(slow):
        track.pace(1.0 if slow[first] else fast)
        places = points[first + 1 : last + 2]
        track.follow(np.column_stack((places, np.full(len(places), height_mm))))
    track.pace(1.0)


def slow_before_bends(
    points: Floats, closed: bool, radius_mm: float, ahead_mm: float
) -> tuple[Floats, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Return the points of a path, split where slowness begins, and which segments are slow.

    Bends are added up over ``radius_mm`` of way, so that a corner of many short chords counts as
    one.  Shapes (n, 2) and (n - 1,).
    """
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    along = np.concatenate(([0.0], np.cumsum(lengths)))
    heading = np.arctan2(steps[:, 1], steps[:, 0])
    turn = np.diff(heading, append=heading[0] if closed else heading[-1])
    turn = (turn + pi) % (2.0 * pi) - pi
    at = along[1:]
    summed = np.concatenate(([0.0], np.cumsum(turn)))
    first = np.searchsorted(at, at - radius_mm, side="left")
    bend = summed[1:] - summed[first]
    sharp = (bend > SHARP_RAD) & (turn > 1e-6)
    if not sharp.any():
        return points, np.zeros(len(steps), bool)
    ends = at[sharp]
    begins = np.maximum(ends - ahead_mm, 0.0)
    cuts = np.union1d(along, begins)
    cuts = cuts[np.concatenate(([True], np.diff(cuts) > 1e-6))]
    new = np.column_stack(
        (np.interp(cuts, along, points[:, 0]), np.interp(cuts, along, points[:, 1]))
    )
    new[-1] = points[-1]
    middle = (cuts[:-1] + cuts[1:]) / 2.0
    after = np.searchsorted(ends, middle)
    held = after < len(ends)
    slow = np.zeros(len(middle), bool)
    slow[held] = middle[held] >= begins[after[held]]
    return new, slow


def _runs(slow: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """Return the first and last segment of each run of one speed."""
    changes = np.flatnonzero(np.diff(slow)) + 1
    firsts = np.concatenate(([0], changes))
    lasts = np.concatenate((changes - 1, [len(slow) - 1]))
    return [(int(a), int(b)) for a, b in zip(firsts, lasts, strict=True)]
