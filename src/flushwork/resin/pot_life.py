"""How long a mixed cup can be worked, and how many batches a run of pieces therefore needs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from flushwork.resin.clocks import RateRule, at_temperature_s, doubling_rate
from flushwork.resin.pours import Served
from flushwork.shelf.items import Resin

MIXING_S: Final = 360.0
"""Stirring three minutes in one cup and three in a clean one (common practice, no source); the
clock runs from first contact of resin and hardener, so this comes off the pot life."""

MASS_POWER: Final = 0.25
"""Pot life falls with this power of the mass above the mass it is stated for (assumed; range 0 to
0.5; two cups of different mass, timed, replace it).  A smaller cup is not credited with more."""

POCKET_S: Final = 18.0
"""Time to fill one pocket of one piece (assumed; range 5 to 60; a timed pour replaces it)."""

POUR_S_PER_CM3: Final = 2.0
"""Further time for each cm3 poured (assumed; range 0.5 to 5; a timed pour replaces it)."""


def pot_life_s(resin: Resin, at_c: float, mass_g: float, rate: RateRule = doubling_rate) -> float:
    """Return the pot life of a cup of ``mass_g`` at a temperature."""
    clock = at_temperature_s(resin.pot_life_s, at_c, resin.at_c, rate)
    return clock * min(1.0, math.pow(resin.pot_mass_g / mass_g, MASS_POWER))


def fill_time_s(serves: Iterable[Served]) -> float:
    """Return the time to fill the pockets of one piece, where nobody has timed it."""
    return sum(
        POCKET_S * each.pockets + POUR_S_PER_CM3 * (each.pocket_cm3 + each.over_cm3)
        for each in serves
    )


def in_time(pieces: float, fill_s: float, life_s: float, mixing_s: float = MIXING_S) -> bool:
    """Whether so many pieces are filled before the pot life ends, mixing included."""
    return mixing_s + pieces * fill_s <= life_s
