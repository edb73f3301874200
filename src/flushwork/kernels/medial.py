"""The medial axis of closed rings: where two places of the outline are equally near.

The Voronoi diagram of the outline's segments (Held, *On the Computational Geometry of Pocket
Machining*, LNCS 500, 1991) is built on a grid of whole numbers; of its edges those inside are
kept that part two different pieces of the outline.

How much each branch of a medial axis matters: the grassfire that runs in from its ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Final

import numpy as np
import pyvoronoi
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

GRID_PER_MM: Final = 10_000
"""Grid lines per mm; places are exact to 1e-4 mm and boards up to 200 m fit 32 bits."""

SEGMENT_START: Final = 1
"""The diagram's mark of a cell that belongs to the first end of a segment (not the last)."""


@dataclass(frozen=True, slots=True)
class _Diagram:
    """The diagram as arrays: segments, the cells' sources, finite edges as vertex and cell pairs.

    ``vertices`` (v, 2); ``edges`` (e, 4): from vertex, to vertex, cell on one side, on the other.
    """

    starts: Floats
    ends: Floats
    site: Ints
    is_segment: Flags
    corner: Floats
    vertices: Floats
    edges: Ints


def medial_axis(rings: Sequence[Floats], chord_mm: float) -> tuple[Floats, Ints]:
    """Return the medial axis inside closed rings as points and edges between them.

    ``rings`` are (n, 2) arrays in mm, first point not repeated, on the grid of 1e-4 mm, not
    crossing, with the inside on the left.  Curved pieces (between a corner and a wall, or two
    corners) are split so that between the points given the distance from the outline is linear
    within ``chord_mm``.

    Returns ``points`` (m, 3): x, y and the radius of the largest disc that fits there; and
    ``edges`` (k, 2) of row numbers.  Both are empty for no ring.
    """
    outline = [ring for ring in rings if len(ring) >= 3]
    if not outline:
        return np.zeros((0, 3)), np.zeros((0, 2), dtype=np.int64)
    diagram = _diagram(outline)
    edges = diagram.edges[_inside(diagram)]
    used, numbers = np.unique(edges[:, :2], return_inverse=True)
    ends = numbers.reshape(-1, 2)
    cell = np.zeros(len(diagram.vertices), dtype=np.int64)
    cell[edges[:, 0]] = edges[:, 2]
    cell[edges[:, 1]] = edges[:, 2]
    places = diagram.vertices[used]
    radii = _distance(diagram, places, cell[used])
    return _split(diagram, np.column_stack((places, radii)), ends, edges[:, 2:], chord_mm)


def _diagram(outline: Sequence[Floats]) -> _Diagram:
    # The library's own check for crossing input is not asked: it takes parallel walls for
    # crossing ones.  The caller's rings come from a valid polygon rounded to the grid.
    voronoi = pyvoronoi.Pyvoronoi(GRID_PER_MM)
    for ring in outline:
        corners = ring.tolist()
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            voronoi.AddSegment([a, b])
    voronoi.Construct()
    starts = np.concatenate(outline)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in outline])
    cells = [
        (cell.site, cell.source_category, cell.contains_segment)
        for _, cell in voronoi.EnumerateCells()
    ]
    site, category, is_segment = np.array(cells, dtype=np.int64).T
    vertices = [(vertex.X, vertex.Y) for _, vertex in voronoi.EnumerateVertices()]
    # Edges come in twin pairs, one after the other, each with the cell on its own side.
    halves = np.array(
        [
            (edge.start, edge.end, edge.cell, edge.is_primary)
            for _, edge in voronoi.EnumerateEdges()
        ],
        dtype=np.int64,
    )
    one, other = halves[0::2], halves[1::2]
    kept = (one[:, 0] >= 0) & (one[:, 1] >= 0) & (one[:, 3] == 1)
    return _Diagram(
        starts=starts,
        ends=ends,
        site=site,
        is_segment=is_segment == 1,
        corner=np.where((category == SEGMENT_START)[:, None], starts[site], ends[site]),
        vertices=np.array(vertices, dtype=np.float64).reshape(-1, 2),
        edges=np.column_stack((one[kept, :3], other[kept, 2])),
    )


