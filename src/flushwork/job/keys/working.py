"""The keys of a shop file about how the shop works: hand times, prices, what is on hand."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, ClassVar

from flushwork.core.units import Quantity, UnitError, read_quantity
from flushwork.job.keys.days import Money
from flushwork.job.keys.declare import Group, Key, Keyed
from flushwork.job.keys.quantities import Count, Held, Measured, slip
from flushwork.job.keys.settle import At, PerThing
from flushwork.job.keys.words import Size, Words
from flushwork.job.text.located import Scalar
from flushwork.shelf.working import CM3, GRAMS, PIECES, CutterPrice, OnHand, Prices, StockKind

MINUTE_S, HOUR_S, MM2_PER_DM2 = 60.0, 3600.0, 10_000.0
MOST = 1e6
PRICED = tuple[tuple[str, Decimal], ...]
STOCK = tuple[OnHand, ...]


@dataclass(frozen=True)
class Minutes(Measured):
    """A time in whole minutes."""

    def read(self, scalar: Scalar) -> int:
        """Return the minutes."""
        return round(Measured.read(self, scalar) / MINUTE_S)

    def text(self, value: float) -> str:
        """Write the time."""
        return Measured.text(self, value * MINUTE_S)


MINUTES = Minutes(Quantity.TIME, 30.0, 8 * HOUR_S)
PAUSE = Minutes(Quantity.TIME, 0.0, 30 * MINUTE_S)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandTimesKeys(Keyed):
    """How long hands take; all assumed until you time them."""

    flatten_min: Annotated[int | None, MINUTES, Key("12 min")] = None
    """One face of one piece planed flat, 12 min where left out."""
    mount_min: Annotated[int | None, MINUTES, Key("10 min")] = None
    """A piece held, located and zeroed, 10 min where left out."""
    mount_next_min: Annotated[int | None, MINUTES, Key("4 min")] = None
    """Each further piece on the bed held and located, 4 min where left out."""
    change_min: Annotated[int | None, MINUTES, Key("4 min")] = None
    """A cutter changed and touched off, 4 min where left out."""
    seal_min: Annotated[int | None, MINUTES, Key("6 min")] = None
    """A piece dusted and sealed, 6 min where left out."""
    sand_min: Annotated[int | None, MINUTES, Key("20 min")] = None
    """A face sanded after its first levelling, 20 min where left out."""
    light_sand_min: Annotated[int | None, MINUTES, Key("10 min")] = None
    """A face sanded after a later levelling, 10 min where left out."""
    key_min: Annotated[int | None, MINUTES, Key("15 min")] = None
    """A piece washed and abraded after a missed window, 15 min where left out."""
    coat_min: Annotated[int | None, MINUTES, Key("10 min")] = None
    """One coat of finish on a piece, 10 min where left out."""
    tidy_min: Annotated[int | None, MINUTES, Key("6 min")] = None
    """Laying out and clearing away for one batch, 6 min where left out."""
    air_min: Annotated[int | None, MINUTES, Key("2 min")] = None
    """Z lifted for a file's run in air, and set back, 2 min where left out."""
    pause_min: Annotated[int | None, PAUSE, Key("5 min")] = None
    """A pause in each hour of work by hand, 5 min where left out."""
    timed_dm2: Annotated[float | None, Size(), Key("300 mm x 300 mm", name="timed on")] = None
    """The face that flattening, sealing, sanding, abrading and coats were timed on, 300 mm x 300 mm
    where left out; a smaller one takes less."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take the size of the face they were timed on for its area."""
        if own["timed_dm2"] is not None:
            own["timed_dm2"] = own["timed_dm2"][0] * own["timed_dm2"][1] / MM2_PER_DM2


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterPriceKeys(Keyed):
    """What a cutter costs and how long it lasts."""

    makes: ClassVar[type[Any] | None] = CutterPrice

    price: Annotated[Decimal, Money(), Key("18.00")]
    """What a new one costs."""
    life_h: Annotated[float, Measured(Quantity.TIME, 60.0, 1000 * HOUR_S), Key("5 h")]
    """Hours of cutting until it is dull."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Count its life in hours; it goes by the name that its keys stand under."""
        own.update(cutter=at.path[-1], life_h=own["life_h"] / HOUR_S)


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesKeys(Keyed):
    """What things cost, in your own currency."""

    makes: ClassVar[type[Any] | None] = Prices

    currency: Annotated[str, Words(20), Key("crowns")]
    """What your money is called."""
    hands_h: Annotated[Decimal, Money(), Key("25.00", name="hour of work")]
    """What an hour of your work costs you."""
    wanted_h: Annotated[
        Decimal,
        Money(),
        Key("40.00", name="wanted per hour", otherwise=lambda at: at.own["hands_h"]),
    ]
    """What an hour shall bring; the cost of an hour where left out."""
    machine_h: Annotated[Decimal, Money(), Key("4.00", name="hour of machine")] = Decimal(0)
    """What an hour of the machine costs."""
    sundries: Annotated[Decimal, Money(), Key("3.50")] = Decimal(0)
    """Sealer, finish, abrasives, cups and gloves, for each piece."""
    timber_dm3: Annotated[PRICED, PerThing("timbers", "timber", Money()), Key(name="timber")] = ()
    """For each timber, the price of one dm3 as sawn."""
    resin_kg: Annotated[PRICED, PerThing("resins", "resin", Money()), Key(name="resin")] = ()
    """For each resin, the price of one kg with its hardener."""
    pigment_kg: Annotated[
        PRICED, PerThing("pigments", "pigment", Money()), Key(name="pigment")
    ] = ()
    """For each pigment, the price of one kg."""
    thinner_l: Annotated[PRICED, PerThing("thinners", "thinner", Money()), Key(name="thinner")] = ()
    """For each thinner, the price of one litre."""
    cutters: Annotated[
        tuple[CutterPrice, ...], PerThing("cutters", "cutter", Group(CutterPriceKeys)), Key()
    ] = ()
    """For each cutter, its price and its life."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Leave out the names that the prices of cutters hold themselves."""
        own["cutters"] = tuple(price for _, price in own["cutters"])


