"""sRGB, linear light, XYZ (D65) and CIELAB.

sRGB: IEC 61966-2-1, with the exact matrix that follows from its primaries and the D65 white, as
the W3C CSS Color 4 text carries it.  CIELAB: CIE 15, white taken from the same matrix.
"""

from __future__ import annotations

import re
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
