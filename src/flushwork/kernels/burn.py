"""How much each branch of a medial axis matters: the grassfire that runs in from its ends."""

from __future__ import annotations

from heapq import heappop, heappush

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


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
