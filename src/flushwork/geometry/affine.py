"""Plane affine maps: how artwork is moved, turned, scaled and mirrored."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Affine:
    """x' = a x + c y + e, y' = b x + d y + f; the order of the letters is SVG 2's ``matrix``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def after(self, first: Affine) -> Affine:
        """Return the map that does ``first``, then this one."""
        return Affine(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            self.a * first.e + self.c * first.f + self.e,
            self.b * first.e + self.d * first.f + self.f,
        )

    def moved(self, x_mm: float, y_mm: float) -> Affine:
        """Return this map, then a move."""
        return Affine(self.a, self.b, self.c, self.d, self.e + x_mm, self.f + y_mm)

    def apply(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Map points (n, 2)."""
        mapped: NDArray[np.float64] = self.apply_directions(points) + np.array([self.e, self.f])
        return mapped

    def apply_directions(self, vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        """Map vectors (n, 2): all but the move."""
        mapped: NDArray[np.float64] = vectors @ np.array([[self.a, self.b], [self.c, self.d]])
        return mapped

    @property
    def stretch(self) -> float:
        """The greatest factor by which the map lengthens anything."""
        return float(np.linalg.norm(np.array([[self.a, self.c], [self.b, self.d]]), ord=2))

    @property
    def determinant(self) -> float:
        """The factor of areas; negative where the map mirrors."""
        return self.a * self.d - self.b * self.c

    @property
    def numbers(self) -> tuple[float, float, float, float, float, float]:
        """The six numbers in the order ``shapely.affinity.affine_transform`` takes them."""
        return (self.a, self.c, self.b, self.d, self.e, self.f)

    @property
    def finite(self) -> bool:
        """Whether every number is finite."""
        return all(map(math.isfinite, self.numbers))


def scaling(factor_x: float, factor_y: float) -> Affine:
    """Return a scaling about the origin."""
    return Affine(a=factor_x, d=factor_y)


def turning(angle_rad: float) -> Affine:
    """Return a counter-clockwise turn about the origin (y up)."""
    cosine, sine = math.cos(angle_rad), math.sin(angle_rad)
    return Affine(cosine, sine, -sine, cosine)
