"""Cure shrinkage from what a shop can measure: two densities, or the length of a cast strip."""

from __future__ import annotations


def from_densities(liquid_g_cm3: float, cured_g_cm3: float) -> float:
    """Return the share of volume lost in cure: 1 - liquid density / cured density."""
    return 1.0 - liquid_g_cm3 / cured_g_cm3


def linear(by_volume: float) -> float:
    """Return the share of length a free strip loses: 1 - (1 - S)^(1/3)."""
    return 1.0 - float((1.0 - by_volume) ** (1.0 / 3.0))


def by_volume(linear_share: float) -> float:
    """Return the share of volume from the share of length a free strip lost."""
    return 1.0 - (1.0 - linear_share) ** 3
