"""A mix's colour and opacity, guessed from its pigments until a swatch says better.

Single-constant Kubelka-Munk per channel of linear sRGB, K/S = (1 - R)^2 / (2 R) (P. Kubelka and
F. Munk, *Zeitschrift für technische Physik* 12 (1931) 593-601), each pigment weighing by its share
over the depth at which it hides.  Pigments are read from glossy swatches away from the mirror of
the lamp, so their light is followed beneath the surface and back (J. L. Saunderson, *J. Opt. Soc.
Am.* 32 (1942) 727).  sRGB decoding after IEC 61966-2-1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from flushwork.shelf.items import Pigment

CLEAR_COLOUR: Final = "#f3ead6"
"""Cured clear resin over white: assumed, replace with a photographed swatch."""

SEEN_THROUGH: Final = 0.02
"""The contrast still seen at a pigment's hiding depth; the meaning given to that depth."""

INNER: Final = 0.6
"""Share of diffuse light the surface throws back inside (E. Allen, in Grum and Bartleson (eds.),
*Optical Radiation Measurements* 2 (1980), p. 308, theory; 0.4 to 0.6 in use)."""

_LEAST: Final = 1e-4

Strong = tuple[Pigment, float]


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def _encoded(value: float) -> float:
    return value * 12.92 if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


def strength_per_mm(pigment: Pigment, share: float) -> float:
    """Return how many hiding depths of this pigment one mm of fill holds, at a share by weight."""
    middle = (pigment.share_low + pigment.share_high) / 2
    return share / middle / pigment.hides_mm


def mixed_colour(pigments: Sequence[Strong]) -> str:
    """Return the colour of a mix as ``#rrggbb``; a clear one gets ``CLEAR_COLOUR``."""
    weights = [strength_per_mm(pigment, share) for pigment, share in pigments]
    total = sum(weights)
    if not total:
        return CLEAR_COLOUR
    channels = []
    for at in (1, 3, 5):
        ratio = 0.0
        for (pigment, _), weight in zip(pigments, weights, strict=True):
            seen = max(_LEAST, _linear(int(pigment.colour[at : at + 2], 16) / 255))
            reflected = seen / (1 - INNER + INNER * seen)
            ratio += weight / total * (1 - reflected) ** 2 / (2 * reflected)
        mixed = 1 + ratio - math.sqrt(ratio * ratio + 2 * ratio)
        shown = (1 - INNER) * mixed / (1 - INNER * mixed)
        channels.append(round(255 * min(1.0, max(0.0, _encoded(shown)))))
    return "#" + "".join(f"{channel:02x}" for channel in channels)


def mixed_opacity(pigments: Sequence[Strong]) -> float:
    """Return the share of the contrast beneath that 1 mm of fill takes away (0 for a clear mix)."""
    depth = sum(strength_per_mm(pigment, share) for pigment, share in pigments)
    return 1.0 - SEEN_THROUGH**depth
