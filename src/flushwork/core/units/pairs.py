"""Quantities of two parts: ratios, sizes, and times of day."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from flushwork.core.units.kinds import Quantity, UnitError, names_of
from flushwork.core.units.parse import read_number, read_quantity

Basis = Literal["weight", "volume", ""]

_RATIO: Final = re.compile(r"^(?P<first>[^:]+):(?P<second>[^:]+?)(?:\s+by\s+(?P<basis>\w+))?$")
_TIMES: Final = re.compile(r"\s*[xX\u00d7*]\s*")
_CLOCK: Final = re.compile(r"^\s*(?P<hours>\d{1,2}):(?P<minutes>\d{2})\s*$")


@dataclass(frozen=True, slots=True)
class Ratio:
    """Parts of the first to parts of the second; ``basis`` is empty where the text names none."""

    first: float
    second: float
    basis: Basis


def read_ratio(text: str) -> Ratio:
    """Read ``5:1`` or ``100:45 by weight``; raises ``UnitError``."""
    example = "write for example 5:1 by volume or 100:45 by weight"
    match = _RATIO.match(text.strip())
    if match is None:
        raise UnitError("ratio-unreadable", f"'{text.strip()}' is not a ratio", example)
    first, second = read_number(match["first"]), read_number(match["second"])
    if first <= 0 or second <= 0:
        raise UnitError(
            "ratio-unreadable", f"'{text.strip()}' has a part that is not above 0", example
        )
    if match["basis"] == "weight":
        return Ratio(first, second, "weight")
    if match["basis"] == "volume":
        return Ratio(first, second, "volume")
    if match["basis"] is None:
        return Ratio(first, second, "")
    raise UnitError(
        "ratio-unreadable", f"'by {match['basis']}' is neither by weight nor by volume", example
    )


def read_size(text: str) -> tuple[float, float]:
    """Read ``320 mm x 170 mm`` or ``320 x 170 mm`` to two lengths in mm; raises ``UnitError``."""
    parts = _TIMES.split(text.strip())
    if len(parts) != 2 or not all(parts):
        raise UnitError(
            "size-unreadable",
            f"'{text.strip()}' is not a length by a width",
            "write for example 320 mm x 170 mm",
        )
    first, second = parts
    if re.fullmatch(r"[\d\s./+-]+", first):
        units = sorted(names_of(Quantity.LENGTH), key=len, reverse=True)
        unit = next((name for name in [*units, '"', "inch"] if second.endswith(name)), "")
        first = f"{first} {unit}"
    return read_quantity(first, Quantity.LENGTH), read_quantity(second, Quantity.LENGTH)


def read_clock(text: str) -> float:
    """Read a time of day, ``8:00`` to ``24:00``, to hours after midnight; raises ``UnitError``."""
    match = _CLOCK.match(text)
    hours = int(match["hours"]) + int(match["minutes"]) / 60 if match else 25.0
    if match is None or int(match["minutes"]) > 59 or hours > 24:
        raise UnitError(
            "time-unreadable",
            f"'{text.strip()}' is not a time of day",
            "write for example 8:00 or 17:30",
        )
    return hours
