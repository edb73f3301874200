"""The keys of a shop file."""

from __future__ import annotations

from typing import Annotated, Any, Final

from pydantic import Field

from flushwork.job.air_bounds import COLDEST_C, WARMEST_C
from flushwork.job.art_keys import Length, LengthOrNone, Truth
from flushwork.job.leaves import Count, Measured
from flushwork.job.section import OrList, OrName, Section
from flushwork.job.shelf_keys import (
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
from flushwork.job.stock_keys import StockKeys
from flushwork.job.word_leaves import Clock, OneOf, Version, Words
from flushwork.job.working_keys import HandTimesKeys, PricesKeys
from flushwork.units import Quantity

DAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

Feed = Annotated[float, Measured(Quantity.FEED, 0.0, 100000.0, above=True)]
Speed = Annotated[float, Measured(Quantity.SPEED, 0.0, 200000.0)]
ShopAir = Annotated[float, Measured(Quantity.TEMPERATURE, COLDEST_C, WARMEST_C)]
"""Air that somebody works in, or leaves pieces in overnight."""
_LIKE = OrName("like")


def _field(what: str, example: str) -> Any:
    return Field(default=None, description=what, examples=[example])


class CutFileKeys(Section):
    """How the machine wants its cut files written."""

    units: Annotated[str, OneOf(("metric", "inch"))] | None = _field(
        "Units of the cut files.", "metric"
    )
    decimals: Annotated[int, Count(2, 6)] | None = _field("Decimal places.", "3")
    arcs: Truth | None = _field("It understands arcs.", "yes")
    drilling_cycles: Truth | None = _field("It understands drilling cycles.", "yes")
    line_numbers: Truth | None = _field("Lines are numbered.", "no")
    program_end: Annotated[str, OneOf(("M2", "M30"))] | None = _field("The last word.", "M2")
    spindle_start: Annotated[str, OneOf(("M3", "M4"))] | None = _field(
        "The word that starts the spindle.", "M3"
    )
    tool_change: Annotated[str, OneOf(("stop", "number"))] | None = _field(
        "A stop, or a change by number.", "stop"
    )


class MachineKeys(Section):
    """The router."""

    name: Annotated[str, Words(80)] | None = _field("What you call it.", "bench router")
    travel: Annotated[list[Length], Field(min_length=3, max_length=3)] | None = _field(
        "How far it moves: [right, away, up].", "[600 mm, 420 mm, 90 mm]"
    )
    feed: Feed | None = _field("The fastest feed.", "3000 mm/min")
    plunge: Feed | None = _field("The fastest feed straight down.", "800 mm/min")
    rapid: Feed | None = _field("Its speed between cuts.", "5000 mm/min")
    slowest_spindle: Speed | None = _field("The slowest spindle speed.", "8000 rpm")
    fastest_spindle: Speed | None = _field("The fastest spindle speed.", "24000 rpm")
    acceleration: (
        Annotated[float, Measured(Quantity.ACCELERATION, 0.0, 50000.0, above=True)] | None
    ) = _field("How fast it gains speed.", "400 mm/s2")
    clear_height: Length | None = _field("Above the face, safe to cross.", "5 mm")
    spindle_power: Annotated[float, Measured(Quantity.POWER, 1.0, 50000.0)] | None = _field(
        "What the spindle takes from the mains.", "700 W"
    )
    wobble: Annotated[float, Measured(Quantity.LENGTH, 0.0, 0.2)] | None = _field(
        "A dial on a cutter's shank, turned by hand: from least to most.", "0.01 mm"
    )
    holder_width: Annotated[float, Measured(Quantity.LENGTH, 3.0, 150.0)] | None = _field(
        "How wide the collet's nut or holder is, across its corners.", "25 mm"
    )
    spoilboard_skin: LengthOrNone | None = _field(
        "How deep a cut may go below the blank, into the spoilboard.", "1 mm"
    )
    cut_tolerance: Annotated[float, Measured(Quantity.LENGTH, 0.015, 1.0)] | None = _field(
        "How far a cut file's path may lie off its outline, and a hole off its place.", "0.03 mm"
    )
    lines_a_second: Annotated[int, Count(10, 100000)] | None = _field(
        "So many lines of a cut file its controller takes in a second.", "200"
    )
    cut_files: CutFileKeys | None = Field(
        default=None, description="How it wants its cut files written."
    )


class AirKeys(Section):
    """The air of the shop."""

    day_temperature: ShopAir | None = _field("By day.", "20 degC")
    night_temperature: ShopAir | None = _field("By night.", "16 degC")
    day_from: Annotated[float, Clock()] | None = _field("The day's warmth begins.", "8:00")
    day_until: Annotated[float, Clock()] | None = _field("The day's warmth ends.", "18:00")
    humidity: Annotated[float, Measured(Quantity.SHARE, 0.01, 0.99)] | None = _field(
        "Relative humidity.", "45 %"
    )


class HoursKeys(Section):
    """When you work."""

    opens: Annotated[float, Clock()] | None = _field("Work begins.", "8:00")
    closes: Annotated[float, Clock()] | None = _field("Work ends.", "18:00")


class ShopKeys(Section):
    """A whole shop; what is left out comes from the packaged starter shop."""

    flushwork_shop: Annotated[int, Version()] = Field(
        description="The version of the file's language.", examples=[1]
    )
    name: Annotated[str, Words(120)] | None = _field("What the shop is called.", "Lakeside shop")
    machine: MachineKeys | None = Field(default=None, description="The router.")
    holding: (
        Annotated[list[Annotated[HoldingKeys, _LIKE]], Field(min_length=1, max_length=50), OrList()]
        | None
    ) = Field(default=None, description="Ways of holding and locating, the usual one first.")
    cutters: (
        Annotated[list[Annotated[CutterKeys, _LIKE]], Field(min_length=1, max_length=200), OrList()]
        | None
    ) = Field(default=None, description="The cutters you own.")
    timbers: Annotated[list[TimberKeys], Field(max_length=200)] | None = Field(
        default=None, description="Timbers changed or added; the packaged ones stay."
    )
    resins: (
        Annotated[list[Annotated[ResinKeys, _LIKE]], Field(min_length=1, max_length=50), OrList()]
        | None
    ) = Field(default=None, description="The resin systems you have, the usual one first.")
    thinners: (
        Annotated[
            list[Annotated[ThinnerShelfKeys, _LIKE]], Field(min_length=1, max_length=50), OrList()
        ]
        | None
    ) = Field(default=None, description="The thinners you have.")
    pigments: (
        Annotated[
            list[Annotated[PigmentShelfKeys, _LIKE]], Field(min_length=1, max_length=500), OrList()
        ]
        | None
    ) = Field(default=None, description="The pigments you have.")
    sealers: (
        Annotated[list[Annotated[SealerKeys, _LIKE]], Field(max_length=50), OrList()] | None
    ) = Field(default=None, description="The sealers you have, the usual one first.")
    finishes: (
        Annotated[list[Annotated[FinishShelfKeys, _LIKE]], Field(max_length=50), OrList()] | None
    ) = Field(default=None, description="The finishes you have, the usual one first.")
    measuring_tools: (
        Annotated[list[Annotated[ToolKeys, _LIKE]], Field(min_length=1, max_length=100), OrList()]
        | None
    ) = Field(default=None, description="Scales, syringes, cups and spoons.")
    air: AirKeys | None = Field(default=None, description="The air of the shop.")
    hours: HoursKeys | None = Field(default=None, description="When you work.")
    days: (
        Annotated[list[Annotated[str, OneOf(DAYS)]], Field(min_length=1, max_length=7), OrList()]
        | None
    ) = _field("The days you work.", "[Monday, Tuesday, Friday]")
    time_zone: Annotated[str, Words(60)] | None = _field(
        "Where the shop is, for changes of the clock; without it the clock is never changed.",
        "Europe/Berlin",
    )
    cup_loss: Annotated[float, Measured(Quantity.MASS, 0.0, 50.0)] | None = _field(
        "Mixed resin left on cup and stick.", "1.5 g"
    )
    empty_cup: Annotated[float, Measured(Quantity.MASS, 0.0, 500.0)] | None = _field(
        "What a mixing cup weighs: the scale bears it too.", "10 g"
    )
    cure_places: Annotated[int, Count(1, 500)] | None = _field(
        "Level, dust-free places where pieces can cure.", "12"
    )
    hand_times: HandTimesKeys | None = Field(default=None, description="How long your hands take.")
    prices: PricesKeys | None = Field(
        default=None, description="What things cost; without it nothing is priced."
    )
    on_hand: StockKeys | None = Field(
        default=None, description="What is left of things; nothing is said of what is left out."
    )
