"""What can harm in a thing on the shelf: its classes, and how they are known.

A thing of the packaged shelf has its classes from ``tables/hazards.csv``; a shop states its own by
key.  What neither lists gets a cautious default of its sort, and says so.  The safety sheet of the
product comes before all of it.

What comes of a hazard near heat or a spark: every pair decided once, with its reason.

The rows stand in ``tables/hazard_pairs.csv``: common practice, no source, unless a reason says
otherwise.  Where a row asks for a warning, ``line`` names the sentence that stands on the card.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from itertools import product
from typing import Final

from flushwork.core.units.kinds import DAY_S


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

AIRED_S: Final = DAY_S
"""How long what was put on is taken to give off vapour once it is dry: assumed, 12 to 72 h; the
product's safety sheet replaces it."""

AIRING_S: Final = 1800.0
"""How long a room is aired after a solvent before anything hot or sparking runs, where `air for` of
the thing does not say: common practice, no source, 15 to 60 min; the safety sheet replaces it."""


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


class HazardState(StrEnum):
    """How a thing is at a moment: just put on, dry but still giving off, hard, or a dry powder."""

    WET = "wet"
    FRESH = "fresh"
    CURED = "cured"
    DRY = "dry powder"


class Heat(StrEnum):
    """What heat or spark a step may bring."""

    FLAME = "flame"
    HOT_AIR = "hot air"
    LAMP = "heat lamp"
    WARM_BOX = "warm box"
    HOT_WOOD = "hot wood"
    SPINDLE = "spindle"
    SANDING = "sanding"
    MOTOR = "motor"
    HEAP = "left in a heap"


CHOSEN = (Heat.FLAME, Heat.HOT_AIR, Heat.LAMP, Heat.WARM_BOX, Heat.HOT_WOOD)
"""Heat that a job asks for; the rest comes with the step."""


class Verdict(StrEnum):
    """What comes of a pair."""

    MUST_FIX = "must fix"
    WARNING = "warning"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class HazardPair:
    """One hazard in one state near one heat: what comes of it, and why."""

    hazard: Hazard
    state: HazardState
    heat: Heat
    verdict: Verdict
    line: str
    reason: str


def _rows() -> tuple[HazardPair, ...]:
    text = (files("flushwork.shelf") / "tables" / "hazard_pairs.csv").read_text("utf-8")
    return tuple(
        HazardPair(
            Hazard(hazard), HazardState(state), Heat(heat), Verdict(row["verdict"]), row["line"],
            row["reason"],
        )
        for row in csv.DictReader(text.splitlines())
        for hazard, state, heat in product(
            row["hazards"].split(";"), row["states"].split(";"), row["heats"].split(";")
        )
    )  # fmt: skip


@cache
def pairs() -> dict[tuple[Hazard, HazardState, Heat], HazardPair]:
    """Return what is decided of each pair.

    Raises ValueError where one is decided twice or not at all.
    """
    rows = _rows()
    found = {(row.hazard, row.state, row.heat): row for row in rows}
    wanted = len(Hazard) * len(HazardState) * len(Heat)
    if not len(found) == len(rows) == wanted:
        raise ValueError(f"{len(rows)} pairs are decided, {len(found)} apart, of {wanted}")
    return found


def pair(hazard: Hazard, state: HazardState, heat: Heat) -> HazardPair:
    """Return what is decided of a pair."""
    return pairs()[hazard, state, heat]
