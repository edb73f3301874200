"""How much mixed resin may stand in one cup: the label first, then the heat it can lose to the air.

D. A. Frank-Kamenetskii, Diffusion and Heat Transfer in Chemical Kinetics (2nd ed., 1969, from
memory): with delta = E Q rho k l^2 / (R T^2 lambda) above its critical value no steady temperature
exists.  His critical values, 0.878 (slab, l half its thickness) and 2.00 (long cylinder, l its
radius), are for walls held at the air's temperature.  A cup loses heat to the air by a finite
number h: with the Biot number Bi = h l / lambda the boundary reads dtheta/dx = -Bi theta, and the
same exact solutions of the slab and the cylinder give the greatest delta (derived here; P. H.
Thomas, Trans. Faraday Soc. 54, 1958, treats the same boundary, from memory).  For large Bi it is
his value, for small Bi Semenov's Bi / e (slab) and 2 Bi / e (cylinder).

The rate k of a resin on the shelf is unknown, but its pot life in a cup is: taken as the adiabatic
induction time t = c R T^2 / (E Q k), delta becomes l^2 / (a t) with a = lambda / (rho c).

The label's cup is the measure.  What its maker lets stand in one cup, at the temperature of its
clocks, is as far past the critical value as a cup may be; in a warmer shop a cup may hold what is
no farther past it.  In a colder one the label's figure stays.
"""

from __future__ import annotations

import math
from typing import Final

from flushwork.resin.cure import at_temperature_s
from flushwork.shelf.items import Resin

DIFFUSIVITY_MM2_S: Final = 0.1
"""Thermal diffusivity of liquid epoxy: 0.2 W/(m K) over 1100 kg/m3 and 1800 J/(kg K) (from memory;
range 0.08 to 0.12; a thermometer in a cup replaces it)."""

CONDUCTIVITY_W_M_K: Final = 0.2
"""Heat conduction of liquid epoxy (from memory; range 0.15 to 0.25)."""

AIR_LOSS_W_M2_K: Final = 10.0
"""What a cup's wall loses to still air, half by convection and half by radiation (from memory;
range 5 to 15; a thermometer in a cup of warm water replaces it)."""

CUP_HEIGHT_PER_DIAMETER: Final = 0.5
"""How high a batch stands in the cup chosen for it, over the cup's diameter (assumed; range 0.3 to
1; the shop's own cups replace it)."""

_STEPS: Final = 60
"""Halvings of an interval: it ends narrower than a double can tell."""


def biot(half_size_mm: float) -> float:
    """Return the Biot number of a body that loses its heat to the shop's air."""
    return AIR_LOSS_W_M2_K * half_size_mm / 1000.0 / CONDUCTIVITY_W_M_K


def critical_cylinder(biot_number: float) -> float:
    """Return the critical delta, by its radius, of a long cylinder.

    exp(theta) = (8 B / delta) / (1 + B x^2)^2 solves theta'' + theta' / x + delta exp(theta) = 0;
    with the boundary delta = 8 B / (1 + B)^2 exp(-4 B / ((1 + B) Bi)), greatest where
    1 - B^2 = 4 B / Bi (derived).
    """
    b = biot_number / (math.sqrt(biot_number**2 + 4.0) + 2.0)
    return 8.0 * b / (1.0 + b) ** 2 * math.exp(-4.0 * b / ((1.0 + b) * biot_number))


def critical_slab(biot_number: float) -> float:
    """Return the critical delta, by half its thickness, of a slab.

    exp(theta) = exp(theta0) / cosh^2(u x) with delta = 2 u^2 exp(-theta0); with the boundary
    delta = 2 (u / cosh u)^2 exp(-2 u tanh u / Bi), greatest where
    1 / u - tanh u = (tanh u + u / cosh^2 u) / Bi (derived).
    """
    low, high = 1e-12, 2.0
    for _ in range(_STEPS):
        u = (low + high) / 2.0
        slope = 1.0 / u - math.tanh(u) - (math.tanh(u) + u / math.cosh(u) ** 2) / biot_number
        low, high = (u, high) if slope > 0.0 else (low, u)
    u = (low + high) / 2.0
    return 2.0 * (u / math.cosh(u)) ** 2 * math.exp(-2.0 * u * math.tanh(u) / biot_number)


def cup_critical(radius_mm: float, height_mm: float) -> float:
    """Return the critical delta, by its radius, of a filled cup on a bench that takes no heat.

    A cup loses heat at least as well as the endless cylinder of its radius, and as the endless
    slab cooled at its top alone, whose half thickness is the cup's whole height; so the greater of
    the two bounds is safe.
    """
    slab = critical_slab(biot(height_mm)) * (radius_mm / height_mm) ** 2
    return max(critical_cylinder(biot(radius_mm)), slab)


def heating(mass_g: float, density_g_cm3: float, life_s: float) -> float:
    """Return how many times its critical delta a cup of resin has; above 1 it heats itself."""
    volume_mm3 = 1000.0 * mass_g / density_g_cm3
    radius_mm = math.cbrt(volume_mm3 / (2.0 * math.pi * CUP_HEIGHT_PER_DIAMETER))
    height_mm = 2.0 * radius_mm * CUP_HEIGHT_PER_DIAMETER
    return radius_mm**2 / (DIFFUSIVITY_MM2_S * life_s) / cup_critical(radius_mm, height_mm)


def label_g(resin: Resin) -> float:
    """Return what the label lets stand in one cup; the mass its pot life holds for without it."""
    return resin.cup_g or resin.pot_mass_g


def cup_limit_g(resin: Resin, at_c: float, density_g_cm3: float) -> float:
    """Return the most of a mix that may be in one cup at a temperature, in g.

    It counts from the first stir to the last drop poured: a batch above it is never one cup.
    """
    most_g = label_g(resin)
    if at_c <= resin.at_c:
        return most_g
    bears = heating(most_g, density_g_cm3, resin.pot_life_s)
    life_s = at_temperature_s(resin.pot_life_s, at_c, resin.at_c)
    low, high = 0.0, most_g
    for _ in range(_STEPS):
        middle = (low + high) / 2.0
        fits = heating(middle, density_g_cm3, life_s) <= bears
        low, high = (middle, high) if fits else (low, middle)
    return low
