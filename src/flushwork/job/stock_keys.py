"""The keys of a shop file about what is on hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import Field

from flushwork.job.leaves import Count, Held, slip
from flushwork.job.located import Scalar
from flushwork.job.section import Section
from flushwork.shelf.stock import CM3, GRAMS
from flushwork.units import Quantity, UnitError, read_quantity

MOST: Final = 1e6


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


Amount = Annotated[tuple[float, str], Left()]
Number = Annotated[int, Count(0, 100_000)]


def _by_name(what: str, example: dict[str, str | int]) -> Any:
    return Field(default_factory=dict, description=what, examples=[example])


class StockKeys(Section):
    """What is on hand, by name; nothing is said of what is left out."""

    resin: dict[str, Amount] = _by_name(
        "For each resin, what is left of it without its hardener.", {"coating epoxy": "480 g"}
    )
    hardener: dict[str, Amount] = _by_name(
        "For each resin, what is left of its hardener.", {"coating epoxy": "210 g"}
    )
    pigment: dict[str, Amount] = _by_name("For each pigment, what is left.", {"teal flake": "18 g"})
    thinner: dict[str, Amount] = _by_name("For each thinner, what is left.", {"ethanol": "400 ml"})
    sealer: dict[str, Amount] = _by_name("For each sealer, what is left.", {"shellac": "200 ml"})
    finish: dict[str, Amount] = _by_name(
        "For each finish, what is left.", {"wiping varnish": "350 ml"}
    )
    cutters: dict[str, Number] = _by_name(
        "For each cutter, how many sharp ones there are, the one in the machine included.",
        {"1 mm flat": 2},
    )
    timber: dict[str, Number] = _by_name(
        "For each timber, how many blanks lie ready.", {"black cherry": 6}
    )
