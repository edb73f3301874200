"""What can harm in a thing on the shelf: its classes, and how they are known.

A thing of the packaged shelf has its classes from ``tables/hazards.csv``; a shop states its own by
key.  What neither lists gets a cautious default of its sort, and says so.  The safety sheet of the
product comes before all of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Hazard(StrEnum):
    """The classes; what heats itself in a cup is reckoned from the batch, not from the item."""

    VERY_FLAMMABLE = "highly flammable"
    FLAMMABLE = "flammable"
    SELF_HEATING = "self heating"
    SENSITISER = "sensitiser"
    CORROSIVE = "corrosive"
    METAL_DUST = "metal dust"
    EXPLOSIBLE_DUST = "explosible dust"
    FINE_DUST = "fine dust"
    WOOD_DUST = "harmful wood dust"
    OXIDISER = "oxidiser"
    DYE = "dye"


NONE: Final = "none"
"""What a shop file writes for a thing that carries no class."""

VERY_FLAMMABLE_BELOW_C: Final = 23.0
FLAMMABLE_UP_TO_C: Final = 60.0
"""Limits of the classes by flash point (Regulation (EC) No 1272/2008, from memory)."""

AIRED_S: Final = 86400.0
"""How long what was put on is taken to give off vapour once it is dry: assumed, 12 to 72 h; the
product's safety sheet replaces it."""

AIRING_S: Final = 1800.0
"""The least time a room is aired after a solvent before anything hot or sparking runs: assumed, 15
to 60 min; the product's safety sheet replaces it."""


class Basis(StrEnum):
    """How the classes of a thing are known."""

    UNKNOWN = "unknown"
    LISTED = "listed"
    STATED = "stated"
    GUESSED = "guessed from its name"
    ASSUMED = "assumed"


@dataclass(frozen=True, slots=True)
class Hazards:
    """The classes of one thing; ``listed_as`` is the name it has in the packaged table."""

    classes: tuple[Hazard, ...] = ()
    basis: Basis = Basis.UNKNOWN
    listed_as: str = ""
    source: str = ""

    def __contains__(self, hazard: Hazard) -> bool:
        """Whether it carries a class."""
        return hazard in self.classes

    @property
    def burns(self) -> bool:
        """Whether it is a liquid that burns."""
        return Hazard.VERY_FLAMMABLE in self.classes or Hazard.FLAMMABLE in self.classes


UNKNOWN: Final = Hazards()


def hazard_classes(words: Iterable[str]) -> tuple[Hazard, ...]:
    """Return the classes that words name; ``none`` names none."""
    return tuple(Hazard(word) for word in words if word != NONE)


def by_flash_point(flash_c: float | None) -> tuple[Hazard, ...]:
    """Return the class of a liquid by its flash point in degrees C; none above the limit."""
    if flash_c is None or flash_c > FLAMMABLE_UP_TO_C:
        return ()
    return (Hazard.VERY_FLAMMABLE if flash_c < VERY_FLAMMABLE_BELOW_C else Hazard.FLAMMABLE,)
