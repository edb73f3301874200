"""The hazards of a thing as far as they are known: listed, stated by key, guessed or assumed.

A name is looked at only where no key states the classes, and what comes of it is called a guess.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from flushwork.shelf.hazards import Basis, Hazard, Hazards, by_flash_point
from flushwork.shelf.items import (
    Finish,
    Pigment,
    PigmentKind,
    Resin,
    Sealer,
    Thinner,
    Wood,
)

Item = Resin | Thinner | Pigment | Sealer | Finish | Wood

BOUND: Final = ("oxide", "hydroxide", "silicate", "carbonate", "mica", "pearl")
"""A metal's name beside one of these is no metal."""
METALS: Final = re.compile(r"alumin|\balu\b|magnesium|magnalium|zirconium")
"""Metals whose powder is dangerous whatever it is called (common practice, no source)."""
OTHER_METALS: Final = re.compile(
    r"\b(bronze|brass|copper|zinc|iron|steel|tin|nickel|silver|gold|titanium|metal|metallic)\b"
)
GROUND: Final = re.compile(r"\b(powder|dust|filings?|shavings?|swarf)\b")
"""Any other metal counts where its name says that it is ground."""
SENSITISING: Final = re.compile(
    r"cedar|iroko|rosewood|palisander|cocobolo|mahogany|sapele|teak|wenge|padauk"
)
"""Woods whose dust is known to make allergic, from memory: the list is not complete."""


def hazards_of(item: Item) -> Hazards:
    """Return the hazards of a thing, and how they are known.

    What is an uncured resin sensitises whatever its shop says of it (from memory, the safety sheets
    of epoxy systems).
    """
    known = item.hazards
    if known.basis is Basis.UNKNOWN:
        known = Hazards(_cautious(item), Basis.ASSUMED)
    if known.basis is not Basis.STATED and item.name.lower() != known.listed_as.lower():
        known = _with_guess(item, known)
    more = by_flash_point(getattr(item, "flash_point_c", None))
    if isinstance(item, Resin) or (isinstance(item, Sealer) and item.resin):
        more = (*more, Hazard.SENSITISER)
    return replace(known, classes=tuple(dict.fromkeys((*known.classes, *more))))


def _with_guess(item: Item, known: Hazards) -> Hazards:
    guessed = [each for each in _by_name(item) if each not in known.classes]
    if not guessed:
        return known
    return Hazards((*known.classes, *guessed), Basis.GUESSED, known.listed_as, known.source)


def _by_name(item: Item) -> tuple[Hazard, ...]:
    """Return what the name of a pigment or a wood gives reason to fear."""
    name = item.name.lower()
    if isinstance(item, Wood):
        return (Hazard.SENSITISER,) if SENSITISING.search(name) else ()
    if not isinstance(item, Pigment) or any(word in name for word in BOUND):
        return ()
    ground = OTHER_METALS.search(name) and GROUND.search(name)
    return (Hazard.METAL_DUST,) if METALS.search(name) or ground else ()


def _cautious(item: Item) -> tuple[Hazard, ...]:
    """Return what is taken of a thing that nobody has said anything of."""
    if isinstance(item, Resin):
        return (Hazard.SENSITISER, Hazard.CORROSIVE)
    if isinstance(item, Wood):
        return (Hazard.WOOD_DUST,)
    if isinstance(item, Pigment):
        dye = (Hazard.DYE,) if item.kind is PigmentKind.DYE else (Hazard.EXPLOSIBLE_DUST,)
        return (Hazard.FINE_DUST, *dye)
    burns = () if item.flash_point_c is not None or not item.flammable else _BURNS
    if isinstance(item, Finish):
        return (*burns, Hazard.SELF_HEATING) if item.flammable else ()
    if isinstance(item, Sealer):
        return burns if item.flammable else (Hazard.SENSITISER,)
    return burns


_BURNS: Final = (Hazard.VERY_FLAMMABLE,)
