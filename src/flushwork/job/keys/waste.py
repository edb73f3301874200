"""What stands in and beside the waste: dowels, discs, clamps; and pieces side by side."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final

from flushwork.core.units import Quantity
from flushwork.job.keys.art import ANCHORS, PAIR
from flushwork.job.keys.declare import Items, Key, Keyed
from flushwork.job.keys.quantities import LENGTH, LENGTH_OR_NONE, Count, DepthOrThrough
from flushwork.job.keys.settle import At
from flushwork.job.keys.words import OneOf, Words
from flushwork.shelf.items import LOCATED_BY, KeepOut, Locating

SIDES: Final = ("both", "front", "back")


@dataclass(frozen=True, slots=True, kw_only=True)
class LocatingKeys(Keyed):
    """Two dowels or discs that bring the blank back to its place, let in by cut files."""

    makes: ClassVar[type[Any] | None] = Locating

    by: Annotated[str, OneOf(LOCATED_BY), Key()] = LOCATED_BY[0]
    """What stands in the spoilboard."""
    diameter_mm: Annotated[float, LENGTH, Key("6 mm")]
    """Of a dowel or disc."""
    board_mm: Annotated[float, LENGTH, Key("8 mm", name="into spoilboard")] = 8.0
    """How deep they stand in the spoilboard."""
    blank_mm: Annotated[
        float,
        DepthOrThrough(Quantity.LENGTH, 0.0, 200.0, above=True),
        Key("through", name="into blank"),
    ]
    """How far they reach into the blank, or `through`; a recess that does not go through serves
    only once the blank is turned over."""
    play_mm: Annotated[float, LENGTH_OR_NONE, Key("0.05 mm")] = 0.05
    """How much wider their recesses are."""
    cutter: Annotated[str, Words(80), Key("3.175 mm flat")] = ""
    """The cutter to bore them with; chosen where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take 0 for a recess that goes through."""
        own["blank_mm"] = 0.0 if math.isinf(own["blank_mm"]) else own["blank_mm"]

    @classmethod
    def shown(cls, record: Locating) -> Mapping[str, Any]:
        """Tell of a recess that goes through by the word."""
        return {} if record.blank_mm > 0.0 else {"into blank": math.inf}


@dataclass(frozen=True, slots=True)
class Bed(Keyed):
    """Pieces that lie side by side on the machine, each a step from the one before."""

    pieces: Annotated[int, Count(2, 100), Key("4", required=True)] = 1
    """How many."""
    step_x_mm: Annotated[
        float, PAIR, Key("[0 mm, 210 mm]", name="step", into=("step_y_mm",), required=True)
    ] = 0.0
    """From one blank's lower left corner to the next one's, [right, away]."""
    step_y_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOutKeys(Keyed):
    """An area that no cutter may come into while it is lower than its height."""

    makes: ClassVar[type[Any] | None] = KeepOut

    name: Annotated[str, Words(80), Key("left clamp")]
    """What stands there."""
    wide_mm: Annotated[
        float,
        Items(LENGTH, 2, 2),
        Key("[20 mm, 40 mm]", name="size", into=("deep_mm",), required=True),
    ]
    """[right, away]."""
    deep_mm: float = 0.0
    x_mm: Annotated[float, PAIR, Key("[-5 mm, 0 mm]", name="at", into=("y_mm",))] = 0.0
    """Its middle, [right, away] from the place of the blank named by `from`."""
    y_mm: float = 0.0
    anchor: Annotated[str, OneOf(ANCHORS), Key(name="from")] = "lower left"
    """The place of the blank that `at` counts from, as you look at the face."""
    height_mm: Annotated[float, LENGTH, Key("25 mm")]
    """How far it stands above the face that is up."""
    face: Annotated[str, OneOf(SIDES), Key()] = SIDES[0]
    """The face that is up while it is there."""
    mountings: Annotated[tuple[int, ...], Items(Count(1, 200), or_one=True), Key()] = ()
    """The mountings it is there in; all where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take no face for both."""
        own["face"] = "" if own["face"] == SIDES[0] else own["face"]

    @classmethod
    def shown(cls, record: KeepOut) -> Mapping[str, Any]:
        """Tell of both faces by the word."""
        return {"face": record.face or SIDES[0]}
