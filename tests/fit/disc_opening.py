"""The opening of a region by a disc, reckoned another way than the product's.

No offsets: the outline is swept by a disc, edge by edge, and what it covers is taken off; then the
outline of the rest is swept, and what that covers is put back.  For a convex outline there is a
closed form (Steiner, 1840: a body grown by r gains its outline times r and a disc of r).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

CHORDS = 24
"""Chords of a quarter turn, their corners so far out that they enclose what the arc would."""

SPECK_MM2 = 1e-6

HAIR_MM = 0.0025
"""What is thinner on the whole is the rounding of a flattened curve's corners."""


def _stadiums(shape: BaseGeometry, radius: float) -> BaseGeometry:
    """Return what a disc covers on its way along every edge of an outline."""
    turn = np.linspace(-math.pi / 2, math.pi / 2, 2 * CHORDS + 1)
    step = math.pi / (2 * CHORDS)
    cap = radius * math.sqrt(step / math.sin(step)) * np.column_stack((np.cos(turn), np.sin(turn)))
    cap[0], cap[-1] = (0.0, -radius), (0.0, radius)
    covered = []
    for ring in shapely.get_rings(shapely.get_parts(shape)):
        points = shapely.get_coordinates(ring)
        for start, end in pairwise(points):
            way = end - start
            length = math.hypot(*way)
            if length == 0.0:
                continue
            cos, sin = way / length
            turned = np.array([[cos, sin], [-sin, cos]])
            covered.append(Polygon(np.concatenate((cap @ turned + end, -cap @ turned + start))))
    return shapely.union_all(covered)


def lost_by_sweeping(region: MultiPolygon, radius: float) -> float:
    """Return the area, in mm2, that a disc kept inside the region cannot cover."""
    left = shapely.get_parts(shapely.difference(region, _stadiums(region, radius)))
    # what is left between two stadiums by the last decimal is no room
    room = shapely.union_all([part for part in left if part.area > SPECK_MM2])
    if room.is_empty:
        return float(region.area)
    lost = shapely.difference(region, shapely.union(room, _stadiums(room, radius)))
    # on the grid the hairs along the walls, as thin as the last decimal, are gone
    lost = shapely.set_precision(lost, 1e-5)
    return sum(
        part.area
        for part in shapely.get_parts(lost)
        if isinstance(part, Polygon) and 2.0 * part.area > HAIR_MM * part.length
    )


def lost_by_steiner(corners: np.ndarray[tuple[int, int], np.dtype[np.float64]], r: float) -> float:
    """Return the same of a convex outline (n, 2), left about, by half-planes and Steiner's form."""
    room = [tuple(corner) for corner in corners]
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        way = (b - a) / math.hypot(*(b - a))
        inward = np.array([-way[1], way[0]])
        room = _half(room, a + r * inward, inward)
    whole = _area(corners)
    if len(room) < 3:
        return whole
    inner = np.array(room)
    around = float(np.hypot(*(inner - np.roll(inner, -1, axis=0)).T).sum())
    return whole - (_area(inner) + around * r + math.pi * r * r)


def _area(points: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> float:
    x, y = points.T
    return float(0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def _half(
    points: list[tuple[float, ...]],
    at: np.ndarray[tuple[int], np.dtype[np.float64]],
    inward: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> list[tuple[float, ...]]:
    """Return the part of a convex outline on the inner side of a line."""
    kept: list[tuple[float, ...]] = []
    for a, b in zip(points, [*points[1:], *points[:1]], strict=True):
        here = float((np.array(a) - at) @ inward)
        there = float((np.array(b) - at) @ inward)
        if here >= 0.0:
            kept.append(a)
        if here * there < 0.0:
            share = here / (here - there)
            kept.append(tuple(np.array(a) + share * (np.array(b) - np.array(a))))
    return kept
