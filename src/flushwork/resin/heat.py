"""When a mass of mixed resin heats itself faster than it can lose the heat.

D. A. Frank-Kamenetskii, Diffusion and Heat Transfer in Chemical Kinetics (2nd ed., 1969, from
memory): with delta = E Q rho k l^2 / (R T^2 lambda) above its critical value no steady temperature
exists.  Critical values 0.878 (slab, l half its thickness), 2.00 (long cylinder, l its radius),
3.32 (sphere, l its radius).

The rate k of a resin on the shelf is unknown, but its pot life in a cup is: taken as the adiabatic
induction time t = c R T^2 / (E Q k), delta becomes l^2 / (a t) with a = lambda / (rho c), the
ratio of the time heat needs to leave to the time the resin needs to run away.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

from flushwork.resin.clocks import GAS_CONSTANT_J_MOL_K, KELVIN, RateRule, doubling_rate
from flushwork.resin.pot_life import pot_life_s
from flushwork.shelf.items import Resin

DIFFUSIVITY_MM2_S: Final = 0.1
"""Thermal diffusivity of liquid epoxy: 0.2 W/(m K) over 1100 kg/m3 and 1800 J/(kg K) (from memory;
range 0.08 to 0.12; a thermometer in a cup replaces it)."""

CUP_HEIGHT_PER_DIAMETER: Final = 0.5
"""How high a batch stands in the cup chosen for it, over the cup's diameter (assumed; range 0.3 to
1; the shop's own cups replace it)."""


class Shape(StrEnum):
    """The bodies with published critical values."""

    SLAB = "slab"
    CYLINDER = "cylinder"
    SPHERE = "sphere"


CRITICAL: Final = {Shape.SLAB: 0.878, Shape.CYLINDER: 2.00, Shape.SPHERE: 3.32}


def frank_kamenetskii(
    *,
    energy_j_mol: float,
    heat_j_kg: float,
    density_kg_m3: float,
    rate_per_s: float,
    half_size_m: float,
    at_c: float,
    conductivity_w_m_k: float,
) -> float:
    """Return delta for a zero-order reaction of rate ``rate_per_s`` at the wall's temperature."""
    kelvin = at_c + KELVIN
    heating = energy_j_mol * heat_j_kg * density_kg_m3 * rate_per_s * half_size_m**2
    return heating / (GAS_CONSTANT_J_MOL_K * kelvin**2 * conductivity_w_m_k)


def from_pot_life(half_size_mm: float, life_s: float) -> float:
    """Return delta of a body whose material has a pot life of ``life_s``."""
    return half_size_mm**2 / (DIFFUSIVITY_MM2_S * life_s)


def runs_away(delta: float, shape: Shape) -> bool:
    """Whether a body of a shape has no steady temperature."""
    return delta > CRITICAL[shape]


def cup_critical(radius_mm: float, height_mm: float) -> float:
    """Return the critical delta, by its radius, of a filled cup.

    A cup loses heat at least as well as the endless cylinder of its radius and as the endless slab
    of its height, so the greater of the two bounds is safe.
    """
    slab = CRITICAL[Shape.SLAB] * (radius_mm / (height_mm / 2.0)) ** 2
    return max(CRITICAL[Shape.CYLINDER], slab)


def largest_cup_g(
    resin: Resin,
    at_c: float,
    density_g_cm3: float,
    height_per_diameter: float = CUP_HEIGHT_PER_DIAMETER,
    rate: RateRule = doubling_rate,
) -> float:
    """Return the greatest mass that can be left standing in one cup without running away."""
    life_s = pot_life_s(resin, at_c, resin.pot_mass_g, rate)
    critical = cup_critical(1.0, 2.0 * height_per_diameter)
    radius_mm = math.sqrt(critical * DIFFUSIVITY_MM2_S * life_s)
    volume_mm3 = math.pi * radius_mm**2 * 2.0 * radius_mm * height_per_diameter
    return volume_mm3 / 1000.0 * density_g_cm3


def cups_needed(batch_g: float, largest_g: float) -> int:
    """Return into how many cups a batch is shared so that none of them runs away."""
    return max(1, math.ceil(batch_g / largest_g - 1e-9))


def deepest_steady_layer_mm(resin: Resin, at_c: float, rate: RateRule = doubling_rate) -> float:
    """Return the deepest pour cooled at its top alone that keeps a steady temperature.

    Wood below insulates, so the whole depth is the half thickness of a slab.  It supports, and
    never replaces, the depth limit on the resin's label.
    """
    life_s = pot_life_s(resin, at_c, resin.pot_mass_g, rate)
    return math.sqrt(CRITICAL[Shape.SLAB] * DIFFUSIVITY_MM2_S * life_s)
