"""Writing quantities back as text that reads to the same value.

Figures with so many decimals, a half always rounded up, as a person with a pencil does.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from typing import Final

from flushwork.core.units.kinds import BASE, DAY_S, HOUR_S, MINUTE_S, UNITS, Quantity
from flushwork.core.units.parse import Ratio


class System(StrEnum):
    """Which units a text is written in."""

    METRIC = "metric"
    INCH = "inch"


_DECIMALS: Final = 4


def number_text(value: float, decimals: int = _DECIMALS) -> str:
    """Write a number with at most so many decimals, no exponent, no trailing zeros.

    Raises ``ValueError`` for a number that is not finite.
    """
    if not math.isfinite(value):
        raise ValueError("only finite numbers are written")
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _time_unit(value_s: float) -> str:
    """Pick the largest unit of time that the value fills exactly, or else nearly."""
    for name, size in (("days", DAY_S), ("h", HOUR_S), ("min", MINUTE_S)):
        if value_s and value_s % size == 0:
            return name
    if abs(value_s) >= 2 * HOUR_S:
        return "h"
    return "min" if abs(value_s) >= 2 * MINUTE_S else "s"


def quantity_text(value: float, quantity: Quantity, decimals: int = _DECIMALS) -> str:
    """Write a quantity given in the program's own unit in a metric one, such as ``0.5 mm``.

    The text reads back to the value rounded to ``decimals`` of the unit it is written in.
    """
    if quantity is Quantity.ANGLE:
        return f"{number_text(math.degrees(value), decimals)} deg"
    unit = UNITS[_time_unit(value) if quantity is Quantity.TIME else BASE[quantity]]
    shown = (value - float(unit.offset)) / float(unit.factor)
    return f"{number_text(shown, decimals)} {unit.name}"


def up_mm(length_mm: float, decimals: int = 2) -> str:
    """Write a length in mm without its unit, rounded up: a figure that is enough when obeyed."""
    step = 10.0**-decimals
    return f"{math.ceil(length_mm / step - 1e-6) * step:.{decimals}f}"


def down_mm(length_mm: float, decimals: int = 2) -> str:
    """Write a length in mm without its unit, rounded down: a figure that is not too much."""
    step = 10.0**-decimals
    return f"{math.floor(length_mm / step + 1e-6) * step:.{decimals}f}"


def ratio_text(ratio: Ratio) -> str:
    """Write a ratio, ``100:45 by weight``."""
    parts = f"{number_text(ratio.first)}:{number_text(ratio.second)}"
    return f"{parts} by {ratio.basis}" if ratio.basis else parts


def half_up(value: float, places: int) -> str:
    """Return a number with ``places`` decimals: 1.5875 is 1.588, however it is stored."""
    if not math.isfinite(value):
        return f"{value:.{places}f}"
    step = Decimal(1).scaleb(-places)
    return f"{Decimal(repr(float(value))).quantize(step, ROUND_HALF_UP):f}"
