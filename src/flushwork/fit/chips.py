"""The chip an edge takes on its way round, and the force it needs for it."""

from __future__ import annotations

from math import acos, pi, sqrt
from typing import Final

from flushwork.fit.stock import Stock

DULL: Final = 2.0
"""Force of an edge at the end of its life over that of a sharp one.  From memory (1.5 to 3)."""

ASIDE: Final = 0.5
"""Force square to the edge's way as a share of that along it, dull edges more.  Assumed (0.3 to
1)."""


def engagement_rad(width_mm: float, diameter_mm: float) -> float:
    """Return the angle an edge spends in the stock per turn where the cut is ``width_mm`` wide.

    arccos(1 - 2 a / D): half a turn in a full-width slot.
    """
    return acos(1.0 - 2.0 * min(max(width_mm / diameter_mm, 0.0), 1.0))


def thinning(width_mm: float, diameter_mm: float) -> float:
    """Return how much faster a light cut may be fed for the same greatest chip thickness.

    D / (2 sqrt(a (D - a))) for a cut narrower than half the diameter, 1 for wider ones.
    """
    share = width_mm / diameter_mm
    if share >= 0.5 or share <= 0.0:
        return 1.0
    return 1.0 / (2.0 * sqrt(share * (1.0 - share)))


def thickest_mm(advance_mm: float, width_mm: float, diameter_mm: float) -> float:
    """Return the greatest chip thickness of an advance per edge: the inverse of ``thinning``."""
    return advance_mm / thinning(width_mm, diameter_mm)


def edge_force_n(stock: Stock, chip_mm: float, depth_mm: float) -> float:
    """Return the tangential force of a sharp edge ``depth_mm`` long on a chip ``chip_mm`` thick."""
    return depth_mm * (stock.shear_n_mm2 * chip_mm + stock.tear_n_mm)


def side_force_n(stock: Stock, chip_mm: float, depth_mm: float, edges: float = 1.0) -> float:
    """Return the greatest force across a cutter: tangential and radial, at the end of its life.

    ``edges`` is how many are in the cut at once, taken as pulling the same way.
    """
    return edges * DULL * sqrt(1.0 + ASIDE**2) * edge_force_n(stock, chip_mm, depth_mm)


def edges_in_cut(flutes: int, width_mm: float, diameter_mm: float) -> float:
    """Return how many edges cut at once, at least one: flutes x engagement / a whole turn."""
    return max(1.0, flutes * engagement_rad(width_mm, diameter_mm) / (2.0 * pi))


def power_w(
    stock: Stock, chip_mm: float, feed_mm_min: float, width_mm: float, depth_mm: float
) -> float:
    """Return the power dull edges spend: cutting energy x volume per second.

    The mean chip of a cut is 2 / pi of its thickest in a slot, which is taken for all cuts.
    """
    volume_mm3_s = feed_mm_min / 60.0 * width_mm * depth_mm
    return DULL * stock.specific_n_mm2(2.0 / pi * chip_mm) * volume_mm3_s / 1000.0
