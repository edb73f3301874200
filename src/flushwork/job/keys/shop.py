"""The keys of a shop file, each declared by the name of the field that it changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from flushwork.core.keys.declare import Changes, Group, Items, Key, Keyed, Stated
from flushwork.core.keys.quantities import Count, Measured
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import Clock, OneOf, Version, Words
from flushwork.core.units import Quantity, System
from flushwork.job.keys.stock import StockKeys
from flushwork.shelf.items import (
    Air,
    Bit,
    Finish,
    Holding,
    Machine,
    MeasuringTool,
    Pigment,
    Resin,
    Sealer,
    Shop,
    Thinner,
    Wood,
)
from flushwork.shelf.working import HandTimes, LabelSheet, Prices

DAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True)
class Later(Group):
    """Keys that name things of the shop itself: they are settled once it is known."""

    def resolve(self, value: Any, at: At) -> Callable[[Shop], Any]:
        """Return what makes the record of a shop."""
        return lambda shop: Group.resolve(self, value, replace(at, shop=shop))


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursKeys(Keyed):
    """When you work."""

    opens_h: Annotated[float | None, Clock(), Key("8:00")] = None
    """Work begins."""
    closes_h: Annotated[float | None, Clock(), Key("18:00")] = None
    """Work ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopKeys(Keyed):
    """A whole shop; what is left out comes from the packaged starter shop."""

    version: Annotated[int, Version(), Key("2", name="flushwork shop")]
    """The version of the file's language."""
    name: Annotated[str | None, Words(120), Key("Lakeside shop")] = None
    """What the shop is called."""
    units: Annotated[System | None, OneOf(System), Key("metric")] = None
    """What is printed, shown and said; as the G-code files where left out."""
    machine: Annotated[Stated | None, Changes(Machine), Key()] = None
    """The router."""
    holdings: Annotated[
        tuple[Stated, ...] | None,
        Items(Changes(Holding, "like"), 1, 50, or_one=True),
        Key(name="holding"),
    ] = None
    """Ways of holding and locating, the usual one first."""
    bits: Annotated[
        tuple[Stated, ...] | None, Items(Changes(Bit, "like"), 1, 200, or_one=True), Key()
    ] = None
    """The bits you own."""
    woods: Annotated[tuple[Stated, ...] | None, Items(Changes(Wood), most=200), Key()] = None
    """Woods changed or added; the packaged ones stay."""
    resins: Annotated[
        tuple[Stated, ...] | None, Items(Changes(Resin, "like"), 1, 50, or_one=True), Key()
    ] = None
    """The resin systems you have, the usual one first."""
    thinners: Annotated[
        tuple[Stated, ...] | None,
        Items(Changes(Thinner, "like"), 1, 50, or_one=True),
        Key(),
    ] = None
    """The thinners you have."""
    pigments: Annotated[
        tuple[Stated, ...] | None,
        Items(Changes(Pigment, "like"), 1, 500, or_one=True),
        Key(),
    ] = None
    """The pigments you have."""
    sealers: Annotated[
        tuple[Stated, ...] | None, Items(Changes(Sealer, "like"), 0, 50, or_one=True), Key()
    ] = None
    """The sealers you have, the usual one first."""
    finishes: Annotated[
        tuple[Stated, ...] | None,
        Items(Changes(Finish, "like"), 0, 50, or_one=True),
        Key(),
    ] = None
    """The finishes you have, the usual one first."""
    tools: Annotated[
        tuple[Stated, ...] | None,
        Items(Changes(MeasuringTool, "like"), 1, 100, or_one=True),
        Key(name="measuring tools"),
    ] = None
    """Scales, syringes, cups and spoons."""
    air: Annotated[Stated | None, Changes(Air), Key()] = None
    """The air of the shop."""
    hours: Annotated[HoursKeys | None, Key()] = None
    """When you work."""
    days: Annotated[
        tuple[str, ...] | None,
        Items(OneOf(DAYS), 1, 7, or_one=True),
        Key("[Monday, Tuesday, Friday]"),
    ] = None
    """The days you work."""
    zone: Annotated[str | None, Words(60), Key("Europe/Berlin", name="time zone")] = None
    """Where the shop is, for changes of the clock; without it the clock is never changed."""
    cup_loss_g: Annotated[float | None, Measured(Quantity.MASS, 0.0, 50.0), Key("1.5 g")] = None
    """Mixed resin left on cup and stick."""
    cup_g: Annotated[
        float | None, Measured(Quantity.MASS, 0.0, 500.0), Key("10 g", name="empty cup")
    ] = None
    """What a mixing cup weighs: the scale bears it too."""
    cure_places: Annotated[int | None, Count(1, 500), Key("12")] = None
    """Level, dust-free places where pieces can cure."""
    hands: Annotated[Stated | None, Changes(HandTimes), Key(name="hand times")] = None
    """How long your hands take."""
    labels: Annotated[Stated | None, Changes(LabelSheet), Key()] = None
    """The labels for pieces and cups."""
    prices: Annotated[Any, Later(Prices), Key()] = None
    """What things cost; without it nothing is priced."""
    on_hand: Annotated[Any, Later(StockKeys), Key()] = None
    """What is left of things; nothing is said of what is left out."""
