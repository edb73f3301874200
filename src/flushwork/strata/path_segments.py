"""A G-code file's moves as straight segments on a face."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.gcode.swept import known_from
from flushwork.strata.steps import CutStep
from flushwork.toolpaths.moves import table_of

CHORD_MM: Final = 0.005
"""Greatest distance of an arc's chords from the arc: a twentieth of a default cell, and what
surfacing takes off a curve (FLATTENING_MM)."""

STANDING_MM: Final = 1e-9
"""A segment no longer than this stands still on the face, as the kernels take it."""

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


def segments(cut: CutStep) -> tuple[Floats, Ints]:
    """Return a cut's segments on its face, (n, 6), and the number of the move each belongs to.

    Columns are x0, y0, z0, x1, y1, z1 of the tip in mm, z from the as-sawn plane.  Dwells have
    none; rapids are motion like any other.  Arcs become chords (see ``_chords``).  Nobody knows
    where a rapid begins that comes before the first place the file tells, or leads to it: the way
    to its end is the user's to keep free, and only its end takes anything.
    """
    table = table_of(cut.program)
    owners = np.flatnonzero(~table.dwells)
    ends = np.concatenate([[cut.program.start], table.to_mm[owners]])
    arcs = np.flatnonzero(table.arc[owners])
    points, made_of = _chords(
        ends, arcs, table.centre_mm[owners[arcs]], table.turn_rad[owners[arcs]], CHORD_MM
    )
    path = points + np.array((*cut.origin_mm, cut.zero_mm))
    begins, made_of = path[:-1].copy(), owners[made_of]
    unknown = table.rapid[made_of] & (made_of <= known_from(cut.program))
    begins[unknown] = path[1:][unknown]
    return np.hstack([begins, path[1:]]), made_of


def joined(moves: Floats, owners: Ints, cut: CutStep) -> Flags:
    """Return of each segment, (n,), whether the next one takes over where it ends.

    Both feed along the face: a plunge, a lift or a rapid keeps what it takes to itself.
    """
    along = np.hypot(moves[:, 3] - moves[:, 0], moves[:, 4] - moves[:, 1]) > STANDING_MM
    own = along & ~table_of(cut.program).rapid[owners]
    ends = np.zeros(len(moves), np.bool_)
    ends[:-1] = own[:-1] & own[1:] & np.all(moves[:-1, 3:] == moves[1:, :3], axis=1)
    return ends


def handed_on(joins: Flags, picks: Ints) -> Flags:
    """Return ``joined`` of some of the segments only, (picks,): the next one has to be there."""
    here = joins[picks]
    here[:-1] &= picks[1:] == picks[:-1] + 1
    here[-1:] = False
    return here


def _chords(
    ends: Floats, numbers: Ints, centre: Floats, turn: Floats, sagitta_mm: float
) -> tuple[Floats, Ints]:
    """Return the way through ``ends`` (moves + 1, 3) in straight pieces, arcs as chords.

    The moves by these ``numbers`` are arcs about ``centre`` (arcs, 2) that ``turn`` by (arcs,).
    The first array, (pieces + 1, 3), holds the points of the way; the second, (pieces,), the number
    of the move each piece belongs to.  Sagitta of a chord: R (1 - cos(delta / 2)).  Where start and
    end of an arc lie at slightly different distances from its centre, the radius goes evenly from
    one to the other.  Every move ends exactly where it does.
    """
    moves = len(ends) - 1
    count = np.ones(moves, np.int64)
    from_start, to_end = ends[numbers, :2] - centre, ends[numbers + 1, :2] - centre
    radius = np.hypot(from_start[:, 0], from_start[:, 1])
    change = np.hypot(to_end[:, 0], to_end[:, 1]) - radius
    with np.errstate(divide="ignore"):
        widest = 2.0 * np.arccos(np.clip(1.0 - sagitta_mm / radius, -1.0, 1.0))
    widest[radius <= sagitta_mm] = math.pi / 2.0
    count[numbers] = np.maximum(np.ceil(np.abs(turn) / widest), 1.0).astype(np.int64)
    made_of = np.repeat(np.arange(moves), count)
    points = np.concatenate((ends[:1], ends[1:][made_of]))
    # of the pieces of each arc all but the last end on the arc, a share of the way along it
    arc_of = np.full(moves, -1, np.int64)
    arc_of[numbers] = np.arange(len(numbers))
    last = np.cumsum(count)
    place = np.arange(len(made_of)) - (last - count)[made_of] + 1
    within = np.flatnonzero((arc_of[made_of] >= 0) & (place < count[made_of]))
    arc, share = arc_of[made_of[within]], place[within] / count[made_of[within]]
    angle = np.arctan2(from_start[arc, 1], from_start[arc, 0]) + share * turn[arc]
    at = radius[arc] + share * change[arc]
    points[within + 1, 0] = centre[arc, 0] + at * np.cos(angle)
    points[within + 1, 1] = centre[arc, 1] + at * np.sin(angle)
    low, high = ends[numbers[arc], 2], ends[numbers[arc] + 1, 2]
    points[within + 1, 2] = low + share * (high - low)
    return points, made_of
