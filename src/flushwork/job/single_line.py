"""The names of the packaged single-line fonts, which are lines and take a width."""

from __future__ import annotations

from typing import Final

SINGLE_LINE: Final = (
    "single line",
    "single line plain",
    "single line script",
)
