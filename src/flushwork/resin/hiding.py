"""How much of the wood shows through a fill, and how thick it must be to cover."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.colour.kubelka_munk import absorption_ratio, layer_reflectance
from flushwork.colour.palette import SEEN_THROUGH

COVERS_AT = 1.0 - SEEN_THROUGH
"""A layer covers where it looks the same over black and over white within this ratio."""


@dataclass(frozen=True, slots=True)
class Band:
    """One band of light of a mix: the opaque reflectance and the scattering per mm."""

    opaque: float
    scatter_per_mm: float

    @property
    def absorb_per_mm(self) -> float:
        """Absorption per mm."""
        return absorption_ratio(self.opaque) * self.scatter_per_mm


def over(band: Band, thickness_mm: float, ground: float) -> float:
    """Return the reflectance of a fill of a thickness over a ground."""
    return layer_reflectance(band.absorb_per_mm, band.scatter_per_mm, thickness_mm, ground)


def contrast_ratio(band: Band, thickness_mm: float, white: float = 1.0) -> float:
    """Return the reflectance over black divided by that over white: 1 hides everything."""
    return over(band, thickness_mm, 0.0) / over(band, thickness_mm, white)


def showing(band: Band, thickness_mm: float, wood: float) -> float:
    """Return the share of the difference between wood and opaque fill that still shows."""
    difference = wood - band.opaque
    if abs(difference) < 1e-9:
        return 0.0
    return (over(band, thickness_mm, wood) - band.opaque) / difference


def hiding_depth_mm(band: Band, covers_at: float = COVERS_AT) -> float:
    """Return the least thickness whose contrast ratio reaches ``covers_at``, by bisection."""
    if band.scatter_per_mm <= 0.0:
        return math.inf
    low, high = 0.0, 1.0 / band.scatter_per_mm
    while contrast_ratio(band, high) < covers_at:
        high *= 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if contrast_ratio(band, middle) >= covers_at else (middle, high)
    return high


def showing_by_depth(thickness_mm: float, hides_mm: float) -> float:
    """Return the share of wood that shows where only a hiding depth from a table is known.

    Falls by the same factor for every equal thickness, to 2 % at the hiding depth.
    """
    return math.pow(SEEN_THROUGH, max(0.0, thickness_mm) / hides_mm)
