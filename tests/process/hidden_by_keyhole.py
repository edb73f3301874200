"""What a keyhole bit takes beneath wood that stays, reckoned from the moves read back.

The replay holds what is seen; here stands the rest, as regions in plan between two heights.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely import LineString, MultiPolygon, Point

from flushwork.art.regions import many, united
from flushwork.shelf.items import Bit
from flushwork.strata.undercut import LEVEL_MM, Floats, is_wide

SEGMENTS: Final = 32
"""Segments of a quarter turn."""


@dataclass(frozen=True, slots=True)
class Undercut:
    """A region hidden beneath wood, from ``floor_mm`` up to ``top_mm`` (of the as-sawn face)."""

    region: MultiPolygon
    floor_mm: float
    top_mm: float

    @property
    def volume_mm3(self) -> float:
        """How much has been taken there."""
        return float(self.region.area) * (self.top_mm - self.floor_mm)


def undercuts(moves: Floats, bit: Bit, plane_mm: float) -> tuple[Undercut, ...]:
    """Return what the head takes beneath the wood of a face that stands at ``plane_mm``."""
    wide = is_wide(moves, bit, plane_mm)
    hidden = moves[~wide]
    if not len(hidden):
        return ()
    down = moves[wide & (np.minimum(moves[:, 2], moves[:, 5]) < plane_mm - LEVEL_MM)]
    open_ = [
        many(LineString([m[:2], m[3:5]]).buffer(bit.radius_mm, quad_segs=SEGMENTS))
        if np.hypot(*(m[3:5] - m[:2])) > LEVEL_MM
        else many(Point(m[:2]).buffer(bit.radius_mm, quad_segs=SEGMENTS))
        for m in down
    ]
    ways = [LineString([m[:2], m[3:5]]) for m in hidden]
    necks = [many(way.buffer(bit.neck_mm / 2.0, quad_segs=SEGMENTS)) for way in ways]
    seen = united([*open_, *necks])
    found: list[Undercut] = []
    for floor_mm in sorted({round(float(min(m[2], m[5])), 6) for m in hidden}):
        heads = [
            many(way.buffer(bit.radius_mm, quad_segs=SEGMENTS))
            for way, m in zip(ways, hidden, strict=True)
            if abs(float(min(m[2], m[5])) - floor_mm) < LEVEL_MM
        ]
        region = many(united(heads).difference(seen))
        found.append(Undercut(region, floor_mm, floor_mm + bit.head_mm))
    return tuple(found)
