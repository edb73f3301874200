"""Before a fill gels: how long it can be worked, how it thickens, bubbles, settling."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from flushwork.job.records import Mix
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cure import at_temperature_s
from flushwork.resin.pours import Served
from flushwork.resin.recess import GRAVITY_M_S2
from flushwork.resin.thinned import working_resin
from flushwork.shelf.items import Pigment, PigmentKind, Resin

# ---- How long a mixed cup can be worked, and how many batches a run of pieces therefore needs


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


def pot_life_s(resin: Resin, at_c: float, mass_g: float) -> float:
    """Return the pot life of a cup of ``mass_g`` at a temperature."""
    clock = at_temperature_s(resin.pot_life_s, at_c, resin.at_c)
    return clock * min(1.0, math.pow(resin.pot_mass_g / mass_g, MASS_POWER))


def fill_time_s(serves: Iterable[Served]) -> float:
    """Return the time to fill the pockets of one piece, where nobody has timed it."""
    return sum(
        POCKET_S * each.pockets + POUR_S_PER_CM3 * (each.pocket_cm3 + each.over_cm3)
        for each in serves
    )


# ---- How thick the mixed resin is: by temperature, and as it cures towards gel


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


# ---- Which bubbles get out before the resin gels


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

    ``warmer_mm`` is the same with the resin 10 C warmer, ``shallower_mm`` from half the depth:
    what each remedy would win.
    """

    smallest_mm: float
    vacuum_mm: float
    warmer_mm: float
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

    def smallest(depth: float, celsius: float) -> float:
        viscosity = viscosity_at_pa_s(resin.viscosity_pa_s, celsius, resin.at_c)
        fluid = fluid_time_to_gel_s(pot_life_s(resin, celsius, resin.pot_mass_g))
        return smallest_escaping_mm(depth, viscosity, fluid, density_kg_m3)

    now = smallest(depth_mm, at_c)
    return Escape(
        smallest_mm=now,
        vacuum_mm=now / expansion(ATMOSPHERE_KPA, vacuum_kpa) ** (1.0 / 3.0),
        warmer_mm=smallest(depth_mm, at_c + 10.0),
        shallower_mm=smallest(depth_mm / 2.0, at_c),
    )


# ---- How far pigment sinks before the resin gels, and how much clear resin that leaves on top
#
# One model for the finding, the bright lines and the look. Sunk pigment is not lost: as much of it
# lies over each place of the floor as before, so a fill hides what is below it just as well and
# pictures show it as full as ever. What changes is how deep its colour lies. Whether sanding still
# cuts flakes that are reckoned to have sunk out of its way rests on a guess, so bright lines and
# pictures do not count on it.


FLAKE_THICK_MM: Final = 0.0006
"""How thick a flake is, coating and all (a guess, from memory: 0.3 to 1 micrometre whatever its
width; a cured column test strip replaces it).  Crowding and clinging, which slow flakes, are left
out.
"""


def disc_broadside_mm_s(
    diameter_mm: float, thickness_mm: float, difference_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Return the speed of a thin disc falling flat: pi drho g D h / (32 mu).

    Weight against the drag 8 mu D V of a disc broadside on (A. Oberbeck, J. reine angew. Math. 81
    (1876) 62, from memory).
    """
    area = diameter_mm / 1000.0 * thickness_mm / 1000.0
    return 1000.0 * math.pi * difference_kg_m3 * GRAVITY_M_S2 * area / (32.0 * viscosity_pa_s)


def sinking_speed_mm_s(pigment: Pigment, difference_kg_m3: float, viscosity_pa_s: float) -> float:
    """Return how fast a pigment sinks: a dye not at all, a flake as a disc, a grain as a sphere."""
    if pigment.kind is PigmentKind.DYE:
        return 0.0
    if pigment.kind is PigmentKind.FLAKE:
        thick_mm = min(FLAKE_THICK_MM, pigment.flake_mm)
        return disc_broadside_mm_s(pigment.flake_mm, thick_mm, difference_kg_m3, viscosity_pa_s)
    return stokes_mm_s(pigment.flake_mm, difference_kg_m3, viscosity_pa_s)


def sinking_mm(mix: Mix, at_c: float) -> float:
    """Return how far the pigment of a mix that sinks fastest gets from pour to gel."""
    resin = working_resin(mix)
    liquid_kg_m3 = 1000.0 * mix_density_g_cm3(mix)
    viscosity = viscosity_at_pa_s(resin.viscosity_pa_s, at_c, resin.at_c)
    fastest = max(
        (
            sinking_speed_mm_s(
                each.pigment, 1000.0 * each.pigment.density_g_cm3 - liquid_kg_m3, viscosity
            )
            for each in mix.pigments
        ),
        default=0.0,
    )
    return max(0.0, fastest) * fluid_time_to_gel_s(pot_life_s(resin, at_c, resin.pot_mass_g))


def clear_top_mm(sunk_mm: float, depth_mm: float, milled_to_mm: float) -> float:
    """Return how much clear resin is left on top once flush milling has taken its part of it."""
    return max(0.0, min(sunk_mm, depth_mm) - milled_to_mm)
