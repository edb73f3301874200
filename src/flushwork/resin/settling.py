"""How far pigment sinks before the resin gels, and how much clear resin that leaves on top.

One model for the finding, the bright lines and the look.  Sunk pigment is not lost: as much of it
lies over each place of the floor as before, so a fill hides what is below it just as well and
pictures show it as full as ever.  What changes is how deep its colour lies.  Whether sanding still
cuts flakes that are reckoned to have sunk out of its way rests on a guess, so bright lines and
pictures do not count on it.
"""

from __future__ import annotations

import math
from typing import Final

from flushwork.job.records import Mix
from flushwork.resin.bubbles import stokes_mm_s
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.pot_life import pot_life_s
from flushwork.resin.recess import GRAVITY_M_S2
from flushwork.resin.thinned import working_resin
from flushwork.resin.viscosity import fluid_time_to_gel_s, viscosity_at_pa_s
from flushwork.shelf.items import Pigment, PigmentKind

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
