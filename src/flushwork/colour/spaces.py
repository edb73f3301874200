"""sRGB, linear light, XYZ (D65) and CIELAB.

sRGB: IEC 61966-2-1, with the exact matrix that follows from its primaries and the D65 white, as
the W3C CSS Color 4 text carries it.  CIELAB: CIE 15, white taken from the same matrix.

How different two colours look: CIEDE2000.

G. Sharma, W. Wu and E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes,
supplementary test data, and mathematical observations", Color Res. Appl. 30(1), 2005, 21-30; the
equation numbers below are theirs.

Whether a shape is told from what lies around it: by lightness, or by colour where it is broad.

Contrast ratio: W3C, Web Content Accessibility Guidelines 2.2, "relative luminance" and "contrast
ratio".  That fine strokes are seen by their lightness alone, and broad ones by their hue as well,
is K. T. Mullen's, J. Physiol. 359 (1985) 381 (from memory).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from math import inf
from typing import Final

Triple = tuple[float, float, float]

RGB_TO_XYZ: Final[tuple[Triple, Triple, Triple]] = (
    (0.4123907992659595, 0.3575843393838780, 0.1804807884018343),
    (0.2126390058715104, 0.7151686787677559, 0.0721923153607337),
    (0.0193308187155919, 0.1191947797946260, 0.9505321522496606),
)
WHITE: Final[Triple] = (sum(RGB_TO_XYZ[0]), sum(RGB_TO_XYZ[1]), sum(RGB_TO_XYZ[2]))

_EPSILON = 216.0 / 24389.0
_KAPPA = 24389.0 / 27.0


def parse_hex(colour: str) -> Triple:
    """Return ``#rrggbb`` as sRGB from 0 to 1.

    Raises ValueError where it is not six hexadecimal digits after a ``#``.
    """
    if not re.fullmatch("#[0-9a-fA-F]{6}", colour):
        raise ValueError(f"{colour!r} is not of the form #rrggbb")
    red, green, blue = (int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    return red, green, blue


def format_hex(rgb: Triple) -> str:
    """Return sRGB as ``#rrggbb``, clipped to what a screen shows."""
    return "#" + "".join(f"{round(255.0 * min(1.0, max(0.0, part))):02x}" for part in rgb)


def decode(part: float) -> float:
    """Return one sRGB component as linear light."""
    return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4


def encode(part: float) -> float:
    """Return one component of linear light as sRGB."""
    return part * 12.92 if part <= 0.0031308 else 1.055 * part ** (1.0 / 2.4) - 0.055


def to_linear(rgb: Triple) -> Triple:
    """Return sRGB as linear light."""
    return decode(rgb[0]), decode(rgb[1]), decode(rgb[2])


def from_linear(linear: Triple) -> Triple:
    """Return linear light as sRGB."""
    return encode(linear[0]), encode(linear[1]), encode(linear[2])


def _times(matrix: tuple[Triple, Triple, Triple], vector: Triple) -> Triple:
    first, second, third = (
        sum(cell * part for cell, part in zip(row, vector, strict=True)) for row in matrix
    )
    return first, second, third


def to_xyz(rgb: Triple) -> Triple:
    """Return sRGB as XYZ, white at Y = 1."""
    return _times(RGB_TO_XYZ, to_linear(rgb))


def _curve(part: float) -> float:
    return part ** (1.0 / 3.0) if part > _EPSILON else (_KAPPA * part + 16.0) / 116.0


def to_lab(rgb: Triple) -> Triple:
    """Return sRGB as CIELAB."""
    x, y, z = (_curve(part / white) for part, white in zip(to_xyz(rgb), WHITE, strict=True))
    return 116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)


_TWENTY_FIVE_7 = 25.0**7


@dataclass(frozen=True, slots=True)
class _Polar:
    """Lightness, chroma and hue (degrees, 0 to 360) with a* stretched as eq. 2 to 7."""

    light: float
    chroma: float
    hue: float


def _polar(lab: Triple, stretch: float) -> _Polar:
    a = (1.0 + stretch) * lab[1]
    hue = math.degrees(math.atan2(lab[2], a)) % 360.0 if a or lab[2] else 0.0
    return _Polar(lab[0], math.hypot(a, lab[2]), hue)


def _hue_step(first: _Polar, second: _Polar) -> float:
    """Return the hue difference in degrees, eq. 10."""
    if first.chroma * second.chroma == 0.0:
        return 0.0
    step = second.hue - first.hue
    if step > 180.0:
        return step - 360.0
    return step + 360.0 if step < -180.0 else step


def _hue_mean(first: _Polar, second: _Polar) -> float:
    """Return the mean hue in degrees, eq. 14."""
    total = first.hue + second.hue
    if first.chroma * second.chroma == 0.0:
        return total
    if abs(first.hue - second.hue) <= 180.0:
        return total / 2.0
    return (total + 360.0) / 2.0 if total < 360.0 else (total - 360.0) / 2.0


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


def _sevenths(chroma: float) -> float:
    return math.sqrt(chroma**7 / (chroma**7 + _TWENTY_FIVE_7))


def ciede2000(first: Triple, second: Triple) -> float:
    """Return the difference of two CIELAB colours, with k_L = k_C = k_H = 1."""
    mean_star = (math.hypot(first[1], first[2]) + math.hypot(second[1], second[2])) / 2.0
    stretch = 0.5 * (1.0 - _sevenths(mean_star))
    one, two = _polar(first, stretch), _polar(second, stretch)
    step = _hue_step(one, two)
    hue_gap = 2.0 * math.sqrt(one.chroma * two.chroma) * math.sin(math.radians(step) / 2.0)
    light, chroma = (one.light + two.light) / 2.0, (one.chroma + two.chroma) / 2.0
    hue = _hue_mean(one, two)
    weight = (
        1.0
        - 0.17 * _cos(hue - 30.0)
        + 0.24 * _cos(2.0 * hue)
        + 0.32 * _cos(3.0 * hue + 6.0)
        - 0.20 * _cos(4.0 * hue - 63.0)
    )
    turn = 30.0 * math.exp(-(((hue - 275.0) / 25.0) ** 2))
    tied = -math.sin(math.radians(2.0 * turn)) * 2.0 * _sevenths(chroma)
    off = (light - 50.0) ** 2
    by_light = (two.light - one.light) / (1.0 + 0.015 * off / math.sqrt(20.0 + off))
    by_chroma = (two.chroma - one.chroma) / (1.0 + 0.045 * chroma)
    by_hue = hue_gap / (1.0 + 0.015 * chroma * weight)
    return math.sqrt(by_light**2 + by_chroma**2 + by_hue**2 + tied * by_chroma * by_hue)


def difference(first: Triple, second: Triple) -> float:
    """Return CIEDE2000 between two sRGB colours (0 to 1)."""
    return ciede2000(to_lab(first), to_lab(second))


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
