"""The keys of a shop file, each declared by the name of the field that it changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from flushwork.core.units import Quantity
from flushwork.job.keys.declare import Group, Items, Key, Keyed
from flushwork.job.keys.quantities import (
    LENGTH,
    LENGTH_OR_NONE,
    Count,
    Measured,
    length,
    share,
)
from flushwork.job.keys.settle import At
from flushwork.job.keys.shelf import (
    CutterKeys,
    FinishShelfKeys,
    HoldingKeys,
    PigmentShelfKeys,
    ResinKeys,
    SealerKeys,
    ThinnerShelfKeys,
    TimberKeys,
    ToolKeys,
)
from flushwork.job.keys.words import TRUTH, Clock, Either, OneOf, Version, Words
from flushwork.job.keys.working import HandTimesKeys, PricesKeys, StockKeys
from flushwork.shelf.items import Shop

DAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
COLDEST_C: Final = -20.0
WARMEST_C: Final = 50.0
"""Air that somebody works in, or leaves pieces in overnight (assumed)."""
FEED: Final = Measured(Quantity.FEED, 0.0, 100000.0, above=True)
SPEED: Final = Measured(Quantity.SPEED, 0.0, 200000.0)
SHOP_AIR: Final = Measured(Quantity.TEMPERATURE, COLDEST_C, WARMEST_C)


@dataclass(frozen=True)
class Later(Group):
    """Keys that name things of the shop itself: they are settled once it is known."""

    def resolve(self, value: Any, at: At) -> Callable[[Shop], Any]:
        """Return what makes the record of a shop."""
        return lambda shop: Group.resolve(self, value, replace(at, shop=shop))


@dataclass(frozen=True, slots=True, kw_only=True)
class CutFileKeys(Keyed):
    """How the machine wants its cut files written."""

    inch: Annotated[
        bool | None, Either("metric", "inch", second=True), Key("metric", name="units")
    ] = None
    """Units of the cut files."""
    decimals: Annotated[int | None, Count(2, 6), Key("3")] = None
    """Decimal places."""
    arcs: Annotated[bool | None, TRUTH, Key("yes")] = None
    """It understands arcs."""
    cycles: Annotated[bool | None, TRUTH, Key("yes", name="drilling cycles")] = None
    """It understands drilling cycles."""
    line_numbers: Annotated[bool | None, TRUTH, Key("no")] = None
    """Lines are numbered."""
    program_end: Annotated[str | None, OneOf(("M2", "M30")), Key("M2")] = None
    """The last word."""
    spindle_clockwise: Annotated[
        str | None, OneOf(("M3", "M4")), Key("M3", name="spindle start")
    ] = None
    """The word that starts the spindle."""
    tool_change: Annotated[str | None, OneOf(("stop", "number")), Key("stop")] = None
    """A stop, or a change by number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineKeys(Keyed):
    """The router."""

    name: Annotated[str | None, Words(80), Key("bench router")] = None
    """What you call it."""
    travel_x_mm: Annotated[
        float | None,
        Items(LENGTH, 3, 3),
        Key("[600 mm, 420 mm, 90 mm]", name="travel", into=("travel_y_mm", "travel_z_mm")),
    ] = None
    """How far it moves: [right, away, up]."""
    travel_y_mm: float | None = None
    travel_z_mm: float | None = None
    feed_mm_min: Annotated[float | None, FEED, Key("3000 mm/min", name="feed")] = None
    """The fastest feed."""
    plunge_mm_min: Annotated[float | None, FEED, Key("800 mm/min", name="plunge")] = None
    """The fastest feed straight down."""
    rapid_mm_min: Annotated[float | None, FEED, Key("5000 mm/min", name="rapid")] = None
    """Its speed between cuts."""
    spindle_min_rpm: Annotated[float | None, SPEED, Key("8000 rpm", name="slowest spindle")] = None
    """The slowest spindle speed."""
    spindle_max_rpm: Annotated[float | None, SPEED, Key("24000 rpm", name="fastest spindle")] = None
    """The fastest spindle speed."""
    acceleration_mm_s2: Annotated[
        float | None,
        Measured(Quantity.ACCELERATION, 0.0, 50000.0, above=True),
        Key("400 mm/s2", name="acceleration"),
    ] = None
    """How fast it gains speed."""
    clear_mm: Annotated[float | None, LENGTH, Key("5 mm", name="clear height")] = None
    """Above the face, safe to cross."""
    spindle_w: Annotated[
        float | None, Measured(Quantity.POWER, 1.0, 50000.0), Key("700 W", name="spindle power")
    ] = None
    """What the spindle takes from the mains."""
    wobble_mm: Annotated[float | None, length(0.0, 0.2), Key("0.01 mm")] = None
    """A dial on a cutter's shank, turned by hand: from least to most."""
    holder_mm: Annotated[float | None, length(3.0, 150.0), Key("25 mm", name="holder width")] = None
    """How wide the collet's nut or holder is, across its corners."""
    skin_mm: Annotated[float | None, LENGTH_OR_NONE, Key("1 mm", name="spoilboard skin")] = None
    """How deep a cut may go below the blank, into the spoilboard."""
    tolerance_mm: Annotated[
        float | None, length(0.015, 1.0), Key("0.03 mm", name="cut tolerance")
    ] = None
    """How far a cut file's path may lie off its outline, and a hole off its place."""
    lines_s: Annotated[float | None, Count(10, 100000), Key("200", name="lines a second")] = None
    """So many lines of a cut file its controller takes in a second."""
    dialect: Annotated[CutFileKeys | None, Key(name="cut files")] = None
    """How it wants its cut files written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AirKeys(Keyed):
    """The air of the shop."""

    day_c: Annotated[float | None, SHOP_AIR, Key("20 degC", name="day temperature")] = None
    """By day."""
    night_c: Annotated[float | None, SHOP_AIR, Key("16 degC", name="night temperature")] = None
    """By night."""
    day_from_h: Annotated[float | None, Clock(), Key("8:00")] = None
    """The day's warmth begins."""
    day_until_h: Annotated[float | None, Clock(), Key("18:00")] = None
    """The day's warmth ends."""
    humidity: Annotated[float | None, share(0.01, 0.99), Key("45 %")] = None
    """Relative humidity."""


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

    version: Annotated[int, Version(), Key("1", name="flushwork shop")]
    """The version of the file's language."""
    name: Annotated[str | None, Words(120), Key("Lakeside shop")] = None
    """What the shop is called."""
    machine: Annotated[MachineKeys | None, Key()] = None
    """The router."""
    holdings: Annotated[
        tuple[HoldingKeys, ...] | None,
        Items(Group(HoldingKeys, "like"), 1, 50, or_one=True),
        Key(name="holding"),
    ] = None
    """Ways of holding and locating, the usual one first."""
    cutters: Annotated[
        tuple[CutterKeys, ...] | None, Items(Group(CutterKeys, "like"), 1, 200, or_one=True), Key()
    ] = None
    """The cutters you own."""
    timbers: Annotated[tuple[TimberKeys, ...] | None, Items(Group(TimberKeys), most=200), Key()] = (
        None
    )
    """Timbers changed or added; the packaged ones stay."""
    resins: Annotated[
        tuple[ResinKeys, ...] | None, Items(Group(ResinKeys, "like"), 1, 50, or_one=True), Key()
    ] = None
    """The resin systems you have, the usual one first."""
    thinners: Annotated[
        tuple[ThinnerShelfKeys, ...] | None,
        Items(Group(ThinnerShelfKeys, "like"), 1, 50, or_one=True),
        Key(),
    ] = None
    """The thinners you have."""
    pigments: Annotated[
        tuple[PigmentShelfKeys, ...] | None,
        Items(Group(PigmentShelfKeys, "like"), 1, 500, or_one=True),
        Key(),
    ] = None
    """The pigments you have."""
    sealers: Annotated[
        tuple[SealerKeys, ...] | None, Items(Group(SealerKeys, "like"), 0, 50, or_one=True), Key()
    ] = None
    """The sealers you have, the usual one first."""
    finishes: Annotated[
        tuple[FinishShelfKeys, ...] | None,
        Items(Group(FinishShelfKeys, "like"), 0, 50, or_one=True),
        Key(),
    ] = None
    """The finishes you have, the usual one first."""
    tools: Annotated[
        tuple[ToolKeys, ...] | None,
        Items(Group(ToolKeys, "like"), 1, 100, or_one=True),
        Key(name="measuring tools"),
    ] = None
    """Scales, syringes, cups and spoons."""
    air: Annotated[AirKeys | None, Key()] = None
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
    hands: Annotated[HandTimesKeys | None, Key(name="hand times")] = None
    """How long your hands take."""
    prices: Annotated[Any, Later(PricesKeys), Key()] = None
    """What things cost; without it nothing is priced."""
    on_hand: Annotated[Any, Later(StockKeys), Key()] = None
    """What is left of things; nothing is said of what is left out."""
