"""From the light inside a glossy resin to the light outside it, and back.

J. L. Saunderson, J. Opt. Soc. Am. 32 (1942) 727, in the form of E. Allen, "Colorant formulation and
shading", in Grum and Bartleson (eds.), Optical Radiation Measurements, vol. 2 (1980), eq. 26.
"""

from __future__ import annotations

from typing import Final

INNER: Final = 0.6
"""Share of diffuse light the surface throws back inside (Allen 1980, p. 308, theory; 0.4 to 0.6 in
use; a swatch measured wet and dry replaces it)."""


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
