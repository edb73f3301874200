"""How thick the mixed resin is: by temperature, and as it cures towards gel."""

from __future__ import annotations

import math
from typing import Final

HALVES_PER_C: Final = 9.0
"""Warmer by this much halves the viscosity (from memory, 8 to 10; a timed drip replaces it)."""

GEL_PER_POT_LIFE: Final = 3.0
"""Gel comes at so many pot lives in a thin pour (assumed; range 1.5 to 4; a cure stick replaces
it)."""


def viscosity_at_pa_s(reference_pa_s: float, at_c: float, reference_c: float) -> float:
    """Return the fresh viscosity at a temperature."""
    return reference_pa_s * math.exp2(-(at_c - reference_c) / HALVES_PER_C)


def fluid_time_s(pot_life_s: float, until_s: float) -> float:
    """Return the time at fresh viscosity that does as much as ``until_s`` of thickening.

    The viscosity doubles with each pot life, the usual meaning of the word (from memory), so the
    fluidity integrates to tau (1 - exp(-t / tau)), tau = pot life / ln 2.
    """
    tau = pot_life_s / math.log(2.0)
    return tau * -math.expm1(-until_s / tau)


def fluid_time_to_gel_s(pot_life_s: float) -> float:
    """Return ``fluid_time_s`` from pour to gel."""
    return fluid_time_s(pot_life_s, GEL_PER_POT_LIFE * pot_life_s)
