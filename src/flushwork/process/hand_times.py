"""How long hands take: by the area of a piece, with pauses, and waits that belong to no shop."""

from __future__ import annotations

from typing import Final

from flushwork.core.units.factors import HOUR_MIN
from flushwork.job.records import Blank
from flushwork.shelf.working import HandTimes

FINISH_HARD_MIN: Final = 72 * 60
"""From the last coat until a piece may be packed (assumed, 1 to 14 days; the finish's own sheet
replaces it)."""

FIXED: Final = 0.3
"""The share of work on a face that does not grow with it: taking up, looking, laying down (assumed,
0.1 to 0.5; two boards of different size, timed, replace it)."""

MM2_PER_DM2: Final = 10_000.0


def area_dm2(blank: Blank) -> float:
    """Return the area of one face of a blank."""
    return blank.length_mm * blank.width_mm / MM2_PER_DM2


def on_face_min(minutes: int, hands: HandTimes, dm2: float) -> int:
    """Return the minutes of work by hand on a piece whose face has ``dm2``, pauses included.

    ``minutes`` is how long it takes on a piece of the size that the shop has timed.
    """
    grown = FIXED + (1.0 - FIXED) * dm2 / hands.timed_dm2
    return max(1, round(minutes * grown * with_pauses(hands)))


def with_pauses(hands: HandTimes) -> float:
    """Return by how much work by hand grows by the pauses of every hour."""
    return HOUR_MIN / (HOUR_MIN - hands.pause_min)
