"""Whether a shape is told from what lies around it: by lightness, or by colour where it is broad.

Contrast ratio: W3C, Web Content Accessibility Guidelines 2.2, "relative luminance" and "contrast
ratio".  That fine strokes are seen by their lightness alone, and broad ones by their hue as well,
is K. T. Mullen's, J. Physiol. 359 (1985) 381 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Final

from flushwork.colour.difference import ciede2000
from flushwork.colour.spaces import Triple, to_lab, to_linear

FINE_MM: Final = 1.0
BROAD_MM: Final = 3.0
"""Strokes up to the first width want the most, shapes from the second the least (common practice,
no source)."""

FINE_LIGHTNESS: Final = 30.0
BROAD_LIGHTNESS: Final = 20.0
"""Least difference of CIELAB lightness of either (assumed, 20 to 40 and 10 to 30; a swatch board
seen at arm's length replaces them)."""

FINE_DIFFERENCE: Final = 30.0
BROAD_DIFFERENCE: Final = 20.0
"""CIEDE2000 by which a shape just over ``FINE_MM`` and a broad one are told apart, however near
their lightness (assumed, 20 to 40 and 10 to 30; as above)."""


def luminance(rgb: Triple) -> float:
    """Return the relative luminance of an sRGB colour, black 0 to white 1."""
    red, green, blue = to_linear(rgb)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(first: Triple, second: Triple) -> float:
    """Return the contrast of two sRGB colours, 1 to 21."""
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


@dataclass(frozen=True, slots=True)
class Apart:
    """How far two colours are apart, in lightness and in all (CIEDE2000), and what is wanted.

    ``difference_wanted`` is infinite where only lightness counts.
    """

    lightness: float
    difference: float
    lightness_wanted: float
    difference_wanted: float

    @property
    def seen(self) -> bool:
        """Whether the two are told apart."""
        return self.lightness >= self.lightness_wanted or self.difference >= self.difference_wanted


def apart(first: Triple, second: Triple, width_mm: float, *, lettering: bool = False) -> Apart:
    """Return how far strokes of a width are apart from their ground, both colours sRGB.

    Strokes up to ``FINE_MM``, and lettering up to ``BROAD_MM``, are read by lightness alone.
    """
    one, other = to_lab(first), to_lab(second)
    by_hue = width_mm >= BROAD_MM or (width_mm > FINE_MM and not lettering)
    return Apart(
        lightness=abs(one[0] - other[0]),
        difference=ciede2000(one, other),
        lightness_wanted=_between(FINE_LIGHTNESS, BROAD_LIGHTNESS, width_mm),
        difference_wanted=(
            _between(FINE_DIFFERENCE, BROAD_DIFFERENCE, width_mm) if by_hue else inf
        ),
    )


def _between(fine: float, broad: float, width_mm: float) -> float:
    share = min(1.0, max(0.0, (width_mm - FINE_MM) / (BROAD_MM - FINE_MM)))
    return fine + share * (broad - fine)
