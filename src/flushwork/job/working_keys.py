"""The keys of a shop file about how the shop works: hand times and prices."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import Field

from flushwork.job.date_leaf import Money
from flushwork.job.leaves import Measured
from flushwork.job.section import Section
from flushwork.job.word_leaves import Size, Words
from flushwork.units import Quantity

Amount = Annotated[Decimal, Money()]
Minutes = Annotated[float, Measured(Quantity.TIME, 30.0, 8 * 3600.0)]
Pause = Annotated[float, Measured(Quantity.TIME, 0.0, 30 * 60.0)]


def _time(what: str, example: str) -> Any:
    return Field(default=None, description=f"{what}, {example} where left out.", examples=[example])


class HandTimesKeys(Section):
    """How long hands take; all assumed until you time them."""

    flatten: Minutes | None = _time("One face of one piece planed flat", "12 min")
    mount: Minutes | None = _time("A piece held, located and zeroed", "10 min")
    mount_next: Minutes | None = _time("Each further piece on the bed held and located", "4 min")
    change: Minutes | None = _time("A cutter changed and touched off", "4 min")
    seal: Minutes | None = _time("A piece dusted and sealed", "6 min")
    sand: Minutes | None = _time("A face sanded after its first levelling", "20 min")
    light_sand: Minutes | None = _time("A face sanded after a later levelling", "10 min")
    key: Minutes | None = _time("A piece washed and abraded after a missed window", "15 min")
    coat: Minutes | None = _time("One coat of finish on a piece", "10 min")
    tidy: Minutes | None = _time("Laying out and clearing away for one batch", "6 min")
    air: Minutes | None = _time("Z lifted for a file's run in air, and set back", "2 min")
    pause: Pause | None = _time("A pause in each hour of work by hand", "5 min")
    timed_on: Annotated[tuple[float, float], Size()] | None = Field(
        default=None,
        description="The face that flattening, sealing, sanding, abrading and coats were timed on, "
        "300 mm x 300 mm where left out; a smaller one takes less.",
        examples=["300 mm x 300 mm"],
    )


class CutterPriceKeys(Section):
    """What a cutter costs and how long it lasts."""

    price: Amount = Field(description="What a new one costs.", examples=["18.00"])
    life: Annotated[float, Measured(Quantity.TIME, 60.0, 1000 * 3600.0)] = Field(
        description="Hours of cutting until it is dull.", examples=["5 h"]
    )


class PricesKeys(Section):
    """What things cost, in your own currency."""

    currency: Annotated[str, Words(20)] = Field(
        description="What your money is called.", examples=["crowns"]
    )
    hour_of_work: Amount = Field(
        description="What an hour of your work costs you.", examples=["25.00"]
    )
    wanted_per_hour: Amount | None = Field(
        default=None,
        description="What an hour shall bring; the cost of an hour where left out.",
        examples=["40.00"],
    )
    hour_of_machine: Amount = Field(
        default=Decimal(0), description="What an hour of the machine costs.", examples=["4.00"]
    )
    sundries: Amount = Field(
        default=Decimal(0),
        description="Sealer, finish, abrasives, cups and gloves, for each piece.",
        examples=["3.50"],
    )
    timber: dict[str, Amount] = Field(
        default_factory=dict, description="For each timber, the price of one dm3 as sawn."
    )
    resin: dict[str, Amount] = Field(
        default_factory=dict, description="For each resin, the price of one kg with its hardener."
    )
    pigment: dict[str, Amount] = Field(
        default_factory=dict, description="For each pigment, the price of one kg."
    )
    thinner: dict[str, Amount] = Field(
        default_factory=dict, description="For each thinner, the price of one litre."
    )
    cutters: dict[str, CutterPriceKeys] = Field(
        default_factory=dict, description="For each cutter, its price and its life."
    )
