"""How surely a line cut in a later setup hides the edge it follows.

The line covers its edge while n . (t + turn J (p - c) + growth) stays within half its width less
the blur of the old edge (n across the line, t the shift of the setup, c its middle, J a quarter
turn).  With normal variations the left side is normal too, so the odds at one place are closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf
from statistics import NormalDist
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString

EDGE_BLUR_MM: Final = 0.05
"""How far a sanded edge of old colour deviates from where it was cut (assumed, 0.02 to 0.1 mm; a
seam test strip under a loupe replaces it)."""

STEP_MM: Final = 2.0
"""Places along a seam are this far apart at most."""

_STANDARD: Final = NormalDist()


@dataclass(frozen=True, slots=True)
class Repeatability:
    """How well a setup comes back: standard deviations of shift (each way) and of turn.

    ``middle_mm`` is the point it turns about.
    """

    shift_mm: float
    turn_rad: float
    middle_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SeamPlaces:
    """Places along a seam, (n, 2), the unit normals across it there, (n, 2)."""

    at_mm: NDArray[np.float64]
    across: NDArray[np.float64]


def two_sided(margin_mm: float, variation_mm: float, offset_mm: float = 0.0) -> float:
    """Return P(|N(offset, variation)| < margin): 2 Phi(m / s) - 1 without an offset."""
    if margin_mm <= 0.0:
        return 0.0
    if variation_mm <= 0.0:
        return 1.0 if abs(offset_mm) < margin_mm else 0.0
    upper = _STANDARD.cdf((margin_mm - offset_mm) / variation_mm)
    return upper - _STANDARD.cdf((-margin_mm - offset_mm) / variation_mm)


def margin_mm(width_mm: float, blur_mm: float = EDGE_BLUR_MM) -> float:
    """Return how far a line of a width may deviate and still cover its edge."""
    return width_mm / 2.0 - blur_mm


def variation_at_mm(
    setup: Repeatability, at_mm: tuple[float, float], across: NDArray[np.float64]
) -> float:
    """Return the standard deviation of the deviation across a line at one place.

    sqrt(s^2 + (turn n . J (p - c))^2), J (x, y) = (-y, x).
    """
    x_mm, y_mm = at_mm[0] - setup.middle_mm[0], at_mm[1] - setup.middle_mm[1]
    arm_mm = -across[0] * y_mm + across[1] * x_mm
    return hypot(setup.shift_mm, setup.turn_rad * float(arm_mm))


def places_along(lines: MultiLineString, step_mm: float = STEP_MM) -> SeamPlaces:
    """Return places along lines, one in the middle of each stretch of at most ``step_mm``."""
    points: list[NDArray[np.float64]] = []
    normals: list[NDArray[np.float64]] = []
    for line in lines.geoms:
        dense = shapely.get_coordinates(shapely.segmentize(line, step_mm))
        run = np.diff(dense, axis=0)
        length = np.hypot(run[:, 0], run[:, 1])
        kept = length > 1e-9
        points.append(((dense[:-1] + dense[1:]) / 2.0)[kept])
        normals.append(np.column_stack([-run[kept, 1], run[kept, 0]]) / length[kept, np.newaxis])
    if not points:
        return SeamPlaces(np.empty((0, 2)), np.empty((0, 2)))
    return SeamPlaces(np.concatenate(points), np.concatenate(normals))


def weakest(
    places: SeamPlaces, growth_mm: NDArray[np.float64], setup: Repeatability, margin: float
) -> tuple[int, float]:
    """Return the place with the least odds of cover, and those odds.

    ``growth_mm`` (n,) is the known deviation across the line at each place.
    """
    least = (0, inf)
    for index in range(len(places.at_mm)):
        at = (float(places.at_mm[index, 0]), float(places.at_mm[index, 1]))
        variation = variation_at_mm(setup, at, places.across[index])
        odds = two_sided(margin, variation, float(growth_mm[index]))
        if odds < least[1]:
            least = (index, odds)
    return least
