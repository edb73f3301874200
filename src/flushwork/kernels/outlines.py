"""Points on curves, close enough together that the chords stay within a stated distance.

The chord of a curve f over a step h of its parameter lies within h^2/8 max |f''| of it (error of
linear interpolation: P. J. Davis, *Interpolation and Approximation*, Dover 1975, theorem 3.1.1).
For a Bezier curve of degree n the second derivative is bounded by n (n - 1) times the greatest
second difference of its control points (G. Farin, *Curves and Surfaces for CAGD*, 5th edition,
section 5.3), for an ellipse by its greater half axis.

How often closed outlines wind about a point.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

_BINOMIAL: Final = {2: (1.0, 2.0, 1.0), 3: (1.0, 3.0, 3.0, 1.0)}


def chord_count(bend: float, span: float, tolerance: float) -> int:
    """Return how many equal steps keep the chords within ``tolerance``.

    ``bend`` is the greatest length of the second derivative over a parameter interval of length
    ``span``.  At least 1.
    """
    return max(1, math.ceil(abs(span) * math.sqrt(bend / (8.0 * tolerance)) - 1e-9))


def bezier_points(controls: Points, tolerance: float) -> Points:
    """Return points on a Bezier curve of degree 1 to 3, its start left out, its end kept.

    ``controls`` is (2 to 4, 2); the result (n, 2).
    """
    degree = len(controls) - 1
    if degree == 1:
        return controls[1:]
    second = np.diff(controls, n=2, axis=0)
    bend = degree * (degree - 1) * float(np.hypot(second[:, 0], second[:, 1]).max())
    count = chord_count(bend, 1.0, tolerance)
    steps = np.arange(1, count + 1, dtype=np.float64) / count
    powers = np.arange(degree + 1)
    weights = (
        np.asarray(_BINOMIAL[degree])
        * steps[:, None] ** powers
        * (1.0 - steps[:, None]) ** (degree - powers)
    )
    points: Points = weights @ controls
    points[-1] = controls[-1]
    return points


def arc_points(
    centre: Points, axes: Points, start_rad: float, sweep_rad: float, tolerance: float
) -> Points:
    """Return points on centre + cos(t) axes[0] + sin(t) axes[1], start left out, end kept.

    ``axes`` is (2, 2), two conjugate half diameters as rows, so that any affine image of a circle
    is such an arc.  The result is (n, 2).
    """
    greatest = float(np.linalg.norm(axes, ord=2))
    count = chord_count(greatest, sweep_rad, tolerance)
    # three chords at least for a whole turn, or a tiny circle would have no area
    count = max(count, math.ceil(abs(sweep_rad) / (2.0 * math.pi / 3.0) - 1e-9))
    angles = start_rad + sweep_rad * np.arange(1, count + 1, dtype=np.float64) / count
    points: Points = centre + np.cos(angles)[:, None] * axes[0] + np.sin(angles)[:, None] * axes[1]
    return points


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
