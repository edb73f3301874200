"""The chip an edge takes on its way round, and the force it needs for it.

What a material asks of an edge that cuts it: force by chip thickness.

A bit as a cantilever: how far its tip bends aside, and how hard that strains it.

Closed forms of elementary beam theory for a force F at the tip of a round bar held at its other
end: deflection F L^3 / (3 E I) with I = pi d^4 / 64, greatest stress 32 F L / (pi d^3) at the
root.  A thin fluted part of length l on a shank out to L bends F / (3 E) (l^3 / I1 + (L^3 - l^3) /
I2).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import acos, pi, sqrt
from typing import Final

from flushwork.shelf.items import Bit, BitKind, Wood


@dataclass(frozen=True, slots=True)
class Stock:
    """A material to be cut.

    An edge takes ``shear_n_mm2`` x chip thickness + ``tear_n_mm`` of force per mm of its length:
    work spent on shearing the chip, which grows with its thickness, and on parting it from the
    rest, which does not.  That is A. G. Atkins' account of cutting (*The Science and Engineering
    of Cutting*, 2009), which L. Hlaskova and others fit to the sawing of beech and spruce
    (*BioResources* 10(3), 2015, 5381-5394 and 13(3), 2018, 6171-6186) and Y. Patel, B. Blackman
    and J. G. Williams to polymers (*Eng. Fract. Mech.* 76, 2009, 2711-2730).  ``melts`` says that
    heat smears it before it burns.
    """

    name: str
    shear_n_mm2: float
    tear_n_mm: float
    melts: bool = False

    def specific_n_mm2(self, chip_mm: float) -> float:
        """Return the cutting energy per volume (N/mm2 = J/cm3) at one chip thickness."""
        return self.shear_n_mm2 + self.tear_n_mm / chip_mm


WOOD_SHEAR_N_MM2: Final = 40.0
"""... times the specific gravity.  From memory (20 to 60); with ``WOOD_TEAR_N_MM`` it gives 24 to
50 N/mm2 at a chip of 0.1 mm, inside the 10 to 60 that handbooks of wood machining give (from
memory).  Gravity explains forces weakly (r = 0.61 over nine species on a router, *Research,
Society and Development* 11(7), 2022, 29674).  A slot cut at two feeds with the spindle's power
read would replace both."""

WOOD_TEAR_N_MM: Final = 2.2
"""... times the specific gravity: the toughness across the grain, 1 to 2 kJ/m2 in hardwood.  From
memory (1.5 to 3)."""

RESIN_STOCK: Final = Stock("cured resin", shear_n_mm2=100.0, tear_n_mm=0.5, melts=True)
"""Shear strength of a cured epoxy (40 to 50 MPa) by the shear strain of a chip (about 2); its
toughness, and the rounding of an edge (0.2 to 0.6 kJ/m2).  From memory (60 to 150; 0.2 to 1); a
groove in a resin test strip with the spindle's power read would replace both."""

HARD_GRAVITY: Final = 0.65


@cache
def wood_stock(name: str, gravity: float) -> Stock:
    """Return a wood as an edge feels it."""
    return Stock(name, WOOD_SHEAR_N_MM2 * gravity, WOOD_TEAR_N_MM * gravity)


def stock_of_wood(wood: Wood) -> Stock:
    """Return a wood of the shelf as an edge feels it."""
    return wood_stock(wood.name, wood.gravity)


HARDWOOD: Final = wood_stock("hardwood", HARD_GRAVITY)
"""Stands for a wood nobody named."""


@cache
def beside(resin: Stock, wood: Stock) -> Stock:
    """Return what a cut along the edge of two materials has to be ready for."""
    return Stock(
        f"{resin.name} in {wood.name}",
        max(resin.shear_n_mm2, wood.shear_n_mm2),
        max(resin.tear_n_mm, wood.tear_n_mm),
        melts=resin.melts or wood.melts,
    )


CARBIDE_E_N_MM2: Final = 580_000.0
"""Young's modulus of cemented carbide, from memory (550 to 650 GPa)."""

