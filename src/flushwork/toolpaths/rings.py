"""Rings that clear a region: inward offsets as a tree, and what a wide step leaves between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from flushwork.fit.axis import axis_of
from flushwork.fit.discs import grow, polygons, shrink
from flushwork.fit.opening import LINE_MM
from flushwork.toolpaths.paths import Path, climbing_rings, lines_of

RING_MM: Final = 0.01
"""Bound of the inner rings; the wall itself is followed to a tenth of this."""

WALL_MM: Final = 0.001
"""Bound within which the wall's points are thinned."""

OVERLAP_MM: Final = 0.03
"""Two neighbouring passes share at least this much, so that no rounding leaves a hair between."""


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """One offset polygon: its paths, and the polygons of the next offset that lie inside it."""

    polygon: Polygon
    paths: tuple[Path, ...]
    inner: tuple[Ring, ...]


def wide_and_slots(centres: Polygon) -> tuple[MultiPolygon, tuple[Path, ...]]:
    """Part the places the axis may go into those with an area and mere lines (or points)."""
    least = 1.5 * LINE_MM
    wide = polygons(
        shapely.buffer(
            shapely.buffer(centres, -least, join_style="mitre"), least, join_style="mitre"
        )
    )
    slivers = polygons(
        shapely.difference(centres, shapely.buffer(wide, LINE_MM / 10.0, join_style="mitre")),
        LINE_MM * LINE_MM,
    )
    if slivers.is_empty:
        return wide, ()
    axis = axis_of(slivers, spur_mm=2.0 * LINE_MM)
    lines = shapely.line_merge(shapely.union_all(shapely.linestrings(axis.points[axis.edges, :2])))
    lines = shapely.simplify(lines, WALL_MM)
    paths = [path for path in lines_of(lines) if path.length_mm > 4.0 * LINE_MM]
    loose = np.setdiff1d(np.arange(len(axis.points)), axis.edges)
    dots = [Path(axis.points[k : k + 1, :2], closed=False) for k in loose]
    touches_wide = [bool(shapely.dwithin(wide, dot.line, 4.0 * LINE_MM)) for dot in dots]
    paths += [dot for dot, touches in zip(dots, touches_wide, strict=True) if not touches]
    return wide, tuple(paths)


def bulk_of(wide: MultiPolygon, leave_mm: float) -> MultiPolygon:
    """Return where the axis goes before the finish pass: ``leave_mm`` off the wall.

    Arms too narrow for that are kept whole, so that the finish pass never meets uncut stock.
    """
    core = shrink(wide, leave_mm, RING_MM)
    back = shapely.buffer(core, leave_mm + LINE_MM, join_style="mitre", mitre_limit=10.0)
    arms = polygons(shapely.difference(wide, back), LINE_MM)
    if arms.is_empty:
        return core
    joined = shapely.intersection(grow(arms, leave_mm + RING_MM, RING_MM), wide)
    return polygons(shapely.union(core, joined), LINE_MM * LINE_MM)


def rings_of(bulk: MultiPolygon, step_mm: float, radius_mm: float) -> tuple[Ring, ...]:
    """Return the rings that clear ``bulk``, a tree per polygon, each ``step_mm`` inside the last.

    Points further than ``radius_mm`` from a ring and from the next offset would stay standing;
    they get paths of their own.
    """
    return tuple(_ring(polygon, step_mm, radius_mm) for polygon in bulk.geoms)


def _ring(polygon: Polygon, step_mm: float, radius_mm: float) -> Ring:
    whole = MultiPolygon([polygon])
    inside = polygons(shapely.simplify(shrink(whole, step_mm, RING_MM), RING_MM / 2.0))
    paths = list(climbing_rings(polygon, WALL_MM))
    covers = radius_mm - OVERLAP_MM
    if step_mm > covers:
        paths = [*left_between(whole, inside, covers), *paths]
    return Ring(
        polygon=polygon,
        paths=tuple(paths),
        inner=tuple(_ring(part, step_mm, radius_mm) for part in inside.geoms),
    )


def left_between(outer: MultiPolygon, inner: MultiPolygon, covers_mm: float) -> tuple[Path, ...]:
    """Return paths over what rings around ``outer`` and all of ``inner`` leave between them."""
    left = shapely.difference(shrink(outer, covers_mm, RING_MM), grow(inner, covers_mm, RING_MM))
    parts = polygons(left, 1e-6)
    return tuple(path for part in parts.geoms for path in climbing_rings(part, 0.0))
