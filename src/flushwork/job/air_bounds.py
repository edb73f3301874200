"""How cold and how warm the air of a shop can be, in its file and in a day log alike."""

from __future__ import annotations

from typing import Final

COLDEST_C: Final = -20.0
WARMEST_C: Final = 50.0
"""Air that somebody works in, or leaves pieces in overnight (assumed)."""
