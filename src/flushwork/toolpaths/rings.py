"""Rings that clear a region: inward offsets as a tree, and what a wide step leaves between them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.axis import axis_of
from flushwork.fit.discs import LINE_MM, grow, polygons, shrink
from flushwork.runtime.memo import memoized
from flushwork.toolpaths.paths import Path, climbing_rings, lines_of

RING_MM: Final = 0.01
"""Bound of the inner rings; half of it for their offset, half for thinning their points."""

ROUND_MM: Final = 0.001
"""Bound of the inner rings' own corners: chords so short that even a small corner is known for an
arc again, which then is one line of a cut file."""

SLOT_MM: Final = 0.003
"""A room for the axis no wider than twice this is a line: run once along its middle, the cutter
stays less short of either wall than flattened curves lie off those that were drawn."""

WALL_MM: Final = 0.002
"""Bound within which the wall's points are thinned."""

OVERLAP_MM: Final = 0.03
"""Two neighbouring passes share at least this much, so that no rounding leaves a hair between."""


_ABOUT_ARM: Final = 8.0
"""The middle of an arm is sought with this much around it, in widths of what is left for the wall:
an arm is at most two of them wide, so where it is cut off no longer matters to its middle."""


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """One offset polygon: its paths, and the polygons of the next offset that lie inside it."""

    polygon: Polygon
    paths: tuple[Path, ...]
    inner: tuple[Ring, ...]


@memoized
def wide_and_slots(centres: Polygon) -> tuple[MultiPolygon, tuple[Path, ...]]:
    """Part the places the axis may go into those with an area and mere lines (or points)."""
    wide = _opened(centres, SLOT_MM)
    slivers = shapely.difference(centres, _mitred(wide, LINE_MM / 10.0))
    lines, dots = _middles(polygons(slivers, LINE_MM * LINE_MM), 2.0 * LINE_MM)
    kept = [path for path in lines if path.length_mm > 4.0 * SLOT_MM]
    dots += [_middle(path) for path in lines if path.length_mm <= 4.0 * SLOT_MM]
    about = [wide, *(path.line for path in kept)]
    for dot in dots:
        if not any(shapely.dwithin(dot.line, each, 4.0 * SLOT_MM) for each in about):
            kept.append(dot)
            about.append(dot.line)
    return wide, tuple(kept)


@memoized
def bulk_of(wide: MultiPolygon, leave_mm: float) -> tuple[MultiPolygon, tuple[Path, ...]]:
    """Return where the axis goes before the finish pass: areas for rings, and lines.

    The areas keep ``leave_mm`` off the wall.  An arm too narrow for rings there is run along its
    middle, so that the finish pass has at most twice ``leave_mm`` to take on either side of it.
    """
    fat = _opened(shrink(wide, leave_mm, ROUND_MM), leave_mm)
    arms = polygons(
        shapely.difference(wide, _mitred(fat, leave_mm + LINE_MM)), leave_mm * leave_mm / 2.0
    )
    whole = [part for part in wide.geoms if not shapely.intersects(part, fat)]
    if arms.is_empty and not whole:
        return fat, ()
    near = shapely.union_all([shapely.buffer(arms, 2.0 * leave_mm), *whole])
    about = shapely.buffer(
        shapely.simplify(near, leave_mm / 2.0), _ABOUT_ARM * leave_mm, quad_segs=2
    )
    narrow = shapely.intersection(shapely.simplify(wide, WALL_MM), about)
    lines, dots = _middles(polygons(narrow), leave_mm / 2.0)
    outside = shapely.difference(shapely.MultiLineString([path.line for path in lines]), fat)
    parts = [*lines_of(shapely.intersection(outside, near)), *dots]
    paths = [
        path
        for path in parts
        if path.length_mm > 2.0 * leave_mm or not shapely.dwithin(fat, path.line, leave_mm)
    ]
    return fat, tuple(paths)


def _opened(region: BaseGeometry, half_mm: float) -> MultiPolygon:
    """Return ``region`` without what is narrower than twice ``half_mm``, its corners kept."""
    opened = _mitred(_mitred(region, -half_mm), half_mm)
    return polygons(shapely.intersection(opened, region), half_mm * half_mm)


def _mitred(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    return shapely.buffer(region, distance_mm, join_style="mitre", mitre_limit=10.0)


def _middle(path: Path) -> Path:
    """Return the place half way along a path that is too short to be one."""
    half = path.line.interpolate(0.5, normalized=True)
    return Path(np.array([[half.x, half.y]]), closed=False)


def _middles(narrow: MultiPolygon, spur_mm: float) -> tuple[list[Path], list[Path]]:
    """Return the middle lines of narrow areas, and the middles of those that have only a point."""
    if narrow.is_empty:
        return [], []
    axis = axis_of(narrow, spur_mm)
    lines = shapely.line_merge(shapely.union_all(shapely.linestrings(axis.points[axis.edges, :2])))
    loose = np.setdiff1d(np.arange(len(axis.points)), axis.edges)
    dots = [Path(axis.points[k : k + 1, :2], closed=False) for k in loose]
    return list(lines_of(shapely.simplify(lines, WALL_MM))), dots


@memoized
def rings_of(bulk: MultiPolygon, step_mm: float, radius_mm: float) -> tuple[Ring, ...]:
    """Return the rings that clear ``bulk``, a tree per polygon, each ``step_mm`` inside the last.

    Points further than ``radius_mm`` from a ring and from the next offset would stay standing;
    they get paths of their own.
    """
    return tuple(_ring(polygon, step_mm, radius_mm) for polygon in bulk.geoms)


def _ring(polygon: Polygon, step_mm: float, radius_mm: float) -> Ring:
    whole = MultiPolygon([polygon])
    inside = shrink(whole, step_mm, ROUND_MM)
    paths = list(climbing_rings(polygon, ROUND_MM))
    covers = radius_mm - OVERLAP_MM
    if step_mm > covers:
        paths = [*left_between(whole, inside, covers), *paths]
    return Ring(
        polygon=polygon,
        paths=tuple(replace(path, inner=True) for path in paths),
        inner=tuple(_ring(part, step_mm, radius_mm) for part in inside.geoms),
    )


def left_between(outer: MultiPolygon, inner: MultiPolygon, covers_mm: float) -> tuple[Path, ...]:
    """Return paths over what rings around ``outer`` and all of ``inner`` leave between them."""
    left = shapely.difference(shrink(outer, covers_mm, RING_MM), grow(inner, covers_mm, RING_MM))
    parts = polygons(left, 1e-6)
    return tuple(path for part in parts.geoms for path in climbing_rings(part, 0.0))
