"""Kubelka-Munk: what pigments in a clear binder reflect, mixed, and in a thin layer over wood.

P. Kubelka and F. Munk, Z. tech. Phys. 12 (1931) 593; the hyperbolic layer form P. Kubelka, J. Opt.
Soc. Am. 38 (1948) 448 (both from memory).  Reflectances are of one band of light, 0 to 1, inside
the layer; ``saunderson`` brings them outside.
"""

from __future__ import annotations

import math

_DARKEST = 1e-4
_LIGHTEST = 1.0 - 1e-6


def absorption_ratio(reflectance: float) -> float:
    """Return K/S of an opaque layer: (1 - R)^2 / (2 R)."""
    inside = min(_LIGHTEST, max(_DARKEST, reflectance))
    return (1.0 - inside) ** 2 / (2.0 * inside)


def opaque_reflectance(ratio: float) -> float:
    """Return the reflectance of an opaque layer of K/S: 1 + q - sqrt(q^2 + 2 q)."""
    return 1.0 + ratio - math.sqrt(ratio * ratio + 2.0 * ratio)


def layer_reflectance(absorb: float, scatter: float, thickness: float, ground: float) -> float:
    """Return the reflectance of a layer over a ground of reflectance ``ground``.

    R = [1 - Rg (a - b coth(b S X))] / [a - Rg + b coth(b S X)], a = 1 + K/S, b = sqrt(a^2 - 1),
    here multiplied through by S X so that no scattering, no absorption and no thickness are no
    special cases.  ``absorb`` and ``scatter`` are per unit of ``thickness``.
    """
    depth = thickness * math.sqrt(absorb * (absorb + 2.0 * scatter))
    turned = depth / math.tanh(depth) if depth > 1e-6 else 1.0
    scattered, both = scatter * thickness, (absorb + scatter) * thickness
    return (scattered - ground * (both - turned)) / (both - ground * scattered + turned)


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
