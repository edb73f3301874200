"""How finely a cut file prints its numbers, and what their rounding may do to an arc.

A number printed to a step s lies up to s / 2 off the one that was meant; a place of two such
numbers up to s / sqrt(2).  Numbers that are never printed with decimals are taken to be exact.
"""

from __future__ import annotations

import math
import re
from typing import Final

from flushwork.toolpaths.line_errors import LineError
from flushwork.toolpaths.words import code_of

_NUMBERS: Final = re.compile(r"([xyzijkr])[+-]?[0-9]*\.?([0-9]*)")
_OF_A_PLACE: Final = "xyz"
_OF_A_CENTRE: Final = "ijk"
_MOST: Final = 12


class Decimals:
    """The most decimals a text prints of places, of centres and of radii; looked up when asked."""

    __slots__ = ("_found", "_text")

    def __init__(self, text: str) -> None:
        self._text = text
        self._found: tuple[int, int, int] | None = None

    def radii_apart(self) -> float:
        """Return how far the two radii of a rightly rounded arc may differ, in the file's units.

        The start and the end are a place off each; the centre, said from the start, moves the
        radius at the start by its own rounding and that at the end by as much the other way.
        """
        place, centre, _ = self._steps()
        return (2.0 * place + 2.0 * centre) / math.sqrt(2.0)

    def chord_beyond(self) -> float:
        """Return how far half of a chord may be longer than its arc's radius, likewise."""
        place, _, radius = self._steps()
        return place / math.sqrt(2.0) + radius / 2.0

    def _steps(self) -> tuple[float, float, float]:
        if self._found is None:
            self._found = _decimals(self._text)
        place, centre, radius = (10.0**-count if count else 0.0 for count in self._found)
        return place, centre, radius


def _decimals(text: str) -> tuple[int, int, int]:
    most = {"place": 0, "centre": 0, "radius": 0}
    for raw in text.replace("\r", "\n").split("\n"):
        try:
            code = code_of(raw)
        except LineError:
            continue
        for letter, decimals in _NUMBERS.findall(code):
            of = (
                "place"
                if letter in _OF_A_PLACE
                else "centre"
                if letter in _OF_A_CENTRE
                else "radius"
            )
            most[of] = max(most[of], min(len(decimals), _MOST))
    return most["place"], most["centre"], most["radius"]
