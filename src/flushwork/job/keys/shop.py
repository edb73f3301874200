"""The keys of a shop file, each declared by the name of the field that it changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from flushwork.core.keys.declare import Changes, Group, Items, Key, Keyed, Stated
from flushwork.core.keys.quantities import Count, Held, slip
from flushwork.core.keys.settle import At, PerThing
from flushwork.core.keys.tree import Scalar
from flushwork.core.keys.words import OneOf, Version
from flushwork.core.units import Quantity, System, UnitError, read_quantity
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
from flushwork.shelf.working import (
    CM3,
    GRAMS,
    PIECES,
    HandTimes,
    LabelSheet,
    OnHand,
    Prices,
    ShopWays,
    StockKind,
)

# ---- The keys of a shop file about what is on hand


MOST = 1e6
STOCK = tuple[OnHand, ...]


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
    """What is on hand, by name; nothing is said of what is left out.

    If wrong: a run begins with too little on hand, or something is bought that is there.
    """

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
    bits: Annotated[STOCK, Lying("bits", "bit", Count(0, 100000)), Key("{1 mm flat: 2}")] = ()
    """For each bit, how many sharp ones there are, the one in the machine included."""
    wood: Annotated[STOCK, Lying("woods", "wood", Count(0, 100000)), Key("{black cherry: 6}")] = ()
    """For each wood, how many blanks lie ready."""


# ---- The keys of a shop file, each declared by the name of the field that it changes


DAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True)
class Later(Group):
    """Keys that name things of the shop itself: they are settled once it is known."""

    def resolve(self, value: Any, at: At) -> Callable[[Shop], Any]:
        """Return what makes the record of a shop."""
        return lambda shop: Group.resolve(self, value, replace(at, shop=shop))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopKeys(ShopWays):
    """A whole shop; what is left out comes from the packaged starter shop.

    If wrong: what the pages say is not what your shop has.
    """

    version: Annotated[int, Version(), Key("2", name="flushwork shop")]
    """The version of the file's language."""
    units: Annotated[System | None, OneOf(System), Key("metric")] = None
    """What is printed, shown and said; as the G-code files where left out.

    If wrong: figures are shown in units you do not read your rule in."""
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
    days: Annotated[
        tuple[str, ...] | None,
        Items(OneOf(DAYS), 1, 7, or_one=True),
        Key("[Monday, Tuesday, Friday]"),
    ] = None
    """The days you work.

    If wrong: steps are planned on days when nobody is there."""
    hands: Annotated[Stated | None, Changes(HandTimes), Key(name="hand times")] = None
    """How long your hands take."""
    labels: Annotated[Stated | None, Changes(LabelSheet), Key()] = None
    """The labels for pieces and cups."""
    prices: Annotated[Any, Later(Prices), Key()] = None
    """What things cost; without it nothing is priced."""
    on_hand: Annotated[Any, Later(StockKeys), Key()] = None
    """What is left of things; nothing is said of what is left out."""
