"""Where a program's tip comes: its outermost places, arcs included."""

from __future__ import annotations

import math

from flushwork.toolpaths.moves import MoveKind, Program

Place3 = tuple[float, float, float]


def box_of(program: Program) -> tuple[Place3, Place3]:
    """Return the lowest and highest x, y and z the tip comes to, in the file's coordinates.

    The first move's way is left out: nobody knows where it starts.  A program without moves
    stands at its start.
    """
    if not program.moves:
        return program.start, program.start
    first = program.moves[0]
    low = [first.x_mm, first.y_mm, first.z_mm]
    high = list(low)
    x_mm, y_mm = first.x_mm, first.y_mm
    for move in program.moves:
        xs, ys = [move.x_mm], [move.y_mm]
        if move.kind is MoveKind.ARC:
            radius = math.hypot(x_mm - move.centre_x_mm, y_mm - move.centre_y_mm)
            begin = math.atan2(y_mm - move.centre_y_mm, x_mm - move.centre_x_mm)
            for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
                ahead = math.copysign(1.0, move.turn_rad) * (math.atan2(dy, dx) - begin)
                if ahead % (2.0 * math.pi) < abs(move.turn_rad):
                    xs.append(move.centre_x_mm + radius * dx)
                    ys.append(move.centre_y_mm + radius * dy)
        low = [min(low[0], *xs), min(low[1], *ys), min(low[2], move.z_mm)]
        high = [max(high[0], *xs), max(high[1], *ys), max(high[2], move.z_mm)]
        x_mm, y_mm = move.x_mm, move.y_mm
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])
