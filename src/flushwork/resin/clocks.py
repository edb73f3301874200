"""How fast resin's clocks run at a temperature.

Twice as fast for every 10 C warmer (common practice, no source).  By Arrhenius' law, rate =
exp(-E / R (1 / T - 1 / T_ref)), that is an activation energy of 52.9 kJ/mol from 25 to 35 C; for
amine-cured epoxies 44 to 57 kJ/mol are published (Barral and others, J. Appl. Polym. Sci. 56(9),
1995, 1029, abstract) and 55 to 60 (Thermochim. Acta 447(2), 2006, 167, abstract), both of resins
cured hot.  Cure sticks at two temperatures replace the rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable

RateRule = Callable[[float, float], float]


def doubling_rate(at_c: float, reference_c: float) -> float:
    """Return the rate relative to the reference temperature, doubling every 10 C."""
    return math.exp2((at_c - reference_c) / 10.0)


def at_temperature_s(
    clock_s: float, at_c: float, reference_c: float, rate: RateRule = doubling_rate
) -> float:
    """Return how long a clock that takes ``clock_s`` at the reference takes at ``at_c``."""
    return clock_s / rate(at_c, reference_c)
