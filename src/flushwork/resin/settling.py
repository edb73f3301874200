"""How far flakes sink before the resin gels: the pale top that levelling may or may not take."""

from __future__ import annotations

import math

from flushwork.resin.bubbles import stokes_mm_s
from flushwork.resin.meniscus import GRAVITY_M_S2
from flushwork.resin.pot_life import pot_life_s
from flushwork.resin.viscosity import fluid_time_to_gel_s, viscosity_at_pa_s
from flushwork.shelf.items import Pigment, PigmentKind, Resin

FLAKE_SLOWER = 3.0
"""A flake falls so many times slower than the sphere of its width (common practice, no source; 2 to
5; a cured column coupon replaces it)."""


def disc_broadside_mm_s(
    diameter_mm: float, thickness_mm: float, difference_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Return the speed of a thin disc falling flat: pi drho g D h / (32 mu).

    Weight against the drag 8 mu D V of a disc broadside on (A. Oberbeck, J. reine angew. Math. 81
    (1876) 62, from memory).
    """
    area = diameter_mm / 1000.0 * thickness_mm / 1000.0
    return 1000.0 * math.pi * difference_kg_m3 * GRAVITY_M_S2 * area / (32.0 * viscosity_pa_s)


def sinking_mm(
    pigment: Pigment, resin: Resin, at_c: float, liquid_g_cm3: float, thinned: float = 1.0
) -> float:
    """Return how far a pigment sinks from pour to gel; nothing for a dye, which is dissolved.

    ``thinned`` is the share of the viscosity that thinner leaves.
    """
    if pigment.kind is PigmentKind.DYE:
        return 0.0
    viscosity = thinned * viscosity_at_pa_s(resin.viscosity_pa_s, at_c, resin.at_c)
    difference = 1000.0 * (pigment.density_g_cm3 - liquid_g_cm3)
    speed = stokes_mm_s(pigment.flake_mm, difference, viscosity)
    if pigment.kind is PigmentKind.FLAKE:
        speed /= FLAKE_SLOWER
    return speed * fluid_time_to_gel_s(pot_life_s(resin, at_c, resin.pot_mass_g))


def pale_top_mm(sunk_mm: float, depth_mm: float, levelled_mm: float) -> float:
    """Return how much pale resin is left on top once levelling has taken its part of it."""
    return max(0.0, min(sunk_mm, depth_mm) - levelled_mm)
