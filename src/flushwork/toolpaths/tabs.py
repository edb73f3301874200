"""Tabs: the bridges that hold a part in its blank, and the heights that leave them standing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import radians
from typing import Final

import numpy as np

from flushwork.toolpaths.paths import way
from flushwork.toolpaths.track import Floats

STRAIGHT_RAD: Final = radians(0.5)
"""Segments that turn less than this are one straight part."""


@dataclass(frozen=True, slots=True)
class Bridges:
    """Tabs on a closed path: the middle of each along the way, and one profile for all.

    The axis stays at ``top_mm`` or above for ``flat_mm`` of way and goes down on either side with
    ``slope`` (mm per mm).  ``way_mm`` is the length of the path.
    """

    middles_mm: tuple[float, ...]
    flat_mm: float
    top_mm: float
    slope: float
    way_mm: float

    def lowest(self, along: Floats) -> Floats:
        """Return the lowest height of the axis at places (n,) along the path."""
        height = np.full(along.shape, -np.inf)
        for middle in self.middles_mm:
            off = np.abs((along - middle + self.way_mm / 2.0) % self.way_mm - self.way_mm / 2.0)
            beyond = np.maximum(off - self.flat_mm / 2.0, 0.0)
            height = np.maximum(height, self.top_mm - beyond * self.slope)
        return height

    def breaks(self, floor_mm: float) -> Floats:
        """Return the places along the path where the profile bends above ``floor_mm``."""
        half = self.flat_mm / 2.0
        foot = half + max(0.0, self.top_mm - floor_mm) / self.slope
        return np.array([m + d for m in self.middles_mm for d in (-foot, -half, half, foot)])


def middles(ring: Floats, count: int, width_mm: float) -> tuple[float, ...]:
    """Return where ``count`` tabs ``width_mm`` wide sit along a closed ring (n, 2), in mm of way.

    They are spread evenly, each moved to the nearest straight part long enough for it; where there
    is none free (a round outline) it stays where it falls.
    """
    along = way(ring)
    total = float(along[-1])
    free = [
        (a + width_mm / 2.0, b - width_mm / 2.0)
        for a, b in _straight_parts(ring, along)
        if b - a >= width_mm
    ]
    chosen: list[float] = []
    for k in range(count):
        wanted = (k + 0.5) * total / count
        places = sorted(
            (min(max(wanted, low), high) for low, high in free),
            key=lambda place: _around(place, wanted, total),
        )
        apart = (
            place
            for place in places
            if all(_around(place, other, total) > 2.0 * width_mm for other in chosen)
        )
        chosen.append(next(apart, wanted))
    return tuple(chosen)


def lap(ring: Floats, bridges: Bridges, from_mm: float, to_mm: float) -> Floats:
    """Return one lap of ``ring`` that falls evenly between two heights and climbs over the tabs."""
    along = way(ring)
    total = float(along[-1])
    breaks = bridges.breaks(min(from_mm, to_mm)) % total
    s = np.unique(np.concatenate((along, breaks)))
    fall = from_mm + (to_mm - from_mm) * s / total
    bound = bridges.lowest(s)
    over = bound > fall
    k = np.flatnonzero(over[1:] != over[:-1])
    with np.errstate(invalid="ignore", divide="ignore"):
        before, after = bound[k] - fall[k], bound[k + 1] - fall[k + 1]
        crossing = s[k] + (s[k + 1] - s[k]) * before / (before - after)
    s = np.unique(np.concatenate((s, crossing[np.isfinite(crossing)])))
    z = np.maximum(from_mm + (to_mm - from_mm) * s / total, bridges.lowest(s))
    return np.column_stack((_at(ring, along, s), z))


def _at(ring: Floats, along: Floats, places: Floats) -> Floats:
    return np.column_stack(
        (np.interp(places, along, ring[:, 0]), np.interp(places, along, ring[:, 1]))
    )


def _straight_parts(ring: Floats, along: Floats) -> Iterator[tuple[float, float]]:
    """Yield from where to where along the way the ring runs straight."""
    steps = np.diff(ring, axis=0)
    heading = np.arctan2(steps[:, 1], steps[:, 0])
    turn = np.abs((np.diff(heading) + np.pi) % (2.0 * np.pi) - np.pi)
    bends = np.flatnonzero(turn > STRAIGHT_RAD) + 1
    marks = np.concatenate(([0], bends, [len(ring) - 1]))
    yield from pairwise(along[marks].tolist())


def _around(a: float, b: float, total: float) -> float:
    """Return how far two places on a closed way are apart."""
    off = abs(a - b) % total
    return min(off, total - off)
