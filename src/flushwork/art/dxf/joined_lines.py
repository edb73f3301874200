"""Lines of a drawing joined to closed outlines, and what those enclose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, STRtree

from flushwork.art.regions import DUST_MM2, NOTHING, filled, many, united
from flushwork.kernels.outlines import Points

_HATCH_MM: Final = 0.02
"""A ring this close to the edge of a hatch is that edge: both are flattened to 0.005 mm."""


@dataclass(frozen=True, slots=True)
class JoinedLines:
    """Lines joined: closed rings and open runs, in mm, and how many were drawn twice."""

    rings: tuple[Points, ...]
    open: tuple[LineString, ...]
    twice: int


def joined_lines(runs: Sequence[Points], within_mm: float) -> JoinedLines:
    """Join lines whose ends meet to closed rings; what stays open is told apart."""
    snapped = _snapped([run for run in runs if len(run) > 1], within_mm)
    once: dict[bytes, Points] = {}
    for run in snapped:
        rounded = np.round(run, 4) + 0.0
        ring = bool((run[0] == run[-1]).all())
        key = _ring_key(rounded) if ring else min(rounded.tobytes(), rounded[::-1].tobytes())
        once.setdefault(key, run)
    kept = list(once.values())
    rings = [run for run in kept if len(run) > 3 and (run[0] == run[-1]).all()]
    loose = [LineString(run) for run in kept if not (run[0] == run[-1]).all()]
    chains: list[LineString] = []
    if loose:
        merged = shapely.get_parts(shapely.line_merge(MultiLineString(loose)))
        chains = [run for run in merged if isinstance(run, LineString)]
    rings += [shapely.get_coordinates(run) for run in chains if run.is_closed]
    left = [run for run in chains if not run.is_closed]
    if left:
        # three lines and more that meet in a point are the shared edges of several outlines
        faces, cuts, dangles, invalid = (
            shapely.get_parts(each) for each in shapely.polygonize_full(left)
        )
        rings += [shapely.get_coordinates(face.exterior) for face in faces]
        left = [run for each in (cuts, dangles, invalid) for run in each if run.length > 0.0]
    return JoinedLines(tuple(rings), tuple(left), len(snapped) - len(kept))


def _ring_key(ring: Points) -> bytes:
    """Return what two rings through the same points have in common, wherever they begin."""
    points = np.unique(ring, axis=0)
    return b"ring" + points.tobytes()


def _snapped(runs: list[Points], within_mm: float) -> list[Points]:
    """Put ends that lie within a distance of one another on one place."""
    if not runs:
        return []
    ends = np.concatenate([run[[0, -1]] for run in runs])
    places = np.array(shapely.points(ends), dtype=object)
    tree = STRtree(places)
    pairs = tree.query(places, predicate="dwithin", distance=max(within_mm, 1e-9))
    first = np.arange(len(ends))
    # each end goes to the earliest one near it, and that one's again, until nothing changes
    np.minimum.at(first, pairs[0], pairs[1])
    while (first != first[first]).any():
        first = first[first]
    snapped: list[Points] = []
    for index, run in enumerate(runs):
        moved = run.copy()
        moved[0], moved[-1] = ends[first[2 * index]], ends[first[2 * index + 1]]
        keep = np.ones(len(moved), dtype=bool)
        keep[1:] = np.any(moved[1:] != moved[:-1], axis=1)
        if keep.sum() > 1:
            snapped.append(moved[keep])
    return snapped


def enclosed(rings: Sequence[Points], hatched: Sequence[MultiPolygon]) -> MultiPolygon:
    """Return what rings enclose: one that lies in another is a hole in it, the next wood again.

    Rings that lie on the edge of a hatch only repeat it.
    """
    edges = shapely.union_all([area.boundary for area in hatched]) if hatched else None
    areas = [many(filled([ring])) for ring in rings]
    areas = [area for area in areas if not area.is_empty]
    if edges is not None and not edges.is_empty:
        shapely.prepare(near := edges.buffer(_HATCH_MM))
        areas = [area for area in areas if not near.contains(area.boundary)]
    areas.sort(key=lambda area: -area.area)
    if not areas:
        return NOTHING
    inner_places = np.array([area.representative_point() for area in areas], dtype=object)
    tree = STRtree(inner_places)
    depth = np.zeros(len(areas), dtype=int)
    for index, area in enumerate(areas):
        inside = tree.query(area, predicate="contains")
        inner = [each for each in inside if each > index and _within(areas[each], area)]
        depth[inner] += 1
    region: MultiPolygon = NOTHING
    for level in range(int(depth.max()) + 1):
        layer = united([area for area, deep in zip(areas, depth, strict=True) if deep == level])
        region = many(region.difference(layer)) if level % 2 else united([region, layer])
    return region


def _within(inner: MultiPolygon, outer: MultiPolygon) -> bool:
    return bool(inner.difference(outer).area <= DUST_MM2 + 1e-6 * inner.area)
