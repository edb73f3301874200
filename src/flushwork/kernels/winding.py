"""How often closed outlines wind about a point."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def winding_numbers(
    points: NDArray[np.float64], starts: NDArray[np.float64], ends: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Return the winding number of closed outlines about each point; counter-clockwise counts up.

    ``points`` is (n, 2); the edges of all outlines run from ``starts`` to ``ends``, both (m, 2);
    the result is (n,).  An edge that crosses the ray to the right of the point upward counts +1,
    downward -1 (J. O'Rourke, *Computational Geometry in C*, 2nd edition, section 7.4).
    """
    result = np.zeros(len(points), dtype=np.int64)
    run = ends - starts
    for index, (x, y) in enumerate(points):
        upward = (starts[:, 1] <= y) & (ends[:, 1] > y)
        downward = (starts[:, 1] > y) & (ends[:, 1] <= y)
        side = run[:, 0] * (y - starts[:, 1]) - (x - starts[:, 0]) * run[:, 1]
        result[index] = np.count_nonzero(upward & (side > 0.0)) - np.count_nonzero(
            downward & (side < 0.0)
        )
    return result
