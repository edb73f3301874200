"""What is sawn and let into the walls of a box: splines, lid cut, hinges, catch, feet, art."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Final

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Items, Key, Keyed
from flushwork.core.keys.quantities import Measured, length
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import Words
from flushwork.core.units import Quantity
from flushwork.shelf.items import Wood

HEIGHT: Final = length(0.0, 1000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerSplines(Keyed):
    """Splines let into slots across each corner, sawn with the box held at 45 degrees."""

    heights_mm: Annotated[
        tuple[float, ...], Items(HEIGHT, 1, 20), Key("[15 mm, 40 mm]", name="heights")
    ]
    """The middles of the slots."""
    thickness_mm: Annotated[float, length(0.3, 20.0), Key("3.2 mm")] = 3.2
    """As thick as the slot is wide; a quarter to a third of the wall is usual (common practice)."""
    depth_mm: Annotated[float, length(1.0, 60.0), Key("10 mm")] = 10.0
    """Of the slot along the diagonal of the corner."""
    wood: Annotated[
        Wood,
        On("woods", "wood"),
        Key("sugar maple", otherwise=lambda at: at.job["blank"].wood),
    ]
    """A wood of the shelf; that of the blank where left out."""


@dataclass(frozen=True, slots=True)
class LidCut(Keyed):
    """The cut that parts the lid from the box once it is glued and closed."""

    from_base_mm: Annotated[float, length(1.0, 1000.0), Key("45 mm", name="from base")]
    """The middle of the cut."""
    kerf_mm: Annotated[float, length(0.0, 10.0), Key("3 mm")] = 3.0
    """What the saw takes."""
    clean_up_mm: Annotated[float, length(0.0, 5.0), Key("0.5 mm")] = 0.5
    """What is sanded off each of both edges afterwards."""

    @property
    def lost_mm(self) -> float:
        """What is gone between lid and box."""
        return self.kerf_mm + 2.0 * self.clean_up_mm

    @property
    def low_mm(self) -> float:
        """The box's edge once it is cleaned up."""
        return self.from_base_mm - self.lost_mm / 2.0

    @property
    def high_mm(self) -> float:
        """The lid's edge once it is cleaned up."""
        return self.from_base_mm + self.lost_mm / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SideArt(Keyed):
    """Inlay on the outside of the walls: the band it takes, how near it comes to the corners."""

    name: Annotated[str, Words(60), Key("vine")]
    """What you call it."""
    from_base_mm: Annotated[float, HEIGHT, Key("30 mm", name="from base")]
    """Its lower edge."""
    to_mm: Annotated[float, HEIGHT, Key("52 mm")]
    """Its upper edge, up from the base as well."""
    from_corner_mm: Annotated[float, HEIGHT, Key("20 mm", name="from corner")] = 0.0
    """How near it comes to a corner; 0 mm goes round it."""
    leans_rad: Annotated[
        float, Measured(Quantity.ANGLE, 0.0, math.radians(89.0)), Key("45 deg")
    ] = math.pi / 4.0
    """How far its lines lean from upright where the lid is cut."""
    opened_mm: Annotated[float, length(0.0, 50.0), Key("4 mm")] = 0.0
    """By how much its drawing is already pulled apart at the lid cut."""
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold its edges against each other."""
        if own["to_mm"] <= own["from_base_mm"]:
            at.out_of_range("it ends where it begins", "write a larger `to`", "to")


@dataclass(frozen=True, slots=True)
class BoxHinges(Keyed):
    """Two hinges let into the edges of the lid cut, on the wall along the board's length."""

    from_corner_mm: Annotated[float, HEIGHT, Key("35 mm", name="from corner")]
    """To the near end of the hinge."""
    length_mm: Annotated[float, length(3.0, 500.0), Key("30 mm")]
    """Along the wall."""
    leaf_mm: Annotated[float, length(1.0, 60.0), Key("7 mm")] = 7.0
    """From the outside of the wall inwards."""
    recess_mm: Annotated[float, length(0.0, 10.0), Key("1.5 mm")] = 1.5
    """Depth of the recess in each of both edges."""
    screws_mm: Annotated[float, length(0.0, 60.0), Key("8 mm")] = 8.0
    """How far its screws reach from the edge."""


@dataclass(frozen=True, slots=True)
class BoxCatch(Keyed):
    """A catch let into the edges of the lid cut, in the middle of the front."""

    length_mm: Annotated[float, length(2.0, 300.0), Key("20 mm")]
    """Along the wall."""
    leaf_mm: Annotated[float, length(1.0, 60.0), Key("6 mm")] = 6.0
    """From the outside of the wall inwards."""
    recess_mm: Annotated[float, length(0.0, 10.0), Key("1.5 mm")] = 1.5
    """Depth of the recess in each of both edges."""


@dataclass(frozen=True, slots=True)
class BoxFeet(Keyed):
    """Round feet let into the lower edge of the walls, one beside each corner."""

    diameter_mm: Annotated[float, length(1.0, 60.0), Key("6 mm")]
    """Of a foot's recess."""
    from_corner_mm: Annotated[float, HEIGHT, Key("20 mm", name="from corner")]
    """To its middle."""
    recess_mm: Annotated[float, length(0.2, 20.0), Key("2 mm")] = 2.0
    """Its depth into the lower edge, counted once that is planed."""
