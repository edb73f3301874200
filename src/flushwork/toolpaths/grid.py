"""The grid that the decimals of a cut file put all its coordinates on."""

from __future__ import annotations

from typing import Final

from flushwork.shelf.items import Dialect

INCH_MM: Final = 25.4

LEAST_INCH_DECIMALS: Final = 5
"""Decimals of an inch file, at least: 0.00001 inch is 0.00025 mm, finer than the 0.001 mm that a
metric file's three decimals give; with four a coordinate could be off by 0.0013 mm, an end by
0.0018 mm (``design/cut_file_decimals.py``)."""


class Grid:
    """Whole steps of the last decimal, in the units the file is written in.

    ``unit_mm`` is the file's unit, ``decimals`` the places behind the point.
    """

    __slots__ = ("_form", "_per_mm", "_per_unit", "decimals", "unit_mm")

    def __init__(self, unit_mm: float, decimals: int) -> None:
        self.unit_mm = unit_mm
        self.decimals = decimals
        self._per_unit = 10.0**decimals
        self._per_mm = self._per_unit / unit_mm
        self._form = f"%.{decimals}f"

    def steps(self, value_mm: float) -> int:
        """Return the nearest grid step to a coordinate in mm."""
        return round(value_mm * self._per_mm)

    def mm(self, steps: int) -> float:
        """Return where a grid step lies, in mm."""
        return steps / self._per_unit * self.unit_mm

    def text(self, steps: int) -> str:
        """Return a coordinate as written: all decimals, never a minus zero."""
        return self._form % (steps / self._per_unit)

    def feed_text(self, feed_mm_min: float) -> str:
        """Return a feed as written: to 0.1 mm/min, in inch files to 0.001 in/min."""
        if self.unit_mm == 1.0:
            return f"{max(feed_mm_min, 0.1):.1f}"
        return f"{max(feed_mm_min / self.unit_mm, 0.001):.3f}"


def grid_of(dialect: Dialect) -> Grid:
    """Return the grid of a dialect; an inch file has five decimals at the least."""
    if dialect.inch:
        return Grid(INCH_MM, max(dialect.decimals, LEAST_INCH_DECIMALS))
    return Grid(1.0, dialect.decimals)
