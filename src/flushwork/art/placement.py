"""Where artwork goes on a face: anchors, mirror, scale, turn, move, copies.

Plane affine maps: how artwork is moved, turned, scaled and mirrored.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, MultiPolygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Box, Shapes
from flushwork.art.regions import CROSSING_MM2, many, many_lines, united
from flushwork.job.records import Placement
from flushwork.runtime.memo import memoized


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


_SHARES: Final = {
    "centre": (0.5, 0.5),
    "lower left": (0.0, 0.0),
    "lower right": (1.0, 0.0),
    "upper left": (0.0, 1.0),
    "upper right": (1.0, 1.0),
    "left": (0.0, 0.5),
    "right": (1.0, 0.5),
    "top": (0.5, 1.0),
    "bottom": (0.5, 0.0),
}
MIRRORS: Final = {
    "": Affine(),
    "left-right": scaling(-1.0, 1.0),
    "top-bottom": scaling(1.0, -1.0),
}


def anchor_point(box: Box, anchor: str) -> tuple[float, float]:
    """Return the place of a box that an anchor names."""
    share_x, share_y = _SHARES[anchor]
    return box[0] + share_x * (box[2] - box[0]), box[1] + share_y * (box[3] - box[1])


def placed_maps(placement: Placement, own: Box, onto: Box) -> tuple[Affine, ...]:
    """Return the maps of artwork onto a face, one for each copy.

    ``own`` is the artwork's box in its own frame (an empty box at its origin where it goes as
    drawn), ``onto`` the box of the trim line.  The artwork is mirrored and scaled; the anchor point
    of its box as it then lies is what it turns about and what lands on the anchor of ``onto`` plus
    the offset.  The grid of copies goes right and up from there; ``around`` turns all of it evenly
    about the anchor of ``onto``.
    """
    upright = scaling(placement.scale, placement.scale).after(MIRRORS[placement.mirror])
    corners = [
        (upright.a * x + upright.e, upright.d * y + upright.f)
        for x, y in ((own[0], own[1]), (own[2], own[3]))
    ]
    lying = (
        min(corners[0][0], corners[1][0]),
        min(corners[0][1], corners[1][1]),
        max(corners[0][0], corners[1][0]),
        max(corners[0][1], corners[1][1]),
    )
    pivot_x, pivot_y = anchor_point(lying, placement.anchor)
    turned = turning(placement.turn_rad).after(upright.moved(-pivot_x, -pivot_y))
    from_x, from_y = anchor_point(onto, placement.anchor)
    maps = [
        turned.moved(
            placement.x_mm + column * placement.pitch_x_mm,
            placement.y_mm + row * placement.pitch_y_mm,
        )
        for row, column in itertools.product(range(placement.rows), range(placement.columns))
    ]
    return tuple(
        turning(2.0 * math.pi * turn / placement.around).after(each).moved(from_x, from_y)
        for turn in range(placement.around)
        for each in maps
    )


def bounding_box(shapes: Shapes) -> Box:
    """Return the outermost box of region and strokes."""
    boxes: list[Box] = [
        part.bounds for part in (shapes.region, shapes.strokes) if not part.is_empty
    ]
    if not boxes:
        return shapes.frame
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


@memoized
def place(shapes: Shapes, placement: Placement, onto: Box) -> Shapes:
    """Return artwork where it goes on the face; copies that overlap are united."""
    own = shapes.frame if placement.as_drawn else shapes.extent or bounding_box(shapes)
    maps = placed_maps(placement, own, onto)
    regions = [_mapped(shapes.region, each) for each in maps]
    lines = [part for each in maps for part in many_lines(_mapped(shapes.strokes, each)).geoms]
    region = many(regions[0]) if len(regions) == 1 else united(regions)
    return Shapes(region, MultiLineString(lines), shapes.frame, shapes.warnings)


def _mapped(shape: BaseGeometry, affine: Affine) -> BaseGeometry:
    mapped: BaseGeometry = affine_transform(shape, affine.numbers)
    if shapely.is_valid(mapped):
        return mapped
    # rounded after the map, a spur thinner than a millionth of a mm may cross itself
    parts = shapely.get_parts(many(shapely.make_valid(mapped)))
    return MultiPolygon([part for part in parts if part.area > CROSSING_MM2])