@dataclass(frozen=True)
class Left(Held):
    """What is left of a thing: its weight in g or its volume in cm3, nothing included."""

    wants = "a weight (120 g) or a volume (250 ml)"

    def read(self, scalar: Scalar) -> tuple[float, str]:  # type: ignore[override]
        """Return the amount and its unit."""
        try:
            value, unit = read_quantity(scalar.text, Quantity.MASS), GRAMS
        except UnitError as error:
            if error.code != "unit-of-another-kind":
                raise
            value, unit = read_quantity(scalar.text, Quantity.VOLUME), CM3
        if not 0.0 <= value <= MOST:
            raise slip("value-out-of-range", f"{scalar.text} is out of range", "write 0 g or more")
        return value, unit


@dataclass(frozen=True)
class Lying(PerThing):
    """What lies on a shelf, thing by thing."""

    def resolve(self, value: Any, at: At) -> tuple[Any, ...]:
        """Return what is on hand; a name that is not on the shelf is a slip."""
        found: list[OnHand] = []
        shelf = getattr(at.shop, self.shelf)
        for name, left in value.items():
            if not shelf:
                at.slip(
                    "name-unknown",
                    f"there is no {self.what} called '{name}'",
                    f"the shop has none; take '{name}' out, or add it to the shop's list",
                    name,
                )
                continue
            thing = at.reading.find(shelf, name, self.what, (*at.path, name))
            amount, unit = left if isinstance(left, tuple) else (float(left), PIECES)
            kind = StockKind(str(at.path[-1]))
            found.append(OnHand(kind, thing.name, amount, unit, at.source(name)))
        return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockKeys(Keyed):
    """What is on hand, by name; nothing is said of what is left out."""

    resin: Annotated[STOCK, Lying("resins", "resin", Left()), Key("{coating epoxy: 480 g}")] = ()
    """For each resin, what is left of it without its hardener."""
    hardener: Annotated[STOCK, Lying("resins", "resin", Left()), Key("{coating epoxy: 210 g}")] = ()
    """For each resin, what is left of its hardener."""
    pigment: Annotated[STOCK, Lying("pigments", "pigment", Left()), Key("{teal flake: 18 g}")] = ()
    """For each pigment, what is left."""
    thinner: Annotated[STOCK, Lying("thinners", "thinner", Left()), Key("{ethanol: 400 ml}")] = ()
    """For each thinner, what is left."""
    sealer: Annotated[STOCK, Lying("sealers", "sealer", Left()), Key("{shellac: 200 ml}")] = ()
    """For each sealer, what is left."""
    finish: Annotated[
        STOCK, Lying("finishes", "finish", Left()), Key("{wiping varnish: 350 ml}")
    ] = ()
    """For each finish, what is left."""
    cutters: Annotated[
        STOCK, Lying("cutters", "cutter", Count(0, 100000)), Key("{1 mm flat: 2}")
    ] = ()
    """For each cutter, how many sharp ones there are, the one in the machine included."""
    timber: Annotated[
        STOCK, Lying("timbers", "timber", Count(0, 100000)), Key("{black cherry: 6}")
    ] = ()
    """For each timber, how many blanks lie ready."""
