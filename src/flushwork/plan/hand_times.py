"""Waits that belong to no shop in particular."""

from __future__ import annotations

from typing import Final

FINISH_HARD_MIN: Final = 72 * 60
"""From the last coat until a piece may be packed (assumed, 1 to 14 days; the finish's own sheet
replaces it)."""
