"""Figures with so many decimals, a half always rounded up, as a person with a pencil does."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal


def half_up(value: float, places: int) -> str:
    """Return a number with ``places`` decimals: 1.5875 is 1.588, however it is stored."""
    if not math.isfinite(value):
        return f"{value:.{places}f}"
    step = Decimal(1).scaleb(-places)
    return f"{Decimal(repr(float(value))).quantize(step, ROUND_HALF_UP):f}"
