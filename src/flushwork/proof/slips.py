"""Slips of the pen: the few ways a right number gets written wrong.

A decimal point one place off, inches taken for millimetres or the other way, a whole inch too
many in a fraction.  (Common practice, no source: these are the slips that shops tell of.)
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

INCH_MM = 25.4
CLOSE = 0.04
"""Two sizes within this share of each other count as the same size."""

COMMON_SIZES_MM = (
    *(
        INCH_MM * part
        for part in (1 / 64, 1 / 32, 1 / 16, 3 / 32, 1 / 8, 3 / 16, 1 / 4, 3 / 8, 1 / 2)
    ),
    *(0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0),
)
"""Cutter diameters that are commonly sold (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A likely intended value and how it came to be written otherwise."""

    meant_mm: float
    how: str


def candidates(written_mm: float) -> tuple[Slip, ...]:
    """Return what may have been meant by a length, the likeliest first."""
    found = [
        Slip(written_mm / 10.0, "a decimal point one place to the right"),
        Slip(written_mm * 10.0, "a decimal point one place to the left"),
        Slip(written_mm * INCH_MM, "inches written as mm"),
        Slip(written_mm / INCH_MM, "mm written as inches"),
    ]
    whole = int(written_mm // INCH_MM)
    rest_mm = written_mm - whole * INCH_MM
    if whole and rest_mm > 0.1:
        found.insert(0, Slip(rest_mm, f"{whole} whole inch{'es' if whole > 1 else ''} too many"))
    return tuple(found)


def slip_towards(written_mm: float, wanted_mm: float) -> Slip | None:
    """Return the slip that turns a written length into the one wanted, if there is one."""
    return next((slip for slip in candidates(written_mm) if _same(slip.meant_mm, wanted_mm)), None)


def slip_into(
    written_mm: float, low_mm: float, high_mm: float, sizes_mm: Iterable[float] = ()
) -> Slip | None:
    """Return the slip whose intended length lies between two bounds (and is a common size)."""
    sizes = tuple(sizes_mm)
    return next(
        (
            slip
            for slip in candidates(written_mm)
            if low_mm <= slip.meant_mm <= high_mm
            and (not sizes or any(_same(slip.meant_mm, size) for size in sizes))
        ),
        None,
    )


def _same(first: float, second: float) -> bool:
    return abs(first - second) <= CLOSE * max(abs(first), abs(second))
