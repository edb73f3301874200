"""What is let into a box or lies in it: splines, lid, hinges, catch, feet, art, dividers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import OMIT, Items, Key, Keyed
from flushwork.core.keys.quantities import Count, Measured, length, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import OneOf, Words
from flushwork.core.units import Quantity
from flushwork.job.keys.art import word_of
from flushwork.job.keys.mixes import Mix, OfColour
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
    match: Annotated[Mix | None, OfColour(), Key("deep teal", optional=True)] = None
    """The mix whose colour they are dyed to; bare where left out."""


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


class LidLies(StrEnum):
    """How a lid that lifts off lies on the box."""

    REBATE = "in a rebate"
    ON_TOP = "on top"


@dataclass(frozen=True, slots=True, kw_only=True)
class LidPanel(Keyed):
    """A lid that lifts off, a part of the job: how it lies, from which its size follows."""

    how: Annotated[LidLies, OneOf(LidLies), Key(name="lies")]
    """In a rebate at the top of the walls, or on top of them."""
    from_base_mm: Annotated[float, HEIGHT, Key("58 mm", name="from base", optional=True)] = 0.0
    """In a rebate: its ledge."""
    depth_mm: Annotated[float, length(0.5, 50.0), Key("5 mm")] = 5.0
    """In a rebate: how deep it is, into the wall."""
    play_mm: Annotated[float, length(0.0, 10.0), Key("0.5 mm")] = 0.5
    """In a rebate: left free on each side, or as much as the lid grows there in the dampest month.
    """
    overhang_mm: Annotated[float, length(0.0, 50.0), Key("2 mm")] = 0.0
    """On top: how far it stands out on every side."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for the height of a rebate, and for nothing that is not there."""
        on_top = word_of(given.get("lies")) == LidLies.ON_TOP.value
        if not on_top and "from base" not in given:
            yield "", slip("key-missing", "`from base` is missing", "add `from base: 58 mm`")
        for key in ("from base", "depth", "play") if on_top else ("overhang",):
            if key in given:
                where = LidLies.REBATE if on_top else LidLies.ON_TOP
                told = f"`{key}` goes with a lid {where} only"
                yield key, slip("key-out-of-place", told, "leave it out here")

    @classmethod
    def shown(cls, record: LidPanel) -> Mapping[str, Any]:
        """Leave out what does not go with the way it lies."""
        on_top = record.how is LidLies.ON_TOP
        return dict.fromkeys(("from base", "depth", "play") if on_top else ("overhang",), OMIT)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxDividers(Keyed):
    """Thin boards that part the inside, evenly spaced, halved into each other where they cross."""

    along: Annotated[int, Count(0, 12), Key("1")] = 0
    """How many run along the blank's length."""
    across: Annotated[int, Count(0, 12), Key("3")] = 0
    """How many run across it."""
    thickness_mm: Annotated[float, length(1.0, 20.0), Key("4 mm")] = 4.0
    """Of a divider; the slots where two cross are as wide."""
    height_mm: Annotated[float, length(3.0, 500.0), Key("18 mm")]
    """From the bottom up."""
    groove_mm: Annotated[float, length(0.0, 20.0), Key("3 mm", name="groove")] = 0.0
    """Depth of the grooves in the walls that their ends stand in; 0 mm for dividers that stand
    between the walls."""
    play_mm: Annotated[float, length(0.0, 5.0), Key("0.3 mm")] = 0.3
    """Left free at each end."""
    wood: Annotated[
        Wood, On("woods", "wood"), Key("sugar maple", otherwise=lambda at: at.above["wood"])
    ]
    """A wood of the shelf; that of the box where left out."""

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for one divider at least."""
        if "along" not in given and "across" not in given:
            told = "nothing says how many there are"
            yield "", slip("key-missing", told, "add `along: 1` or `across: 3`")

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Refuse none at all."""
        if not own["along"] and not own["across"]:
            told = "0 along and 0 across are no dividers"
            at.out_of_range(told, "write how many there are, or leave `dividers` out")
