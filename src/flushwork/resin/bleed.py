"""How far colour runs into the pores of a wall before the resin gels.

E. W. Washburn, Phys. Rev. 17 (1921) 273: L = sqrt(gamma r cos(theta) t / (2 mu)).  With an
anatomical pore radius and the viscosity of the fresh resin it is an upper bound.
"""

from __future__ import annotations

import math
from typing import Final

PORE_RADIUS_MM: Final = {"closed": 0.02, "semi": 0.05, "open": 0.1}
"""Vessel radius by how open a wood's pores are (from memory, within a factor of two; a bleed
strip of the species replaces it)."""

TENSION_N_M: Final = 0.045
"""Surface tension of liquid epoxy (from memory; 0.040 to 0.050)."""

CONTACT_RAD: Final = math.radians(30.0)
"""Contact angle on fresh wood (from memory; 20 to 60 degrees; a bleed strip replaces it)."""

PLUGGED: Final = 0.05
"""Share of the ideal length that real vessels, plugged and broken, let through (assumed; range 0.01
to 0.3; a bleed strip replaces it)."""

RUN_OUT: Final = 0.1
"""Fall of the grain below a face sawn along it (assumed; 1 in 20 to 1 in 6; a bleed strip poured
flat and sanded in steps replaces it)."""


def washburn_mm(
    tension_n_m: float,
    radius_mm: float,
    contact_rad: float,
    viscosity_pa_s: float,
    time_s: float,
) -> float:
    """Return how far a liquid is drawn into a pore."""
    pull = tension_n_m * radius_mm / 1000.0 * math.cos(contact_rad)
    return 1000.0 * math.sqrt(pull * time_s / (2.0 * viscosity_pa_s))


def bleed_mm(pores: str, viscosity_pa_s: float, fluid_s: float) -> float:
    """Return the likely bleed along the grain from a wall of bare wood.

    ``pores`` is ``closed``, ``semi`` or ``open``.  A wall cut into cured resin and one behind a
    cured sealer have none, and are not asked for.
    """
    ideal = washburn_mm(TENSION_N_M, PORE_RADIUS_MM[pores], CONTACT_RAD, viscosity_pa_s, fluid_s)
    return PLUGGED * ideal


def soak_mm(pores: str, along_mm: float) -> float:
    """Return how deep a liquid that runs ``along_mm`` along the grain stains a face it lies on.

    The grain leads it down as the face cuts it; a pore cut open is full at least.
    """
    return max(RUN_OUT * along_mm, 2.0 * PORE_RADIUS_MM[pores])
