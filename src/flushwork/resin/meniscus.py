"""The free surface between two walls, in closed 2-D form.

P.-G. de Gennes, F. Brochard-Wyart and D. Quere, Capillarity and Wetting Phenomena (2004), ch. 2
(from memory): at one plane wall the rise is a sqrt(2 (1 - sin theta)) with a the capillary length;
between walls much closer than a the surface is an arc of radius w / (2 cos theta).
"""

from __future__ import annotations

import math
from typing import Final

GRAVITY_M_S2: Final = 9.80665
"""Standard gravity, CGPM 1901."""


def capillary_length_mm(tension_n_m: float, density_kg_m3: float) -> float:
    """Return sqrt(gamma / (rho g))."""
    return 1000.0 * math.sqrt(tension_n_m / (density_kg_m3 * GRAVITY_M_S2))


def wall_rise_mm(capillary_mm: float, contact_rad: float) -> float:
    """Return the rise at one plane wall of a wide slot."""
    return capillary_mm * math.sqrt(2.0 * (1.0 - math.sin(contact_rad)))


def arc_radius_mm(width_mm: float, contact_rad: float) -> float:
    """Return the radius of the arc across a narrow slot."""
    return width_mm / (2.0 * math.cos(contact_rad))


def arc_sag_mm(width_mm: float, contact_rad: float) -> float:
    """Return how deep the arc across a narrow slot hangs below its edges."""
    return width_mm / 2.0 * math.tan(math.pi / 4.0 - contact_rad / 2.0)


def arc_area_mm2(width_mm: float, contact_rad: float) -> float:
    """Return the area between the arc and the line through its edges."""
    half = math.pi / 2.0 - contact_rad
    radius = arc_radius_mm(width_mm, contact_rad)
    return radius**2 * (half - math.sin(half) * math.cos(half))


def sag_mm(width_mm: float, contact_rad: float, capillary_mm: float) -> float:
    """Return how deep the surface hangs in a slot of any width: the lesser of the two forms.

    Each form is an upper bound: the narrow one leaves gravity out, the wide one the other wall.
    """
    return min(arc_sag_mm(width_mm, contact_rad), wall_rise_mm(capillary_mm, contact_rad))


def jurin_mm(
    tension_n_m: float, contact_rad: float, density_kg_m3: float, width_mm: float
) -> float:
    """Return how high a liquid climbs between plates: 2 gamma cos(theta) / (rho g w)."""
    weight = density_kg_m3 * GRAVITY_M_S2 * width_mm / 1000.0
    return 1000.0 * 2.0 * tension_n_m * math.cos(contact_rad) / weight
