"""How long a way through holes is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

Point = tuple[float, float]


def path_length_mm(points: Sequence[Point], start: Point, order: Sequence[int]) -> float:
    """Return the length of the path from ``start`` through ``points`` in that order, in mm."""
    way = [start, *(points[number] for number in order)]
    return sum(math.dist(a, b) for a, b in pairwise(way))
