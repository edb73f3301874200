"""Whether lettering can be read: luminance contrast, and the workshop's lightness rule.

Contrast ratio: W3C, Web Content Accessibility Guidelines 2.2, "relative luminance" and "contrast
ratio".
"""

from __future__ import annotations

from typing import Final

from flushwork.colour.spaces import Triple, to_lab, to_linear

SMALL_LETTERING: Final = 4.5
"""Least ratio for small text (WCAG 2.2, success criterion 1.4.3)."""

LARGE_LETTERING: Final = 3.0
"""Least ratio for large text and graphics (WCAG 2.2, success criteria 1.4.3 and 1.4.11)."""

STROKE_LIGHTNESS: Final = 30.0
"""Lightness difference wanted for strokes under 1 mm and lettering (assumed; range 20 to 40; a
lettering coupon under the shop's finish replaces it)."""

SHAPE_LIGHTNESS: Final = 20.0
"""Lightness difference wanted for shapes over 3 mm (assumed; range 10 to 30; as above)."""


def luminance(rgb: Triple) -> float:
    """Return the relative luminance of an sRGB colour, black 0 to white 1."""
    red, green, blue = to_linear(rgb)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(first: Triple, second: Triple) -> float:
    """Return the contrast of two sRGB colours, 1 to 21."""
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def lightness_gap(first: Triple, second: Triple) -> float:
    """Return the difference of CIELAB lightness, 0 to 100."""
    return abs(to_lab(first)[0] - to_lab(second)[0])


def lightness_wanted(stroke_mm: float) -> float:
    """Return the lightness difference a stroke or shape of a width wants, straight between."""
    if stroke_mm <= 1.0:
        return STROKE_LIGHTNESS
    if stroke_mm >= 3.0:
        return SHAPE_LIGHTNESS
    share = (stroke_mm - 1.0) / 2.0
    return STROKE_LIGHTNESS + share * (SHAPE_LIGHTNESS - STROKE_LIGHTNESS)
