"""A path: the points the bit's axis follows at one height."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import dist

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.toolpaths.track import Floats, Place2


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Points (n, 2), or (n, 3) with heights, in mm; a ``closed`` path ends where it begins.

    ``free`` says that the bit touches no stock at its start; ``either`` that an open path may
    be run from either end; ``inner`` that it leaves no wall, so that it may be followed roughly.
    """

    points: Floats
    closed: bool
    free: bool = False
    either: bool = False
    inner: bool = False

    @property
    def start(self) -> Place2:
        """Return the first point."""
        return float(self.points[0, 0]), float(self.points[0, 1])

    @property
    def end(self) -> Place2:
        """Return the last point."""
        return float(self.points[-1, 0]), float(self.points[-1, 1])

    @property
    def length_mm(self) -> float:
        """Return the length of the way."""
        return float(np.hypot(*np.diff(self.points[:, :2], axis=0).T).sum())

    def at(self, height_mm: float) -> Floats:
        """Return the points after the first as places (n, 3) at one height."""
        points = self.points[1:, :2]
        return np.column_stack((points, np.full(len(points), height_mm)))

    @property
    def line(self) -> LineString:
        """Return the path as a line; a single point as a line of no length."""
        return LineString(self.points if len(self.points) > 1 else np.repeat(self.points, 2, 0))

    def from_nearest(self, place: Place2) -> Path:
        """Return the path begun as near to ``place`` as it may be."""
        if not self.closed:
            return self if dist(self.start, place) <= self.away(place) else self.reversed()
        k = int(np.argmin(self._away(place)[:-1]))
        body = self.points[:-1]
        turned = np.concatenate((body[k:], body[:k], body[k : k + 1]))
        return replace(self, points=turned)

    def away(self, place: Place2) -> float:
        """Return how far the nearest possible start lies from ``place``."""
        if self.closed:
            return float(self._away(place).min())
        first = dist(self.start, place)
        return min(first, dist(self.end, place)) if self.either else first

    def reversed(self) -> Path:
        """Return the path run the other way."""
        return replace(self, points=self.points[::-1], free=False)

    def _away(self, place: Place2) -> Floats:
        gaps = self.points[:, :2] - np.asarray(place)
        return np.asarray(np.hypot(gaps[:, 0], gaps[:, 1]))


def climbing_rings(polygon: Polygon, simplify_mm: float) -> Iterator[Path]:
    """Yield the rings of ``polygon`` so that what lies outside it is on the bit's right.

    With a spindle that turns clockwise seen from above this is climb cutting: the outer ring runs
    counter-clockwise, rings around islands clockwise.
    """
    for ring in shapely.get_rings(shapely.orient_polygons(polygon)):
        points = shapely.get_coordinates(shapely.simplify(ring, simplify_mm))
        if len(points) >= 4:
            yield Path(points, closed=True)


def lines_of(geometry: BaseGeometry) -> Iterator[Path]:
    """Yield the lines in ``geometry`` as paths."""
    for part in shapely.get_parts(geometry):
        if isinstance(part, LineString) and not part.is_empty:
            yield Path(shapely.get_coordinates(part), closed=part.is_closed, either=True)


def pop_nearest(paths: list[Path], place: Place2) -> Path:
    """Take the path with the nearest start out of ``paths``, begun there; ties go to the first."""
    k = min(range(len(paths)), key=lambda k: (paths[k].away(place), k))
    return paths.pop(k).from_nearest(place)


def swept(paths: Iterable[Path], radius_mm: float) -> BaseGeometry:
    """Return what a disc of ``radius_mm`` covers along ``paths``, from inside within 0.1 %."""
    return shapely.buffer(
        shapely.MultiLineString([path.line for path in paths]), radius_mm, quad_segs=18
    )


def way(points: Floats) -> Floats:
    """Return the length of way from the first point to each, (n,)."""
    return np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))))


def begun_at(ring: Floats, place_mm: float) -> Floats:
    """Return a closed ring (n, 2) begun ``place_mm`` along its way."""
    along = way(ring)
    place_mm %= float(along[-1])
    k = min(int(np.searchsorted(along, place_mm, side="right")) - 1, len(ring) - 2)
    share = (place_mm - along[k]) / (along[k + 1] - along[k])
    start = ring[k : k + 1] + share * (ring[k + 1 : k + 2] - ring[k : k + 1])
    body = np.concatenate((start, ring[k + 1 : -1], ring[: k + 1], start))
    moved = np.hypot(*np.diff(body, axis=0).T) > 1e-6
    return np.concatenate((body[:1], body[1:][moved]))
