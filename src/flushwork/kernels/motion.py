"""Speeds and times along a chain of moves under one limit of acceleration."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit(cache=True)
def chain_times(length: Floats, top: Floats, start: Floats, acceleration: float) -> Floats:
    """Return the seconds of each move of a chain driven as fast as its limits allow.

    ``length`` (n,) in mm and above 0; ``top`` (n,) the greatest speed within each move and
    ``start`` (n + 1,) the greatest speed at each joint, both in mm/s, the ends included;
    ``acceleration`` in mm/s2, above 0.  Every move speeds up at the full acceleration, cruises,
    and slows down at the full acceleration: v^2 = u^2 + 2 a s.
    """
    count = length.size
    speed = start.copy()
    for i in range(count):
        speed[i] = min(speed[i], top[i])
        reached = math.sqrt(speed[i] * speed[i] + 2.0 * acceleration * length[i])
        speed[i + 1] = min(speed[i + 1], top[i], reached)
    for i in range(count - 1, -1, -1):
        reached = math.sqrt(speed[i + 1] * speed[i + 1] + 2.0 * acceleration * length[i])
        speed[i] = min(speed[i], reached)
    times = np.empty(count)
    for i in range(count):
        u, w = speed[i], speed[i + 1]
        peak = math.sqrt(acceleration * length[i] + (u * u + w * w) / 2.0)
        peak = max(min(peak, top[i]), u, w)
        ramps = (2.0 * peak * peak - u * u - w * w) / (2.0 * acceleration)
        cruise = max(length[i] - ramps, 0.0)
        times[i] = (2.0 * peak - u - w) / acceleration + cruise / peak
    return times
