"""What a board weighs at a moisture.

Forest Products Laboratory, Wood Handbook, GTR-282 (2021), ch. 4, eq. 4-9, 4-12 to 4-14; moistures
and shrinkages here are shares, and wood shrinks below 30 % of moisture.
"""

from __future__ import annotations

FIBRE_SATURATION = 0.30
"""Moisture below which wood shrinks (GTR-282, ch. 4: about 30 %)."""


def shrinkage_at(total: float, moisture: float) -> float:
    """Return the shrinkage from green down to a moisture, eq. 4-9."""
    return total * (1.0 - moisture / FIBRE_SATURATION)


def total_shrinkage(green_gravity: float) -> float:
    """Return the volumetric shrinkage from green to dry that a specific gravity implies, 4-12."""
    return 0.265 * green_gravity


def gravity_at(green_gravity: float, moisture: float) -> float:
    """Return the specific gravity by the volume at a moisture, eq. 4-13."""
    return green_gravity / (1.0 - shrinkage_at(total_shrinkage(green_gravity), moisture))


def density_g_cm3(gravity: float, moisture: float) -> float:
    """Return the density of wood of a specific gravity at a moisture, water included, 4-14."""
    return gravity * (1.0 + moisture)
