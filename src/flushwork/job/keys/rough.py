"""How a blank comes out of rough boards: its strips, what is bought for them, how they rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Final

from flushwork.core.keys.declare import Items, Key, Keyed
from flushwork.core.keys.quantities import Measured, length, share
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import Either
from flushwork.core.units import Quantity

ADD_UP_MM: Final = 0.05
"""Strips make up a blank within this: they are read off a rule."""
RESTED: Final = Measured(Quantity.TIME, 0.0, 60 * 86400.0)


@dataclass(frozen=True, slots=True)
class GlueUp(Keyed):
    """A blank glued edge to edge of strips, the near edge's first, their grain along the blank's.

    ``alternating`` says that the rings of neighbours curve up and down in turn.
    """

    strips_mm: Annotated[
        tuple[float, ...], Items(length(5.0, 1000.0), 2, 60), Key("[62 mm, 62 mm, 66 mm]")
    ]
    """Their widths across the grain once glued, the near edge's first; together the blank's."""
    alternating: Annotated[bool, Either("alternating", "alike"), Key(name="rings")] = True
    """Whether the rings of neighbours curve up and down in turn, or all one way."""
    dries_s: Annotated[float, RESTED, Key("24 h", name="glue dries")] = 86400.0
    """How long the glue has until the blank is surfaced; what its label says replaces it."""

    @property
    def joints_mm(self) -> tuple[float, ...]:
        """Where the joints run, from the near edge (or the left one, across the length)."""
        return tuple(math.fsum(self.strips_mm[: at + 1]) for at in range(len(self.strips_mm) - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughStock(Keyed):
    """What a rough board has to be larger by than what is made of it, and how it rests.

    All are assumed, common practice: a planer that does not snipe asks for less length, straight
    boards for less width.
    """

    length_mm: Annotated[float, length(0.0, 300.0), Key("30 mm")] = 30.0
    """Longer than the blank, for both ends."""
    width_mm: Annotated[float, length(0.0, 100.0), Key("6 mm")] = 6.0
    """Wider than the blank or each of its strips, for both edges."""
    thickness_mm: Annotated[float, length(0.0, 50.0), Key("6 mm")] = 6.0
    """Thicker than the blank, for both faces."""
    waste: Annotated[float, share(0.0, 0.8), Key("25 %")] = 0.25
    """Of what is bought: knots, checks, sapwood and ends."""
    rest_s: Annotated[float, RESTED, Key("5 days")] = 0.0
    """How long the rough-sawn parts lie on sticks before they are made to size; 0 days for wood
    that is settled."""


def check_strips(own: dict[str, Any], at: At) -> None:
    """Hold the strips of a blank against its size across the grain."""
    glue_up = own["glue_up"]
    if glue_up is None:
        return
    wide = own["width_mm"] if own["grain_along_x"] else own["length_mm"]
    whole = math.fsum(glue_up.strips_mm)
    if abs(whole - wide) > ADD_UP_MM:
        last = glue_up.strips_mm[-1] + wide - whole
        remedy = f"write {last:g} mm for the last" if last >= 5.0 else "make them narrower"
        at.out_of_range(
            f"strips: they are {whole:g} mm together, and the blank is {wide:g} mm across the "
            "grain",
            f"{remedy}, or change the blank",
            *("glue up", "strips"),
        )
