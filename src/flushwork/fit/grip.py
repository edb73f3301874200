"""How firmly a blank, or the piece in it, is held against the push of a bit.

All strengths are assumed or from memory, each with its range: a spring balance hooked to a scrap
held the same way, and pulled sideways until it slips, replaces them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from flushwork.shelf.items import Holding

TAPE_SHARE: Final = 0.5
"""Share of the underside that is taped where nobody says (assumed, 0.3 to 0.8)."""
TAPE_SHEAR_N_CM2: Final = 5.0
"""Sideways, what a square centimetre of double-sided tape holds on wood (assumed, 3 to 15)."""
TAPE_PEEL_N_CM2: Final = 5.0
"""Straight off, what the most strained square centimetre holds (assumed, 2 to 10)."""
CLAMPS: Final = 2
"""Clamps where only their kind is said (assumed, 2 to 6)."""
CLAMP_N: Final = 300.0
"""How hard one clamp presses (assumed, 150 to 1000 N)."""
FRICTION: Final = 0.3
"""Wood on wood, dry (from memory, 0.25 to 0.5)."""
SCREWS: Final = 4
"""Screws where only their kind is said (assumed, 2 to 6)."""
PIN_N: Final = 200.0
"""What a dowel, pin or screw in the waste takes sideways: 6 mm of wood, 7 N/mm2 (from memory, 5 to
12 across the grain of a dowel)."""
TAB_N_MM2: Final = 5.0
"""What a tab takes per square millimetre, pulled or sheared (from memory, 3 to 10 across the grain
of hardwoods)."""


_TAPE, _CLAMPS = re.compile(r"\btaped?\b"), re.compile(r"\bclamp(s|ed)?\b")
_SCREWS, _PINS = re.compile(r"\bscrew(s|ed)?\b"), re.compile(r"\b(dowel|pin|disc)s?\b")
_SET_ON = re.compile(r"\b(dowel|pin)s?\b")


@dataclass(frozen=True, slots=True)
class Grip:
    """What holds: the taped share of the underside, pressed clamps, pins in the waste."""

    tape_share: float
    clamps: int
    clamp_n: float
    pins: int

    @property
    def waste_n(self) -> float:
        """What clamps and pins hold sideways; they hold the waste, and the piece through it."""
        return self.clamps * self.clamp_n * FRICTION + self.pins * PIN_N


def grip_of(holding: Holding) -> Grip | None:
    """Return what a holding holds with, as it says itself or by its words; None where none does."""
    how, where = holding.how.lower(), holding.locates_by.lower()
    screwed = bool(_SCREWS.search(how))
    tape = holding.tape_share
    clamps, pins = holding.clamps, holding.pins
    if tape is None:
        tape = TAPE_SHARE if _TAPE.search(how) else 0.0
    if clamps is None:
        clamps = CLAMPS if _CLAMPS.search(how) else 0
    if pins is None:
        pins = SCREWS if screwed else 2 if _PINS.search(where) else 0
        if not (tape or clamps or screwed):
            # what only locates holds nothing down
            return None
    force = CLAMP_N if holding.clamp_n is None else holding.clamp_n
    return Grip(tape, clamps, force, pins) if tape or clamps or pins else None


def set_on_pins(holding: Holding) -> bool:
    """Whether pins or dowels put a blank back in its place."""
    return bool(_SET_ON.search(holding.locates_by.lower()))


def speaks_of_pins(holding: Holding) -> bool:
    """Whether a holding is located or held by dowels, pins or discs."""
    return bool(_PINS.search(f"{holding.how} {holding.locates_by}".lower()))


def tape_n(share: float, area_mm2: float, long_mm: float, short_mm: float, arm_mm: float) -> float:
    """Return the push that tape under a piece stands, at ``arm_mm`` above it.

    Sideways: share x area x shear strength.  Peeled: the piece tips across its shorter side, and
    the tape is strained like the section of a beam: strength x share x long x short^2 / 6.
    """
    shear = share * area_mm2 / 100.0 * TAPE_SHEAR_N_CM2
    if arm_mm <= 0.0:
        return shear
    moment_n_cm = TAPE_PEEL_N_CM2 * share * long_mm * short_mm**2 / 6000.0
    return min(shear, moment_n_cm / (arm_mm / 10.0))


def tabs_n(count: int, wide_mm: float, high_mm: float) -> float:
    """Return the push that tabs stand together."""
    return count * wide_mm * high_mm * TAB_N_MM2
