"""Exact factors between units (*Guide for the Use of the SI*, NIST SP 811, 2008, appendix B)."""

from __future__ import annotations

from typing import Final

INCH_MM: Final = 25.4
OUNCE_G: Final = 28.349523125
FLUID_OUNCE_CM3: Final = 29.5735295625
MINUTE_S: Final = 60.0
HOUR_S: Final = 3600.0
HOUR_MIN: Final = 60
DAY_MIN: Final = 1440
