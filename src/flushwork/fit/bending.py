"""A cutter as a cantilever: how far its tip bends aside, and how hard that strains it.

Closed forms of elementary beam theory for a force F at the tip of a round bar held at its other
end: deflection F L^3 / (3 E I) with I = pi d^4 / 64, greatest stress 32 F L / (pi d^3) at the
root.  A thin fluted part of length l on a shank out to L bends F / (3 E) (l^3 / I1 + (L^3 - l^3) /
I2).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Final

from flushwork.shelf.items import Cutter, CutterKind

CARBIDE_E_N_MM2: Final = 580_000.0
"""Young's modulus of cemented carbide, from memory (550 to 650 GPa)."""

CARBIDE_N_MM2: Final = 3_000.0
"""Bending strength (transverse rupture) of fine-grained carbide, from memory (2 to 4 GPa)."""

STRESS_SHARE: Final = 0.2
"""The share of that strength a cutter is asked to bear, turn after turn, knots and all.

Assumed (0.15 to 0.3): flutes end in sharp corners, and a load that comes and goes 600 times a
second breaks at a fraction of the strength.
"""

FLUTED: Final = 0.8
"""A fluted part bends like a bar of this share of its diameter (L. Kops and D. T. Vo, *Annals of
the CIRP* 39(1), 1990; from memory)."""


@dataclass(frozen=True, slots=True)
class Bending:
    """What one newton at the tip does: mm of deflection, and N/mm2 of stress at the worst place."""

    mm_per_n: float
    n_mm2_per_n: float


def second_moment_mm4(diameter_mm: float) -> float:
    """Return I = pi d^4 / 64 of a round bar."""
    return pi * diameter_mm**4 / 64.0


def bar_stress_n_mm2(force_n: float, arm_mm: float, diameter_mm: float) -> float:
    """Return the stress at a round bar's skin, ``arm_mm`` from the force: 32 F L / (pi d^3)."""
    return 32.0 * force_n * arm_mm / (pi * diameter_mm**3)


def bending(cutter: Cutter) -> Bending:
    """Return how a cutter bends, its flutes and its shank taken as two round bars.

    A vee is a cone that grows stout at once: only its shank is reckoned.
    """
    out = cutter.reach_mm
    shank = cutter.shank_mm
    if cutter.kind is CutterKind.VEE:
        fluted_mm, thin = 0.0, shank
    else:
        fluted_mm, thin = min(cutter.flute_mm, out), FLUTED * cutter.diameter_mm
    thin_i, shank_i = second_moment_mm4(thin), second_moment_mm4(shank)
    bends = fluted_mm**3 / thin_i + (out**3 - fluted_mm**3) / shank_i
    stress = bar_stress_n_mm2(1.0, fluted_mm, thin)
    if fluted_mm < out:
        stress = max(stress, bar_stress_n_mm2(1.0, out, shank))
    return Bending(bends / (3.0 * CARBIDE_E_N_MM2), stress)
