"""Seam lines: fine lines along the edges of inlays."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import shapely
from shapely import MultiLineString, MultiPolygon

from flushwork.findings import Source
from flushwork.geometry.adjacency import each_once, merged, parted, shared_edges
from flushwork.geometry.faults import Faults, listed, refusal
from flushwork.geometry.offsets import stroked
from flushwork.geometry.regions import many
from flushwork.geometry.shapes import Shapes
from flushwork.job.records import Seam


def draw_seam(
    seam: Seam, regions: Mapping[str, MultiPolygon], visible: MultiPolygon, source: Source
) -> Shapes:
    """Return a seam line: its centre lines, each edge once, and the region it covers.

    ``regions`` holds the inlays of the face by name; edges outside ``visible``, or along its own
    boundary, are left out.  The region is what a round cutter makes along the lines (round outer
    corners and ends), cut off flat at the boundary of ``visible``.

    Raises JobRefusedError where an inlay is not there or has no area, or no edge is left.
    """
    _check(seam, regions, source)
    along = [regions[name] for name in seam.along]
    if seam.shared_only:
        edges = each_once([shared_edges(a, b) for a, b in itertools.combinations(along, 2)])
    else:
        edges = each_once([region.boundary for region in along])
    lines = _in_sight(edges, visible)
    if lines.is_empty:
        what = "share no edge" if seam.shared_only and edges.is_empty else "have no edge in sight"
        raise refusal(
            source,
            "seam-without-edge",
            f"{listed(seam.along)} {what}, so the seam line has nowhere to run",
            "name inlays that touch; with `edges: all` the line runs around each of them",
        )
    region = stroked(list(lines.geoms), seam.width_mm)
    return Shapes(region=many(region.intersection(visible)), strokes=lines)


def _check(seam: Seam, regions: Mapping[str, MultiPolygon], source: Source) -> None:
    faults = Faults()
    for name in seam.along:
        if name not in regions:
            faults.add(
                source,
                "seam-along-unknown",
                f"the seam line runs along '{name}', which is no inlay of this face; "
                f"there are {listed(regions) or 'none'}",
                "mend the name, or move the seam line to the other face",
            )
        elif regions[name].is_empty:
            faults.add(
                source,
                "seam-along-bare-line",
                f"the seam line runs along '{name}', which is a line without a width",
                "give that line a width",
            )
    faults.refuse()


def _in_sight(edges: MultiLineString, visible: MultiPolygon) -> MultiLineString:
    """Return the edges inside ``visible``; what runs along its boundary has nothing beyond it."""
    inside = merged(edges.intersection(visible))
    if inside.is_empty:
        return inside
    _, rest = parted(inside, visible.boundary)
    return merged(shapely.union_all([rest]))
