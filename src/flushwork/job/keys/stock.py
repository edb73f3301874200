"""The keys of a shop file about what is on hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from flushwork.core.keys.declare import Key, Keyed
from flushwork.core.keys.quantities import Count, Held, slip
from flushwork.core.keys.settle import At, PerThing
from flushwork.core.keys.tree import Scalar
from flushwork.core.units import Quantity, UnitError, read_quantity
from flushwork.shelf.working import CM3, GRAMS, PIECES, OnHand, StockKind

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
    bits: Annotated[STOCK, Lying("bits", "bit", Count(0, 100000)), Key("{1 mm flat: 2}")] = ()
    """For each bit, how many sharp ones there are, the one in the machine included."""
    wood: Annotated[STOCK, Lying("woods", "wood", Count(0, 100000)), Key("{black cherry: 6}")] = ()
    """For each wood, how many blanks lie ready."""
