"""Kubelka-Munk: what an endless layer of pigment reflects, and how a layer scatters by a swatch.

P. Kubelka and F. Munk, Z. tech. Phys. 12 (1931) 593; the hyperbolic layer form P. Kubelka, J. Opt.
Soc. Am. 38 (1948) 448 (both from memory).  Reflectances are of one band of light, 0 to 1, inside
the layer; a layer over a ground is in ``kernels.thin_layers``.
"""

from __future__ import annotations

import math

from flushwork.kernels.thin_layers import absorption_ratio


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
