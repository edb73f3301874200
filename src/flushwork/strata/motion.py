"""A cut file's moves as straight segments on a face."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.strata.steps import Cut
from flushwork.toolpaths.moves import Move, MoveKind

CHORD_MM: Final = 0.005
"""Greatest distance of an arc's chords from the arc: a twentieth of a default cell, and what
flattening takes off a curve (FLATTENING_MM)."""


def chords(
    start: tuple[float, float, float], move: Move, sagitta_mm: float = CHORD_MM
) -> list[tuple[float, float, float]]:
    """Return the points along an arc after its start, the last one exactly its end.

    Sagitta of a chord: R (1 - cos(delta / 2)).  Where start and end lie at slightly different
    distances from the centre, the radius goes evenly from one to the other.
    """
    dx, dy = start[0] - move.centre_x_mm, start[1] - move.centre_y_mm
    radius = math.hypot(dx, dy)
    change = math.hypot(move.x_mm - move.centre_x_mm, move.y_mm - move.centre_y_mm) - radius
    largest = 2.0 * math.acos(1.0 - sagitta_mm / radius) if radius > sagitta_mm else math.pi / 2
    count = max(1, math.ceil(abs(move.turn_rad) / largest))
    begin = math.atan2(dy, dx)
    points = []
    for n in range(1, count):
        share = n / count
        angle = begin + share * move.turn_rad
        at = radius + share * change
        points.append(
            (
                move.centre_x_mm + at * math.cos(angle),
                move.centre_y_mm + at * math.sin(angle),
                start[2] + share * (move.z_mm - start[2]),
            )
        )
    points.append((move.x_mm, move.y_mm, move.z_mm))
    return points


def segments(cut: Cut) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return a cut's segments on its face, (n, 6), and the number of the move each belongs to.

    Columns are x0, y0, z0, x1, y1, z1 of the tip in mm, z from the as-sawn plane.  Dwells have
    none; rapids are motion like any other.
    """
    here = cut.program.start
    points = [here]
    owners: list[int] = []
    for number, move in enumerate(cut.program.moves):
        if move.kind is MoveKind.ARC:
            arc = chords(here, move)
            points += arc
            owners += [number] * len(arc)
        elif move.kind is not MoveKind.DWELL:
            points.append((move.x_mm, move.y_mm, move.z_mm))
            owners.append(number)
        here = points[-1]
    path = np.array(points, np.float64) + np.array((*cut.origin_mm, cut.zero_mm))
    return np.hstack([path[:-1], path[1:]]), np.array(owners, np.int64)
