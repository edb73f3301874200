"""A mix's colour and opacity, guessed from its pigments until a swatch says better.

Single-constant Kubelka-Munk per channel of linear sRGB, each pigment weighing by its share over the
depth at which it hides.  Pigments are read from glossy swatches away from the mirror of the lamp,
so their light is followed beneath the surface and back.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from flushwork.colour.kubelka_munk import SEEN_THROUGH, opaque_reflectance
from flushwork.colour.spaces import format_hex, from_linear, parse_hex, to_linear
from flushwork.kernels.thin_layers import above, absorption_ratio, beneath
from flushwork.shelf.items import Pigment

CLEAR_COLOUR: Final = "#f3ead6"
"""Cured clear resin over white: assumed, replace with a photographed swatch."""

Strong = tuple[Pigment, float]


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
    ratios = [0.0, 0.0, 0.0]
    for (pigment, _), weight in zip(pigments, weights, strict=True):
        for band, light in enumerate(to_linear(parse_hex(pigment.colour))):
            ratios[band] += weight / total * absorption_ratio(beneath(light))
    red, green, blue = (above(opaque_reflectance(ratio)) for ratio in ratios)
    return format_hex(from_linear((red, green, blue)))


def mixed_opacity(pigments: Sequence[Strong]) -> float:
    """Return the share of the contrast beneath that 1 mm of fill takes away (0 for a clear mix)."""
    depth = sum(strength_per_mm(pigment, share) for pigment, share in pigments)
    return 1.0 - SEEN_THROUGH**depth
