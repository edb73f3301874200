"""Where a program's tip comes: its outermost places, arcs included."""

from __future__ import annotations

import math

import numpy as np

from flushwork.runtime.memo import memoized
from flushwork.toolpaths.move_table import table_of
from flushwork.toolpaths.moves import Program

Place3 = tuple[float, float, float]


@memoized
def box_of(program: Program) -> tuple[Place3, Place3]:
    """Return the lowest and highest x, y and z the tip comes to, in the file's coordinates.

    The first move's way is left out: nobody knows where it starts.  A program without moves
    stands at its start.
    """
    if not program.moves:
        return program.start, program.start
    table = table_of(program)
    from_start = np.concatenate([table.to_mm[:1], table.to_mm])
    low, high = from_start.min(axis=0), from_start.max(axis=0)
    begin = table.from_mm[:, :2] - table.centre_mm
    begin[0] = table.to_mm[0, :2] - table.centre_mm[0]
    radius, heading = np.hypot(*begin.T), np.arctan2(begin[:, 1], begin[:, 0])
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        ahead = np.copysign(1.0, table.turn_rad) * (math.atan2(dy, dx) - heading)
        passed = table.arc & (ahead % (2.0 * math.pi) < np.abs(table.turn_rad))
        if passed.any():
            out = table.centre_mm[passed] + radius[passed, np.newaxis] * (dx, dy)
            low[:2] = np.minimum(low[:2], out.min(axis=0))
            high[:2] = np.maximum(high[:2], out.max(axis=0))
    (x0, y0, z0), (x1, y1, z1) = low.tolist(), high.tolist()
    return (x0, y0, z0), (x1, y1, z1)
