"""How long hands take: one named figure per kind of work, each to be replaced by a watch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class HandTimes:
    """Minutes of hand work, per piece unless said otherwise.

    All are assumed, no source; the range stands beside each, and the first job timed with a watch
    replaces it.  ``change_min`` is per cutter put in, ``mount_min`` per mounting, ``tidy_min`` per
    batch mixed (mixing and filling themselves are on the pour's card).
    """

    flatten_min: int = 12
    """One face planed flat: 5 to 30."""
    mount_min: int = 10
    """Held, located, zeroed, clear height checked: 5 to 20."""
    change_min: int = 4
    """Cutter changed and its height touched off: 2 to 8."""
    seal_min: int = 6
    """Brushed or wiped, dust taken off before: 3 to 15."""
    sand_min: int = 20
    """Sanded flush through the grits after the first levelling of a face: 10 to 40."""
    light_sand_min: int = 10
    """The same after each later levelling: 5 to 20."""
    key_min: int = 15
    """Washed, abraded and cleaned where a recoat window was missed: 8 to 30."""
    coat_min: int = 10
    """One coat of finish on both faces, rubbed down before: 5 to 20."""
    tidy_min: int = 6
    """Tools laid out for a batch, and cleared away: 3 to 12."""


ASSUMED: Final = HandTimes()

FINISH_HARD_MIN: Final = 72 * 60
"""From the last coat until a piece may be packed (assumed, 1 to 14 days; the finish's own sheet
replaces it)."""

CURE_PLACES: Final = 12
"""Level, dust-free places where pieces can lie and cure (assumed, 2 to 20; count your own)."""