def _height(diagram: _Diagram, places: Floats, cell: Ints) -> Floats:
    """Return how far ``places`` lie to the left of their cell's segment, in mm."""
    site = diagram.site[cell]
    a, b = diagram.starts[site], diagram.ends[site]
    u, v = b - a, places - a
    return np.asarray((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / np.hypot(u[:, 0], u[:, 1]))


def _distance(diagram: _Diagram, places: Floats, cell: Ints) -> Floats:
    """Return the distance of ``places`` from what their cell belongs to."""
    away = places - diagram.corner[cell]
    return np.where(
        diagram.is_segment[cell],
        np.abs(_height(diagram, places, cell)),
        np.hypot(away[:, 0], away[:, 1]),
    )


def _inside(diagram: _Diagram) -> Flags:
    """Return which edges lie inside: left of their wall, or facing a corner that points in."""
    one, other = diagram.edges[:, 2], diagram.edges[:, 3]
    wall = np.where(diagram.is_segment[one], one, other)
    first = _height(diagram, diagram.vertices[diagram.edges[:, 0]], wall)
    last = _height(diagram, diagram.vertices[diagram.edges[:, 1]], wall)
    left = np.where(np.abs(first) > np.abs(last), first, last) > 0.0
    by_wall = diagram.is_segment[wall]
    inside = np.where(by_wall, left, False)
    for k in np.flatnonzero(~by_wall):
        middle = diagram.vertices[diagram.edges[k, :2]].mean(axis=0)
        inside[k] = _even_odd(diagram.starts, diagram.ends, middle)
    return np.asarray(inside)


def _even_odd(starts: Floats, ends: Floats, place: Floats) -> bool:
    """Return whether a ray from ``place`` crosses the outline an odd number of times."""
    above = starts[:, 1] > place[1]
    crosses = above != (ends[:, 1] > place[1])
    a, b = starts[crosses], ends[crosses]
    at = a[:, 0] + (place[1] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(at > place[0]) % 2)


def _split(
    diagram: _Diagram, points: Floats, ends: Ints, cells: Ints, chord_mm: float
) -> tuple[Floats, Ints]:
    """Put points into the curved edges until chords stay within ``chord_mm``."""
    first_is_wall = diagram.is_segment[cells[:, 0]]
    curved = ~(first_is_wall & diagram.is_segment[cells[:, 1]])
    rows = np.flatnonzero(curved)
    # ``line`` is the straight source (or one corner), ``focus`` the corner.
    line = np.where(first_is_wall, cells[:, 0], cells[:, 1])[rows]
    focus = np.where(first_is_wall, cells[:, 1], cells[:, 0])[rows]
    corner = diagram.corner[focus]
    apart = _distance(diagram, corner, line)
    from_wall = diagram.is_segment[line]
    site = diagram.site[line]
    toward = np.where(
        from_wall[:, None],
        diagram.ends[site] - diagram.starts[site],
        (corner - diagram.corner[line])[:, ::-1] * np.array([1.0, -1.0]),
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        toward = toward / np.hypot(toward[:, 0], toward[:, 1])[:, None]
        along = [np.sum((points[ends[rows, k], :2] - corner) * toward, axis=1) for k in (0, 1)]
        bend = 1.0 / np.where(from_wall, apart, apart / 2.0)
        count = np.ceil(np.abs(along[1] - along[0]) * np.sqrt(bend / (4.0 * chord_mm)))
    grown, edges = [points], [ends[~curved]]
    total = len(points)
    for k in np.argsort(rows, kind="stable"):
        a, b = ends[rows[k]]
        pieces = int(count[k]) if np.isfinite(count[k]) else 1
        if pieces < 2:
            edges.append(ends[rows[k] : rows[k] + 1])
            continue
        t = np.linspace(along[0][k], along[1][k], pieces + 1)[1:-1]
        half = apart[k] / 2.0
        up = t * t / (4.0 * half) if from_wall[k] else np.zeros_like(t)
        wall_side = np.sign(_height(diagram, corner[k : k + 1], line[k : k + 1]))[0]
        normal = np.array([-toward[k, 1], toward[k, 0]])
        if from_wall[k]:
            # y above the wall = t^2 / 2h + h / 2, counted from the corner: y - h
            places = (
                corner[k] + t[:, None] * toward[k] + ((up - half) * wall_side)[:, None] * normal
            )
            radii = up + half
        else:
            middle = (corner[k] + diagram.corner[line[k]]) / 2.0
            places = middle + t[:, None] * toward[k]
            radii = np.hypot(t, half)
        grown.append(np.column_stack((places, radii)))
        numbers = np.concatenate(([a], np.arange(total, total + len(t)), [b]))
        total += len(t)
        edges.append(np.column_stack((numbers[:-1], numbers[1:])))
    return np.concatenate(grown), np.concatenate(edges).astype(np.int64)


def prominence_mm(points: Floats, edges: Ints) -> Floats:
    """Return for each edge what the outline would lose without it and the branch behind it.

    A fire starts at every loose end at the time of that end's radius and burns along the edges at
    one mm per unit of time; at a fork it waits until all but one edge have burned.  The time it
    reaches a point, less the point's radius, is how far the branch burned sticks out of the
    largest disc there.  Loops never burn: their worth is infinite.  (Liu, Chambers, Letscher and
    Ju, *Extended grassfire transform on medial axes of 2D shapes*, CAD 43, 2011.)

    ``points`` (m, 3): x, y, radius in mm; ``edges`` (k, 2) of rows.  Returns (k,) in mm.
    """
    offsets, links = neighbours(len(points), edges)
    lengths = np.hypot(*(points[edges[:, 0], :2] - points[edges[:, 1], :2]).T)
    return np.asarray(_burn(points[:, 2].copy(), edges, lengths, offsets, links))


def neighbours(count: int, edges: Ints) -> tuple[Ints, Ints]:
    """Return for each of ``count`` points where its edges begin in a list of edge numbers."""
    both = np.concatenate((edges[:, 0], edges[:, 1]))
    links = np.tile(np.arange(len(edges), dtype=np.int64), 2)[np.argsort(both, kind="stable")]
    offsets = np.zeros(count + 1, dtype=np.int64)
    np.cumsum(np.bincount(both, minlength=count), out=offsets[1:])
    return offsets, links


@njit(cache=True)
def _burn(
    radii: Floats, edges: Ints, lengths: Floats, offsets: Ints, links: Ints
) -> Floats:  # pragma: no cover - compiled
    left = offsets[1:] - offsets[:-1]
    burned = np.zeros(len(edges), dtype=np.bool_)
    result = np.full(len(edges), np.inf)
    time = radii.copy()
    heap = [(0.0, -1)]
    for k in range(len(radii)):
        if left[k] == 1:
            heappush(heap, (radii[k], k))
    while len(heap) > 0:
        now, k = heappop(heap)
        if k < 0 or left[k] != 1:
            continue
        for link in links[offsets[k] : offsets[k + 1]]:
            if burned[link]:
                continue
            burned[link] = True
            other = edges[link, 0] + edges[link, 1] - k
            arrival = now + lengths[link]
            result[link] = arrival - radii[other]
            left[k] -= 1
            left[other] -= 1
            time[other] = max(time[other], arrival)
            if left[other] == 1:
                heappush(heap, (time[other], other))
    return result


# ---- The compiler's own tables loaded early, while there is time for it


def load_kernels() -> None:
    """Run one small kernel: the first one called loads what all of them need.

    Done before this process is copied, it is done once and not in every copy.
    """
    prominence_mm(np.zeros((2, 3)), np.array([[0, 1]], dtype=np.int64))
