"""Contours as they were drawn: lines, Bezier curves and arcs, before they become chords.

They stay exact through every affine map, so that the one flattening happens in mm at the end and
its bound holds on the finished artwork.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from flushwork.art.placement import Affine
from flushwork.kernels.outlines import Points, arc_points, bezier_points


@dataclass(frozen=True, slots=True)
class Bezier:
    """A line or a curve of degree 2 or 3; ``controls`` (2 to 4, 2) with both ends."""

    controls: Points

    @property
    def end(self) -> Points:
        """Where it ends, (2,)."""
        end: Points = self.controls[-1]
        return end

    def mapped(self, affine: Affine) -> Bezier:
        """Return its image."""
        return Bezier(affine.apply(self.controls))

    def points(self, tolerance: float) -> Points:
        """Return points on it within ``tolerance``, its start left out."""
        return bezier_points(self.controls, tolerance)


@dataclass(frozen=True, slots=True)
class Arc:
    """centre + cos(t) axes[0] + sin(t) axes[1], t from ``start_rad`` through ``sweep_rad``."""

    centre: Points
    axes: Points
    start_rad: float
    sweep_rad: float

    @property
    def end(self) -> Points:
        """Where it ends, (2,)."""
        angle_rad = self.start_rad + self.sweep_rad
        end: Points = (
            self.centre + math.cos(angle_rad) * self.axes[0] + math.sin(angle_rad) * self.axes[1]
        )
        return end

    def mapped(self, affine: Affine) -> Arc:
        """Return its image, which is again such an arc."""
        return Arc(
            affine.apply(self.centre[None, :])[0],
            affine.apply_directions(self.axes),
            self.start_rad,
            self.sweep_rad,
        )

    def points(self, tolerance: float) -> Points:
        """Return points on it within ``tolerance``, its start left out."""
        return arc_points(self.centre, self.axes, self.start_rad, self.sweep_rad, tolerance)


Piece = Bezier | Arc


@dataclass(frozen=True, slots=True)
class Contour:
    """A run of pieces from ``start`` (2,); ``closed`` where the drawing closes it itself."""

    start: Points
    pieces: tuple[Piece, ...]
    closed: bool

    def mapped(self, affine: Affine) -> Contour:
        """Return its image."""
        return Contour(
            affine.apply(self.start[None, :])[0],
            tuple(piece.mapped(affine) for piece in self.pieces),
            self.closed,
        )

    def points(self, tolerance: float) -> Points:
        """Return the chords' corners (n, 2), each once in a row; a closed run ends at its start."""
        runs = [self.start[None, :], *(piece.points(tolerance) for piece in self.pieces)]
        if self.closed:
            runs.append(self.start[None, :])
        found = np.concatenate(runs)
        keep = np.ones(len(found), dtype=bool)
        keep[1:] = np.any(found[1:] != found[:-1], axis=1)
        return found[keep]


def point(x: float, y: float) -> Points:
    """Return a point as an array (2,)."""
    return np.array([x, y], dtype=np.float64)


def line(start: Points, end: Points) -> Bezier:
    """Return a straight piece."""
    return Bezier(np.stack([start, end]))


def polyline(points: Points, *, closed: bool) -> Contour:
    """Return straight pieces through points (n, 2)."""
    pieces = tuple(line(points[i], points[i + 1]) for i in range(len(points) - 1))
    return Contour(points[0], pieces, closed)


def ellipse(x: float, y: float, radius_x: float, radius_y: float) -> Contour:
    """Return a whole ellipse, counter-clockwise where y points up."""
    axes = np.array([[radius_x, 0.0], [0.0, radius_y]])
    arc = Arc(point(x, y), axes, 0.0, 2.0 * math.pi)
    return Contour(point(x + radius_x, y), (arc,), closed=True)


def rounded_rectangle(
    x: float, y: float, width: float, height: float, *, radius_x: float, radius_y: float
) -> Contour:
    """Return a rectangle from its corner of least x and y, its corners quarter ellipses."""
    if radius_x <= 0.0 or radius_y <= 0.0:
        corners = [[x, y], [x + width, y], [x + width, y + height], [x, y + height]]
        return polyline(np.array(corners, dtype=np.float64), closed=True)
    axes = np.array([[radius_x, 0.0], [0.0, radius_y]])
    centres = (
        (x + width - radius_x, y + radius_y),
        (x + width - radius_x, y + height - radius_y),
        (x + radius_x, y + height - radius_y),
        (x + radius_x, y + radius_y),
    )
    start = point(x + radius_x, y)
    pieces: list[Piece] = []
    at = start
    for quarter, (centre_x, centre_y) in enumerate(centres):
        angle_rad = (quarter - 1) * math.pi / 2.0
        arc = Arc(point(centre_x, centre_y), axes, angle_rad, math.pi / 2.0)
        begin = arc.centre + math.cos(angle_rad) * axes[0] + math.sin(angle_rad) * axes[1]
        pieces += [line(at, begin), arc]
        at = arc.end
    return Contour(start, tuple(pieces), closed=True)
