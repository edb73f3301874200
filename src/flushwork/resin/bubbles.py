"""Which bubbles get out before the resin gels."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.resin.pot_life import pot_life_s
from flushwork.resin.recess import GRAVITY_M_S2
from flushwork.resin.viscosity import fluid_time_to_gel_s, viscosity_at_pa_s
from flushwork.shelf.items import Resin

ATMOSPHERE_KPA = 101.325
"""Standard atmosphere, CGPM 1954."""


def stokes_mm_s(diameter_mm: float, difference_kg_m3: float, viscosity_pa_s: float) -> float:
    """Return the speed of a rigid sphere, or a bubble stiff with dirt: g d^2 drho / (18 mu).

    G. G. Stokes, Trans. Camb. Phil. Soc. 9 (1851) 8; Reynolds numbers far below 1.
    """
    metres = diameter_mm / 1000.0
    return 1000.0 * GRAVITY_M_S2 * metres**2 * difference_kg_m3 / (18.0 * viscosity_pa_s)


def expansion(from_kpa: float, to_kpa: float) -> float:
    """Return by how much a bubble's volume grows when the pressure falls (Boyle)."""
    return from_kpa / to_kpa


@dataclass(frozen=True, slots=True)
class Escape:
    """The smallest bubble that leaves a pocket before gel, and the smallest under vacuum.

    ``warmer_mm`` is the same with the resin 10 C warmer, ``thinner_mm`` at half its viscosity,
    ``shallower_mm`` from half the depth: what each remedy would win.
    """

    smallest_mm: float
    vacuum_mm: float
    warmer_mm: float
    thinner_mm: float
    shallower_mm: float


def smallest_escaping_mm(
    depth_mm: float, viscosity_pa_s: float, fluid_s: float, density_kg_m3: float
) -> float:
    """Return the smallest bubble that rises ``depth_mm`` in a fluid time, as a stiff sphere.

    The stiff sphere is the careful choice: resin is never so clean that bubbles slip freely.
    """
    fall = depth_mm / 1000.0 / fluid_s
    return 1000.0 * math.sqrt(18.0 * viscosity_pa_s * fall / (GRAVITY_M_S2 * density_kg_m3))


def escape(
    resin: Resin, depth_mm: float, at_c: float, density_kg_m3: float, vacuum_kpa: float = 10.0
) -> Escape:
    """Return which bubbles leave a pocket of a depth at a temperature.

    Under vacuum a bubble grows by the cube root of the pressure ratio, so one that much smaller
    gets out.
    """

    def smallest(depth: float, celsius: float, thin: float = 1.0) -> float:
        viscosity = thin * viscosity_at_pa_s(resin.viscosity_pa_s, celsius, resin.at_c)
        fluid = fluid_time_to_gel_s(pot_life_s(resin, celsius, resin.pot_mass_g))
        return smallest_escaping_mm(depth, viscosity, fluid, density_kg_m3)

    now = smallest(depth_mm, at_c)
    return Escape(
        smallest_mm=now,
        vacuum_mm=now / expansion(ATMOSPHERE_KPA, vacuum_kpa) ** (1.0 / 3.0),
        warmer_mm=smallest(depth_mm, at_c + 10.0),
        thinner_mm=smallest(depth_mm, at_c, 0.5),
        shallower_mm=smallest(depth_mm / 2.0, at_c),
    )
