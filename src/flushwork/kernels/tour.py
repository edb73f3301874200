"""Short tours through points in the plane: local search with restarts, the same every time.

2-opt and or-opt moves over lists of near neighbours, begun only from points whose surroundings
changed, then small local double bridges, each undone where the search that follows does not pay.
Every change is made of reversals of a stretch of the tour, so an undo is the same reversals in
backward order.  Sources of the moves: G. A. Croes, A Method for Solving Traveling-Salesman
Problems, Operations Research 6 (1958); I. Or, thesis, Northwestern University (1976); O. Martin,
S. W. Otto, E. W. Felten, Large-Step Markov Chains for the Traveling Salesman Problem, Complex
Systems 5 (1991); J. L. Bentley, Fast Algorithms for Geometric Traveling Salesman Problems, ORSA
Journal on Computing 4 (1992).
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_BOUND = -1.0e9
_GAIN = 1.0e-9
_LONGEST_CARRIED = 3
_STRETCH = 50
_FIRST_NOTE = 4


@njit(cache=True)
def separation(places: Floats, a: int, b: int) -> float:
    """Return the distance of two of the ``places`` (n, 2).

    Point n is a stand-in for the open end of a path: it is tied to point 0 and lies at no
    distance from all others.
    """
    n = places.shape[0]
    if a >= n or b >= n:
        return _BOUND if a == 0 or b == 0 else 0.0
    dx = places[a, 0] - places[b, 0]
    dy = places[a, 1] - places[b, 1]
    return math.sqrt(dx * dx + dy * dy)


@njit(cache=True)
def near_neighbours(places: Floats, count: int) -> Ints:
    """Return the ``count`` nearest points of each of the ``places`` (n, 2), shape (n, count).

    Nearest first, ties to the lower number; ``count`` must be below n.
    """
    n = places.shape[0]
    near = np.zeros((n, count), np.int64)
    gaps = np.empty(count)
    for i in range(n):
        held = 0
        for j in range(n):
            if j == i:
                continue
            gap = (places[i, 0] - places[j, 0]) ** 2 + (places[i, 1] - places[j, 1]) ** 2
            if held == count and gap >= gaps[held - 1]:
                continue
            at = held if held < count else count - 1
            while at > 0 and gaps[at - 1] > gap:
                gaps[at] = gaps[at - 1]
                near[i, at] = near[i, at - 1]
                at -= 1
            gaps[at] = gap
            near[i, at] = j
            held = min(held + 1, count)
    return near


@njit(cache=True)
def greedy_tour(places: Floats, open_ended: bool) -> Ints:
    """Return the tour that always goes to the nearest point left, from point 0.

    An open one ends with the stand-in n, so it has one point more.
    """
    n = places.shape[0]
    tour = np.full(n + 1 if open_ended else n, n, np.int64)
    left = np.arange(1, n)
    tour[0] = 0
    x, y = places[0, 0], places[0, 1]
    for at in range(1, n):
        best, pick = np.inf, 0
        for k in range(n - at):
            gap = (places[left[k], 0] - x) ** 2 + (places[left[k], 1] - y) ** 2
            if gap < best:
                best, pick = gap, k
        tour[at] = left[pick]
        x, y = places[left[pick], 0], places[left[pick], 1]
        left[pick : n - at - 1] = left[pick + 1 : n - at].copy()
    return tour


@njit(cache=True)
def _reverse(ring: Ints, first: int, last: int) -> None:
    """Turn the stretch from position ``first`` on to ``last`` round, or all the rest instead.

    ``ring`` (2, n) holds the points in the order of the tour, and the position of each point.
    """
    n = ring.shape[1]
    inside = last - first + 1
    if inside <= 0:
        inside += n
    if 2 * inside > n:
        first, last = (last + 1) % n, (first - 1 + n) % n
        inside = n - inside
    for _ in range(inside // 2):
        a, b = ring[0, first], ring[0, last]
        ring[0, first], ring[0, last] = b, a
        ring[1, b], ring[1, a] = first, last
        first = first + 1 if first + 1 < n else 0
        last = last - 1 if last > 0 else n - 1


@njit(cache=True)
def _turn(ring: Ints, notes: Ints, a: int, b: int) -> None:
    """Reverse the stretch from point ``a`` on to point ``b`` and note it.

    ``notes`` (m, 2) holds in its first row where the next reversal is noted, in the next three
    rows the six points the last move touched, then the reversals as pairs of positions.
    """
    first, last = ring[1, a], ring[1, b]
    free = notes[0, 0]
    notes[free, 0], notes[free, 1] = first, last
    notes[0, 0] = free + 1
    _reverse(ring, first, last)


@njit(cache=True)
def _turn_back(ring: Ints, notes: Ints, a: int, b: int, length: int) -> None:
    """Reverse the stretch of ``length`` points that ends with ``a`` and ``b``, in either order.

    A reversal before may have turned all the rest instead, and so the sense of the tour.
    """
    n = ring.shape[1]
    if (ring[1, b] - ring[1, a] + n) % n + 1 == length:
        _turn(ring, notes, a, b)
    else:
        _turn(ring, notes, b, a)


@njit(cache=True)
def _beside(ring: Ints, point: int, forward: bool) -> int:
    n = ring.shape[1]
    at = ring[1, point] + (1 if forward else -1)
    beside: int = ring[0, 0 if at == n else at]
    return beside


@njit(cache=True)
def _touch(notes: Ints, points: tuple[int, int, int, int, int, int]) -> None:
    for k in range(6):
        notes[1 + k // 2, k % 2] = points[k]


@njit(cache=True)
def _improve_point(places: Floats, near: Ints, ring: Ints, notes: Ints, c: int) -> float:
    """Make the first paying move that gives ``c`` a nearer neighbour; return the gain, or 0."""
    if c >= near.shape[0]:
        return 0.0
    for forward in (True, False):
        after = _beside(ring, c, forward)
        cut = separation(places, c, after)
        for k in range(near.shape[1]):
            d = near[c, k]
            spare = cut - separation(places, c, d)
            if spare <= _GAIN:
                break
            d_after = _beside(ring, d, forward)
            if d == after or d_after == c:
                continue
            ends = (c, after, d, d_after)
            gain = _cross(places, ring, notes, ends, spare)
            if gain == 0.0:
                gain = _carry(places, ring, notes, ends, spare)
            if gain > 0.0:
                return gain
    return 0.0


@njit(cache=True)
def _cross(
    places: Floats, ring: Ints, notes: Ints, ends: tuple[int, int, int, int], spare: float
) -> float:
    """Join ``c`` to ``d`` and what follows each, by 2-opt, if it pays; return the gain, or 0.

    ``ends`` are c, the point after it, d, the point after it, both in the same sense; ``spare`` is
    what the link from c to d saves against that from c to the point after it.
    """
    c, after, d, d_after = ends
    gain = spare + separation(places, d, d_after) - separation(places, after, d_after)
    if gain <= _GAIN:
        return 0.0
    if _beside(ring, c, True) == after:
        _turn(ring, notes, after, d)
    else:
        _turn(ring, notes, d, after)
    _touch(notes, (c, after, d, d_after, c, c))
    return gain


@njit(cache=True)
def _carry(
    places: Floats, ring: Ints, notes: Ints, ends: tuple[int, int, int, int], spare: float
) -> float:
    """Carry a stretch that begins with ``c`` beside ``d``, by or-opt, if it pays.

    Arguments and result as for ``_cross``.
    """
    c, after, d, _ = ends
    forward = _beside(ring, c, True) == after
    tail = c
    for _ in range(_LONGEST_CARRIED):
        beyond = _beside(ring, tail, not forward)
        if beyond in (d, after):
            break
        freed = spare + separation(places, tail, beyond) - separation(places, after, beyond)
        for side in (True, False):
            e = _beside(ring, d, side)
            gain = freed + separation(places, d, e) - separation(places, tail, e)
            if gain > _GAIN:
                stretch = (tail, c) if forward else (c, tail)
                _shift(ring, notes, stretch, (d, e), c)
                _touch(notes, (c, tail, after, beyond, d, e))
                return gain
        tail = beyond
    return 0.0


@njit(cache=True)
def _shift(ring: Ints, notes: Ints, stretch: tuple[int, int], gap: tuple[int, int], c: int) -> None:
    """Move a stretch into a gap so that its end ``c`` comes beside the gap's first point.

    ``stretch`` is given in the sense of the tour.
    """
    n = ring.shape[1]
    head, foot = stretch
    d, e = gap
    length = (ring[1, foot] - ring[1, head] + n) % n + 1
    d_on = (ring[1, d] - ring[1, head] + n) % n
    e_on = (ring[1, e] - ring[1, head] + n) % n
    low, high = (d, e) if d_on < e_on else (e, d)
    ahead = min(d_on, e_on) - length + 1
    behind = n - 1 - min(d_on, e_on)
    if ahead <= behind:
        first = _beside(ring, foot, True)
        _turn(ring, notes, head, low)
        _turn_back(ring, notes, low, first, ahead)
    else:
        last = _beside(ring, head, False)
        _turn(ring, notes, high, foot)
        _turn_back(ring, notes, last, high, behind)
    if d not in (_beside(ring, c, True), _beside(ring, c, False)):
        _turn_back(ring, notes, foot, head, length)


@njit(cache=True)
def _settle(places: Floats, near: Ints, ring: Ints, notes: Ints, queue: Ints) -> float:
    """Improve until none of the waiting points can be; return the gain.

    ``queue`` (2, n + 1) holds the waiting points in a ring and how many there are, and of each
    point whether it waits.
    """
    n = ring.shape[1]
    room = notes.shape[0] - 3
    first, total = 0, 0.0
    while queue[0, n] > 0:
        c = queue[0, first]
        first = first + 1 if first + 1 < n else 0
        queue[0, n] -= 1
        queue[1, c] = 0
        while notes[0, 0] <= room:
            gain = _improve_point(places, near, ring, notes, c)
            if gain == 0.0:
                break
            total += gain
            for k in range(6):
                t = notes[1 + k // 2, k % 2]
                if t != c:
                    _wait(queue, first, t)
    return total


@njit(cache=True)
def _wait(queue: Ints, first: int, point: int) -> None:
    """Put a point in the queue that begins at ``first``, unless it is there."""
    n = queue.shape[1] - 1
    if queue[1, point] == 0:
        queue[1, point] = 1
        queue[0, (first + queue[0, n]) % n] = point
        queue[0, n] += 1


@njit(cache=True)
def _bridge(
    places: Floats, ring: Ints, notes: Ints, queue: Ints, drawn: tuple[int, int, int]
) -> float:
    """Exchange two neighbouring stretches; return by how much the tour is longer.

    ``drawn`` are the position before them and their two lengths.  Their ends go into the empty
    queue.
    """
    n = ring.shape[1]
    at, one, two = drawn
    a, b, c = ring[0, at], ring[0, (at + 1) % n], ring[0, (at + one) % n]
    d, e = ring[0, (at + one + 1) % n], ring[0, (at + one + two) % n]
    f = ring[0, (at + one + two + 1) % n]
    longer = (
        separation(places, a, d)
        + separation(places, e, b)
        + separation(places, c, f)
        - separation(places, a, b)
        - separation(places, c, d)
        - separation(places, e, f)
    )
    _turn(ring, notes, b, e)
    _turn_back(ring, notes, e, d, two)
    _turn_back(ring, notes, c, b, one)
    for t in (a, b, c, d, e, f):
        _wait(queue, 0, t)
    return longer


@njit(cache=True)
def shorten(places: Floats, near: Ints, tour: Ints, restarts: int) -> Ints:
    """Return a short closed tour, begun from ``tour``.

    ``places`` is (n, 2) with n at least 8, ``near`` from ``near_neighbours``, ``tour`` a
    permutation of the n points, or of n + 1 where it holds the stand-in for an open end.
    ``restarts`` local double bridges are tried, drawn by a xorshift generator (G. Marsaglia,
    Xorshift RNGs, Journal of Statistical Software 8, 2003) from a fixed seed.
    """
    n = tour.size
    ring, queue = np.empty((2, n), np.int64), np.ones((2, n + 1), np.int64)
    for i in range(n):
        ring[0, i] = queue[0, i] = tour[i]
        ring[1, tour[i]] = i
    queue[0, n] = n
    notes = np.zeros((60 * n + 1000, 2), np.int64)
    notes[0, 0] = _FIRST_NOTE
    _settle(places, near, ring, notes, queue)
    stretch = min(_STRETCH, n // 4)
    state = np.uint64(88172645463325252)
    drawn = np.empty(3, np.int64)
    for _ in range(restarts):
        for k in range(3):
            state ^= state << np.uint64(13)
            state ^= state >> np.uint64(7)
            state ^= state << np.uint64(17)
            drawn[k] = np.int64((state >> np.uint64(11)) % np.uint64(stretch if k else n))
        notes[0, 0] = _FIRST_NOTE
        longer = _bridge(places, ring, notes, queue, (drawn[0], drawn[1] + 1, drawn[2] + 1))
        if _settle(places, near, ring, notes, queue) < longer - _GAIN:
            for k in range(notes[0, 0] - 1, _FIRST_NOTE - 1, -1):
                _reverse(ring, notes[k, 0], notes[k, 1])
    order: Ints = ring[0].copy()
    return order
