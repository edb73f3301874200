"""Offsets, strokes and openings with a stated bound.

An offset by d replaces each circular arc by chords; with n chords in a quarter turn they stay
within d (1 - cos(pi / (4 n))) of it, so n = pi / (4 acos(1 - tolerance / d)) keeps the bound
(sagitta of a chord; elementary).  The chords lie on the inside of the arc: an outward offset is
too small by at most the bound, never too large; an inward offset, which is the complement of an
outward one, is too large by at most the bound, never too small.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.geometry.regions import NOTHING, many
from flushwork.geometry.thinning import thinned
from flushwork.tolerances import FLATTENING_MM

CENTRE_SHARE: Final = 0.15
"""Share of a tolerance for flattening a line that is to be widened: fine, since the offset doubles
the points at every bend, and thinning takes out again what nobody needs."""

_OFFSET_SHARE: Final = 0.2
"""Share of its tolerance that widening takes for chords at bends; thinning may take the rest."""

Ends = Literal["round", "flat", "square"]
Joins = Literal["round", "mitre", "bevel"]


def chords_per_quarter(distance_mm: float, tolerance_mm: float = FLATTENING_MM) -> int:
    """Return the chords in a quarter turn that keep an offset within ``tolerance_mm``."""
    if abs(distance_mm) <= tolerance_mm:
        return 1
    return max(1, math.ceil(math.pi / (4.0 * math.acos(1.0 - tolerance_mm / abs(distance_mm)))))


def offset(
    region: BaseGeometry, distance_mm: float, tolerance_mm: float = FLATTENING_MM
) -> MultiPolygon:
    """Return the region grown (or, below 0, shrunk) by a disc of ``distance_mm``."""
    if distance_mm == 0.0:
        return many(region)
    return many(
        shapely.buffer(region, distance_mm, quad_segs=chords_per_quarter(distance_mm, tolerance_mm))
    )


def opened(
    region: BaseGeometry, radius_mm: float, tolerance_mm: float = FLATTENING_MM
) -> MultiPolygon:
    """Return what a disc of ``radius_mm`` kept inside the region sweeps (its opening).

    Both offsets err by at most half the tolerance, so that the sum keeps it.
    """
    half_mm = tolerance_mm / 2.0
    centres = offset(region, -radius_mm, half_mm)
    return NOTHING if centres.is_empty else offset(centres, radius_mm, half_mm)


def stroked(
    lines: Sequence[BaseGeometry],
    width_mm: float,
    *,
    ends: Ends = "round",
    joins: Joins = "round",
    tolerance_mm: float = FLATTENING_MM,
    mitre: float = 4.0,
) -> MultiPolygon:
    """Return the region that lines of ``width_mm`` cover.

    ``mitre`` is the greatest length of a mitred corner in widths; a sharper one is cut off there.
    Points at bends that the tolerance allows to leave out are left out.
    """
    half_mm = width_mm / 2.0
    offset_mm = _OFFSET_SHARE * tolerance_mm
    covered = shapely.buffer(
        list(lines),
        half_mm,
        quad_segs=chords_per_quarter(half_mm, offset_mm),
        cap_style=ends,
        join_style=joins,
        mitre_limit=mitre,
    )
    return thinned(many(shapely.union_all(covered)), tolerance_mm - offset_mm)