CARBIDE_N_MM2: Final = 3_000.0
"""Bending strength (transverse rupture) of fine-grained carbide, from memory (2 to 4 GPa)."""

STRESS_SHARE: Final = 0.2
"""The share of that strength a bit is asked to bear, turn after turn, knots and all.

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


def bending(bit: Bit) -> Bending:
    """Return how a bit bends, its flutes and its shank taken as two round bars.

    A V-bit is a cone that grows stout at once: only its shank is reckoned.
    """
    out = bit.reach_mm
    shank = bit.shank_mm
    if bit.kind is BitKind.V_BIT:
        fluted_mm, thin = 0.0, shank
    else:
        fluted_mm, thin = min(bit.flute_mm, out), FLUTED * bit.diameter_mm
    thin_i, shank_i = second_moment_mm4(thin), second_moment_mm4(shank)
    bends = fluted_mm**3 / thin_i + (out**3 - fluted_mm**3) / shank_i
    stress = bar_stress_n_mm2(1.0, fluted_mm, thin)
    if fluted_mm < out:
        stress = max(stress, bar_stress_n_mm2(1.0, out, shank))
    return Bending(bends / (3.0 * CARBIDE_E_N_MM2), stress)


DULL: Final = 2.0
"""Force of an edge at the end of its life over that of a sharp one.  From memory (1.5 to 3)."""

ASIDE: Final = 0.5
"""Force square to the edge's way as a share of that along it, dull edges more.  Assumed (0.3 to
1)."""


def engagement_rad(width_mm: float, diameter_mm: float) -> float:
    """Return the angle an edge spends in the stock per turn where the cut is ``width_mm`` wide.

    arccos(1 - 2 a / D): half a turn in a full-width slot.
    """
    return acos(1.0 - 2.0 * min(max(width_mm / diameter_mm, 0.0), 1.0))


def thinning(width_mm: float, diameter_mm: float) -> float:
    """Return how much faster a light cut may be fed for the same greatest chip thickness.

    D / (2 sqrt(a (D - a))) for a cut narrower than half the diameter, 1 for wider ones.
    """
    share = width_mm / diameter_mm
    if share >= 0.5 or share <= 0.0:
        return 1.0
    return 1.0 / (2.0 * sqrt(share * (1.0 - share)))


def thickest_mm(advance_mm: float, width_mm: float, diameter_mm: float) -> float:
    """Return the greatest chip thickness of an advance per edge: the inverse of ``thinning``."""
    return advance_mm / thinning(width_mm, diameter_mm)


def edge_force_n(stock: Stock, chip_mm: float, depth_mm: float) -> float:
    """Return the tangential force of a sharp edge ``depth_mm`` long on a chip ``chip_mm`` thick."""
    return depth_mm * (stock.shear_n_mm2 * chip_mm + stock.tear_n_mm)


def side_force_n(stock: Stock, chip_mm: float, depth_mm: float, edges: float = 1.0) -> float:
    """Return the greatest force across a bit: tangential and radial, at the end of its life.

    ``edges`` is how many are in the cut at once, taken as pulling the same way.
    """
    return edges * DULL * sqrt(1.0 + ASIDE**2) * edge_force_n(stock, chip_mm, depth_mm)


def edges_in_cut(flutes: int, width_mm: float, diameter_mm: float) -> float:
    """Return how many edges cut at once, at least one: flutes x engagement / a whole turn."""
    return max(1.0, flutes * engagement_rad(width_mm, diameter_mm) / (2.0 * pi))


def power_w(
    stock: Stock, chip_mm: float, feed_mm_min: float, width_mm: float, depth_mm: float
) -> float:
    """Return the power dull edges spend: cutting energy x volume per second.

    The mean chip of a cut is 2 / pi of its thickest in a slot, which is taken for all cuts.
    """
    volume_mm3_s = feed_mm_min / 60.0 * width_mm * depth_mm
    return DULL * stock.specific_n_mm2(2.0 / pi * chip_mm) * volume_mm3_s / 1000.0
