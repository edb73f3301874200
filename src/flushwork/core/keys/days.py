"""Dates and money: two more kinds of value."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final

from flushwork.core.keys.quantities import Leaf, slip
from flushwork.core.keys.tree import Scalar

FIRST_YEAR: Final = 2000
LAST_YEAR: Final = 2199
"""A day outside these years is a slip of the keys."""
_MONEY: Final = r"\d{1,7}(\.\d{1,4})?"


@dataclass(frozen=True)
class Date(Leaf):
    """A day of the calendar."""

    wants = "a date such as 2027-03-01"
    described = MappingProxyType({"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"})

    def read(self, scalar: Scalar) -> dt.date:
        """Return the day."""
        try:
            day = dt.date.fromisoformat(scalar.text.strip())
        except ValueError:
            raise slip(
                "date-unreadable",
                f"'{scalar.text.strip()}' is not a day of the calendar",
                "write year-month-day, such as 2027-03-01",
            ) from None
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise slip(
                "value-out-of-range",
                f"no work is planned in the year {day.year}",
                f"write a day from {FIRST_YEAR}-01-01 to {LAST_YEAR}-12-31",
            )
        return day


@dataclass(frozen=True)
class Money(Leaf):
    """An amount of the shop's own currency."""

    wants = "an amount such as 12.50"

    def read(self, scalar: Scalar) -> Decimal:
        """Return the amount, exactly as written."""
        text = scalar.text.strip()
        if not re.fullmatch(_MONEY, text):
            raise slip(
                "money-unreadable",
                f"'{text}' is not an amount",
                "write digits with a point, such as 12.50; the currency's name stands once, "
                "at `currency`",
            )
        return Decimal(text)

    def schema(self) -> dict[str, Any]:
        """Describe the amount as a number or a string."""
        return {
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "string", "pattern": f"^{_MONEY}$"},
            ]
        }


@dataclass(frozen=True)
class MoneyPer(Leaf):
    """A price for so much of something, such as ``7.20 per board foot``.

    ``sizes`` says how much of the unit a price is kept for each other unit holds; the first is
    that unit, which a bare amount is for.
    """

    sizes: tuple[tuple[str, str], ...]

    @property
    def wants(self) -> str:  # type: ignore[override]
        """List the units."""
        names = ", ".join(name for name, _ in self.sizes)
        return f"an amount such as 12.50, or 12.50 per one of {names}"

    def read(self, scalar: Scalar) -> Decimal:
        """Return the amount for the first unit; exact where no other unit is named."""
        amount, _, unit = (part.strip() for part in scalar.text.partition(" per "))
        if not re.fullmatch(_MONEY, amount) or (unit and unit not in dict(self.sizes)):
            raise slip(
                "money-unreadable",
                f"'{scalar.text.strip()}' is not a price",
                f"write {self.wants}; the currency's name stands once, at `currency`",
            )
        return Decimal(amount) / Decimal(dict(self.sizes)[unit]) if unit else Decimal(amount)

    def schema(self) -> dict[str, Any]:
        """Describe the price as a number or a string."""
        units = "|".join(re.escape(name) for name, _ in self.sizes)
        return {
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "string", "pattern": f"^{_MONEY}( per ({units}))?$"},
            ]
        }


BY_VOLUME_OF_WOOD: Final = MoneyPer(
    (("dm3", "1"), ("m3", "1000"), ("board foot", "2.359737216"), ("cubic foot", "28.316846592"))
)
BY_WEIGHT: Final = MoneyPer(
    (("kg", "1"), ("g", "0.001"), ("lb", "0.45359237"), ("oz", "0.028349523125"))
)
BY_VOLUME: Final = MoneyPer(
    (("l", "1"), ("ml", "0.001"), ("fl oz", "0.0295735295625"), ("gallon", "3.785411784"))
)
"""Prices; factors of NIST Special Publication 811 (2008), appendix B.8."""
