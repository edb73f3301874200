"""How fast a bit may turn: its own mark rules, else its width and the speed of its edge.

All steps are common practice, no source; the number on the bit is what holds.
"""

from __future__ import annotations

import math
from typing import Final

STEPS: Final = ((25.0, 24000.0), (50.0, 18000.0), (63.0, 16000.0), (90.0, 12000.0))
"""Up to this diameter in mm, at most so many turns per minute (common practice, no source)."""

UNMARKED: Final = "for a bit of its width without a mark (common practice, no source)"


def greatest_rpm(diameter_mm: float, marked_rpm: float) -> float:
    """Return the fastest a bit may turn; ``marked_rpm`` is 0 where the bit carries no mark.

    Beyond the widest step its rim may be no faster than that of the widest step.
    """
    if marked_rpm > 0.0:
        return marked_rpm
    for widest_mm, rpm in STEPS:
        if diameter_mm <= widest_mm:
            return rpm
    widest_mm, rpm = STEPS[-1]
    return rpm * widest_mm / diameter_mm


def edge_m_s(diameter_mm: float, rpm: float) -> float:
    """Return the speed of a bit's edge in m/s."""
    return math.pi * diameter_mm / 1000.0 * rpm / 60.0
