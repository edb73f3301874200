"""How fast resin's clocks run at a temperature.

Two rules.  The workshop's: twice as fast for every 10 C warmer (common practice, no source); it is
the default because it needs no constant and lies among the measured activation energies.
Arrhenius': rate = exp(-E / R (1 / T - 1 / T_ref)), any physical-chemistry text; for amine-cured
epoxies 44 to 57 kJ/mol are published (Barral and others, J. Appl. Polym. Sci. 56(9), 1995, 1029,
abstract) and 55 to 60 (Thermochim. Acta 447(2), 2006, 167, abstract), both of resins cured hot.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

GAS_CONSTANT_J_MOL_K: Final = 8.314462618
"""CODATA 2018."""

KELVIN: Final = 273.15

ENERGY_J_MOL: Final = 53000.0
"""Activation energy of the clocks (assumed within the published 44 to 60 kJ/mol: 52.9 doubles from
25 to 35 C; cure sticks at two temperatures replace it)."""

RateRule = Callable[[float, float], float]


def doubling_rate(at_c: float, reference_c: float) -> float:
    """Return the rate relative to the reference temperature, doubling every 10 C."""
    return math.exp2((at_c - reference_c) / 10.0)


def arrhenius_rate(at_c: float, reference_c: float, energy_j_mol: float = ENERGY_J_MOL) -> float:
    """Return the rate relative to the reference temperature by Arrhenius' law."""
    inverse = 1.0 / (at_c + KELVIN) - 1.0 / (reference_c + KELVIN)
    return math.exp(-energy_j_mol / GAS_CONSTANT_J_MOL_K * inverse)


def doubling_energy_j_mol(from_c: float, to_c: float) -> float:
    """Return the activation energy at which the rate doubles between two temperatures."""
    inverse = 1.0 / (from_c + KELVIN) - 1.0 / (to_c + KELVIN)
    return GAS_CONSTANT_J_MOL_K * math.log(2.0) / inverse


def at_temperature_s(
    clock_s: float, at_c: float, reference_c: float, rate: RateRule = doubling_rate
) -> float:
    """Return how long a clock that takes ``clock_s`` at the reference takes at ``at_c``."""
    return clock_s / rate(at_c, reference_c)
