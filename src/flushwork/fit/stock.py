"""What a material asks of an edge that cuts it: force by chip thickness."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from flushwork.shelf.items import Timber


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
groove in a resin coupon with the spindle's power read would replace both."""

HARD_GRAVITY: Final = 0.65


@cache
def wood_stock(name: str, gravity: float) -> Stock:
    """Return a timber as an edge feels it."""
    return Stock(name, WOOD_SHEAR_N_MM2 * gravity, WOOD_TEAR_N_MM * gravity)


def timber_stock(timber: Timber) -> Stock:
    """Return a timber of the shelf as an edge feels it."""
    return wood_stock(timber.name, timber.gravity)


HARDWOOD: Final = wood_stock("hardwood", HARD_GRAVITY)
"""Stands for a timber nobody named."""


@cache
def beside(resin: Stock, wood: Stock) -> Stock:
    """Return what a cut along the edge of two materials has to be ready for."""
    return Stock(
        f"{resin.name} in {wood.name}",
        max(resin.shear_n_mm2, wood.shear_n_mm2),
        max(resin.tear_n_mm, wood.tear_n_mm),
        melts=resin.melts or wood.melts,
    )
