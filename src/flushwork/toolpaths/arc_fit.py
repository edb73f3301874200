"""Chains of short straight cuts followed as the arcs they hold: shorter files, smoother motion."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.arc_fit import LEAST_CHORDS, fit_arcs
from flushwork.tolerances import FLATTENING_MM

Floats = NDArray[np.float64]

ARC_FIT_MM: Final = 0.002
"""Greatest distance of a chain's points from its arc; between them the arc may bow out by as much
as flattening took off (FLATTENING_MM).  It is the bound the published reader allows an arc's
own radii (NISTIR 6556, section 3.5.3.2), and far below what a cutter's run-out makes of it."""

ROUGH_MM: Final = 0.01
"""The same for passes inside a pocket, which no wall shows: their offset and its thinned points lie
as far off, and neighbours share three times as much."""

FINELY: Final = (ARC_FIT_MM, FLATTENING_MM)
ROUGHLY: Final = (ROUGH_MM / 2.0, ROUGH_MM)

SAME_FEED_MM_MIN: Final = 1e-3
"""Feeds nearer than this are one: a cut file carries a tenth of a mm per minute."""

Piece = tuple[int, float, float, float]


def pieces_of(
    points: Floats,
    feeds_mm_min: Floats,
    bound_mm: float = ARC_FIT_MM,
    flattened_mm: float = FLATTENING_MM,
) -> Iterator[Piece]:
    """Yield the pieces of a chain of points (n, 3) cut at ``feeds_mm_min`` (n - 1,).

    A piece is the index of its last point, and centre x, centre y and turn in radians of its arc,
    counter-clockwise positive; turn 0 for a straight piece.  An arc may rise or fall evenly; it
    never runs over a change of feed.  ``flattened_mm`` is how far the chain's chords may lie off
    the curve they stand for.
    """
    changes = np.flatnonzero(np.abs(np.diff(feeds_mm_min)) > SAME_FEED_MM_MIN) + 1
    for first, last in pairwise((0, *changes.tolist(), len(feeds_mm_min))):
        if last - first < LEAST_CHORDS:
            yield from ((index, 0.0, 0.0, 0.0) for index in range(first + 1, last + 1))
            continue
        ends, arcs = fit_arcs(points[first : last + 1], bound_mm, flattened_mm + bound_mm)
        for end, (x_mm, y_mm, turn_rad) in zip(ends.tolist(), arcs.tolist(), strict=True):
            yield first + end, x_mm, y_mm, turn_rad
