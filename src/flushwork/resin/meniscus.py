"""The length over which a free surface bends at a wall.

P.-G. de Gennes, F. Brochard-Wyart and D. Quere, Capillarity and Wetting Phenomena (2004), ch. 2
(from memory).
"""

from __future__ import annotations

import math
from typing import Final

GRAVITY_M_S2: Final = 9.80665
"""Standard gravity, CGPM 1901."""


def capillary_length_mm(tension_n_m: float, density_kg_m3: float) -> float:
    """Return sqrt(gamma / (rho g))."""
    return 1000.0 * math.sqrt(tension_n_m / (density_kg_m3 * GRAVITY_M_S2))
