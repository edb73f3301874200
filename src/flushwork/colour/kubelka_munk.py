"""Kubelka-Munk: what an endless layer of pigment reflects, and how a layer scatters by a swatch.

P. Kubelka and F. Munk, Z. tech. Phys. 12 (1931) 593; the hyperbolic layer form P. Kubelka, J. Opt.
Soc. Am. 38 (1948) 448 (both from memory).  Reflectances are of one band of light, 0 to 1, inside
the layer; a layer over a ground is in ``kernels.thin_layers``.

What a thin coloured layer needs to be known by: its opaque colour and how it scatters.

Kubelka and Munk's two constants per band of linear sRGB light, either from a swatch over black and
over white or from a table's hiding depth alone.  Their theory holds inside the layer; a glossy
swatch is brought there and back by Saunderson's correction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from flushwork.colour.spaces import Triple, from_linear, to_linear
from flushwork.kernels.thin_layers import above, absorption_ratio, beneath, layer_reflectance


def opaque_reflectance(ratio: float) -> float:
    """Return the reflectance of an opaque layer of K/S: 1 + q - sqrt(q^2 + 2 q)."""
    return 1.0 + ratio - math.sqrt(ratio * ratio + 2.0 * ratio)


def scatter_from_swatches(over_black: float, opaque: float, thickness: float) -> float:
    """Return S per unit thickness, from a swatch over black and the opaque reflectance.

    With a and b of the opaque swatch, S X = (1 / b) arcoth((1 - a R0) / (b R0)), the layer form
    solved for a black ground.  Infinite where the swatch over black already is opaque.
    """
    if over_black <= 0.0:
        return 0.0
    a = 1.0 + absorption_ratio(opaque)
    b = math.sqrt(a * a - 1.0)
    turned = (1.0 - a * over_black) / (b * over_black)
    if turned <= 1.0:
        return math.inf
    return math.atanh(1.0 / turned) / (b * thickness)


def opaque_from_pair(over_black: float, over_white: float, white: float) -> float:
    """Return the reflectance of an endless layer from swatches over black and over white.

    a = (R + (R0 - R + Rg) / (R0 Rg)) / 2, R over white of reflectance Rg, R0 over black; then
    R_inf = a - sqrt(a^2 - 1).
    """
    a = 0.5 * (over_white + (over_black - over_white + white) / (over_black * white))
    return a - math.sqrt(max(0.0, a * a - 1.0))


SEEN_THROUGH: Final = 0.02
"""The contrast still seen at a hiding depth: a layer covers when 98 % of what is below is gone, the
contrast ratio of complete hiding in paint testing (ISO 6504-3, from memory)."""

NEVER_HIDES_MM: Final = 1.0e6
"""The hiding depth of a clear: deeper than any pocket."""

LEAST_HIDING_MM: Final = 0.01
"""No fill is reckoned to cover thinner than this: a grain of pigment is about as thick."""

_DARK: Final = 1e-4


@dataclass(frozen=True, slots=True)
class ThinLayer:
    """A coloured material: its opaque colour (sRGB), scattering per mm by band, hiding depth.

    ``inner`` is the share of diffuse light its surface throws back inside, 0 where that is left
    out of the reckoning.
    """

    rgb: Triple
    scatter_per_mm: Triple
    hides_mm: float
    inner: float = 0.0


def contrast_through(opaque: float, scattered: float, inner: float = 0.0) -> float:
    """Return what is left of the contrast of white on black, both seen through a layer.

    ``opaque`` is the reflectance of the endless layer inside it, ``scattered`` its S times its
    thickness.
    """
    absorbed = absorption_ratio(opaque) * scattered
    white = layer_reflectance(absorbed, scattered, 1.0, 1.0)
    black = layer_reflectance(absorbed, scattered, 1.0, 0.0)
    return above(white, inner) - above(black, inner)


def covering_depth(opaque: float, inner: float = 0.0) -> float:
    """Return the S X at which a layer covers: ``contrast_through`` is ``SEEN_THROUGH``."""
    low, high = 0.0, 1.0
    while contrast_through(opaque, high, inner) > SEEN_THROUGH:
        high *= 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        covers = contrast_through(opaque, middle, inner) <= SEEN_THROUGH
        low, high = (low, middle) if covers else (middle, high)
    return high


def from_hiding(rgb: Triple, hides_mm: float) -> ThinLayer:
    """Return a material of which only the opaque colour and the hiding depth are known."""
    first, second, third = (covering_depth(band) / hides_mm for band in _bands(rgb))
    return ThinLayer(rgb, (first, second, third), hides_mm)


def from_swatch(
    over_black: Triple, over_white: Triple, thickness_mm: float, inner: float = 0.0
) -> ThinLayer:
    """Return a material from one swatch seen over black and over white, colours as sRGB.

    The white card counts as 1: colours are read beside it.  A band that looks the same over both
    is opaque already and is given the least hiding depth.  ``inner`` is above 0 for a glossy
    swatch.
    """
    opaque: list[float] = []
    scatter: list[float] = []
    depths = [LEAST_HIDING_MM]
    for seen_black, seen_white in zip(_bands(over_black), _bands(over_white), strict=True):
        black, white = beneath(seen_black, inner), beneath(seen_white, inner)
        endless = min(max(opaque_from_pair(black, max(black, white), 1.0), _DARK), 1.0 - _DARK)
        covers = covering_depth(endless, inner)
        most = covers / LEAST_HIDING_MM
        found = min(most, scatter_from_swatches(min(black, endless), endless, thickness_mm))
        opaque.append(above(endless, inner))
        scatter.append(found)
        depths.append(covers / found if found > 0.0 else NEVER_HIDES_MM)
    return ThinLayer(
        rgb=from_linear((opaque[0], opaque[1], opaque[2])),
        scatter_per_mm=(scatter[0], scatter[1], scatter[2]),
        hides_mm=min(NEVER_HIDES_MM, max(depths)),
        inner=inner,
    )


def over(layer: ThinLayer, thickness_mm: float, ground: Triple) -> Triple:
    """Return the colour (sRGB) of a layer of a thickness over a ground, both as seen outside."""
    first, second, third = (
        above(
            layer_reflectance(
                absorption_ratio(beneath(opaque, layer.inner)) * scatter,
                scatter,
                thickness_mm,
                beneath(below, layer.inner),
            ),
            layer.inner,
        )
        for opaque, scatter, below in zip(
            _bands(layer.rgb), layer.scatter_per_mm, to_linear(ground), strict=True
        )
    )
    return from_linear((first, second, third))


def showing_through(layer: ThinLayer, thickness_mm: float) -> float:
    """Return the share of white on black still seen through a thickness, in the clearest band."""
    bands = zip(_bands(layer.rgb), layer.scatter_per_mm, strict=True)
    # Where hardly anything is seen through, rounding can leave a hair less than nothing.
    return max(
        0.0,
        *(
            contrast_through(beneath(opaque, layer.inner), scatter * thickness_mm, layer.inner)
            for opaque, scatter in bands
        ),
    )


def hides_from_opacity(opacity: float) -> float:
    """Return the thickness at which a fill covers, from the share 1 mm of it takes away.

    (1 - opacity)^t falls to ``SEEN_THROUGH`` at t = ln 0.02 / ln (1 - opacity).
    """
    if opacity <= 0.0:
        return NEVER_HIDES_MM
    # a share that rounds to 1 still is a hair less: such a fill covers at about 0.1 mm
    share = min(opacity, math.nextafter(1.0, 0.0))
    return min(NEVER_HIDES_MM, math.log(SEEN_THROUGH) / math.log1p(-share))


def _bands(rgb: Triple) -> Triple:
    first, second, third = (max(_DARK, band) for band in to_linear(rgb))
    return first, second, third
