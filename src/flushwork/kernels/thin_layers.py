"""What one layer of pigment in a clear binder reflects over a ground, in one band of light.

Plain functions of floats: ``colour`` calls them as they are, the loops over cells compile them.
Each therefore calls no other.

Inside the layer: P. Kubelka and F. Munk, Z. tech. Phys. 12 (1931) 593; the hyperbolic form
P. Kubelka, J. Opt. Soc. Am. 38 (1948) 448 (both from memory).  From inside a glossy surface to
outside and back: J. L. Saunderson, J. Opt. Soc. Am. 32 (1942) 727, in the form of E. Allen,
"Colorant formulation and shading", in Grum and Bartleson (eds.), Optical Radiation Measurements,
vol. 2 (1980), eq. 26.
"""

from __future__ import annotations

import math
from typing import Final

INNER: Final = 0.6
"""Share of diffuse light the surface throws back inside (Allen 1980, p. 308, theory; 0.4 to 0.6 in
use; a swatch measured wet and dry replaces it)."""

_DARKEST = 1e-4
_LIGHTEST = 1.0 - 1e-6


def absorption_ratio(reflectance: float) -> float:
    """Return K/S of an opaque layer: (1 - R)^2 / (2 R)."""
    inside = min(_LIGHTEST, max(_DARKEST, reflectance))
    return (1.0 - inside) ** 2 / (2.0 * inside)


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


def beneath(seen: float, inner: float = INNER) -> float:
    """Return the reflectance inside a glossy layer from the one seen outside, away from the mirror.

    ``seen`` is read beside a white card under the same gloss, which counts as 1: what the surface
    throws back before any light goes in is then left out, and what it lets through cancels, so
    that seen = (1 - inner) R / (1 - inner R).  With ``inner`` 0 (a sanded, dull surface) nothing
    changes.
    """
    return seen / (1.0 - inner + inner * seen)


def above(internal: float, inner: float = INNER) -> float:
    """Return what is seen outside a glossy layer, away from the mirror: ``beneath`` backwards."""
    return (1.0 - inner) * internal / (1.0 - inner * internal)
