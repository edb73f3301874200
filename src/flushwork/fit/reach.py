"""What a bit reproduces of a region: the records.  ``fit.opening`` computes them.

Where a region is too narrow for a disc: the places that cut an arm off or part it in two.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from math import hypot, radians, tan
from typing import Final

import numpy as np
from shapely import MultiPolygon

from flushwork.art.drawn import Drawn
from flushwork.core.tolerances import VISIBLE_MM
from flushwork.fit.medial_axis import MedialAxis
from flushwork.shelf.items import Bit


@dataclass(frozen=True, slots=True)
class Neck:
    """A place the bit cannot pass: where, how wide the artwork is there."""

    x_mm: float
    y_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Reach:
    """What one bit makes of one region.

    ``centres`` is where the bit's axis may go (a slot exactly one bit wide is a sliver at
    most ``SLOT_WIDTH_MM`` wide); ``reached`` what it then cuts; ``lost`` the rest of the region.
    ``deepest_mm`` is the greatest distance from a point of ``lost`` to ``reached``, at ``deepest``.
    """

    bit: Bit
    centres: MultiPolygon
    reached: MultiPolygon
    lost: MultiPolygon
    lost_mm2: float
    deepest_mm: float
    deepest: tuple[float, float] | None
    necks: tuple[Neck, ...]

    @property
    def passes(self) -> bool:
        """Whether the bit goes everywhere (corners may stay round)."""
        return not self.necks and not self.centres.is_empty


@dataclass(frozen=True, slots=True)
class Fit:
    """The bits for one inlay, widest first, and the reason in one sentence.

    ``bits`` is empty where no owned bit can cut it.  ``narrowest_needed`` reproduces all that
    any owned bit can; ``widest_sufficient`` loses nothing visible beyond it.  ``reaches`` holds
    every owned flat (or, for V engraving, V-bit) bit that was tried.  ``floor`` is what a flat
    bit clears of an engraving's flat floor before the V-bit.
    """

    drawn: Drawn
    bits: tuple[Bit, ...]
    narrowest_needed: Bit | None
    widest_sufficient: Bit | None
    reaches: tuple[Reach, ...]
    reason: str
    floor: Reach | None = None

    def reach(self, bit: Bit) -> Reach | None:
        """Return the reach of one bit, if it was tried."""
        return next((reach for reach in self.reaches if reach.bit == bit), None)


TAPER: Final = tan(radians(2.5))
"""A stretch as long as the disc's radius whose walls close by less than 5 degrees makes an arm.

Assumed (3 to 10 degrees would serve): the tip of a leaf or star is a corner that stays round, a
slot that hardly narrows is a slot the bit cannot enter.
"""

WIDENS_MM: Final = VISIBLE_MM / 2.0
"""An arm that gets wider again by this much (in radius) is an arm however short it is."""


@dataclass(slots=True)
class _Narrow:
    """A connected part of the axis where the disc does not fit."""

    links: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    entrances: list[tuple[int, int]] = field(default_factory=list)


def necks_of(axis: MedialAxis, radius_mm: float) -> tuple[Neck, ...]:
    """Return the places where a disc of ``radius_mm`` cannot pass along ``axis``.

    One neck each for: a part of the region the disc fits nowhere in (at its widest), a passage
    between places where it fits (at its narrowest), an arm it cannot enter (at its narrowest).
    A corner that narrows evenly to a point is none of these.
    """
    fits = axis.points[:, 2] >= radius_mm
    found: list[int] = []
    for part in _narrow_parts(axis, fits):
        if len(part.entrances) == 0:
            found.append(max(part.links, key=lambda k: (axis.points[k, 2], -k)))
        elif len(part.entrances) == 1:
            found.extend(_arm(axis, part, radius_mm))
        else:
            found.append(min(_passage(part), key=lambda k: (axis.points[k, 2], k)))
    loose = np.setdiff1d(np.flatnonzero(~fits), axis.edges)
    rows = [*found, *loose.tolist()]
    return tuple(
        Neck(x_mm=x, y_mm=y, width_mm=2.0 * radius) for x, y, radius in axis.points[rows].tolist()
    )


def _narrow_parts(
    axis: MedialAxis, fits: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> list[_Narrow]:
    """Gather the edges that do not fit into connected parts, each with its ways in."""
    links: dict[int, list[int]] = defaultdict(list)
    entrances: list[tuple[int, int]] = []
    for a, b in axis.edges.tolist():
        if fits[a] and fits[b]:
            continue
        if fits[a] or fits[b]:
            entrances.append((a, b) if fits[a] else (b, a))
            links[b if fits[a] else a] += ()
        else:
            links[a].append(b)
            links[b].append(a)
    part_of: dict[int, _Narrow] = {}
    parts: list[_Narrow] = []
    for start in links:
        if start in part_of:
            continue
        part = _Narrow()
        parts.append(part)
        part_of[start] = part
        waiting = [start]
        while waiting:
            node = waiting.pop()
            part.links[node] = links[node]
            for other in links[node]:
                if other not in part_of:
                    part_of[other] = part
                    waiting.append(other)
    for outside, inside in entrances:
        part_of[inside].entrances.append((outside, inside))
    return parts


def _passage(part: _Narrow) -> Iterable[int]:
    """Return the points of ``part`` on ways between its entrances, its dead ends taken off."""
    degree = {node: len(others) for node, others in part.links.items()}
    for _, inside in part.entrances:
        degree[inside] += 1
    dead = [node for node, count in degree.items() if count < 2]
    while dead:
        node = dead.pop()
        if node not in degree:
            continue
        del degree[node]
        for other in part.links[node]:
            if other in degree:
                degree[other] -= 1
                if degree[other] < 2:
                    dead.append(other)
    return degree


def _arm(axis: MedialAxis, part: _Narrow, radius_mm: float) -> Iterator[int]:
    """Yield the narrowest point on the way into ``part`` if it is an arm and no mere corner."""
    outside, inside = part.entrances[0]
    heap = [(_apart(axis, outside, inside), inside, outside)]
    before: dict[int, int] = {}
    away: dict[int, float] = {outside: 0.0}
    end: int | None = None
    while heap:
        so_far, node, parent = heappop(heap)
        if node in before:
            continue
        before[node], away[node] = parent, so_far
        if _widens_or_stays(axis, node, before, away, radius_mm):
            end = node
        for other in part.links[node]:
            if other not in before:
                heappush(heap, (so_far + _apart(axis, node, other), other, node))
    if end is not None:
        yield min(_way_in(end, before), key=lambda k: (axis.points[k, 2], away[k]))


def _widens_or_stays(
    axis: MedialAxis, node: int, before: dict[int, int], away: dict[int, float], radius_mm: float
) -> bool:
    """Whether the arm is wider at ``node`` than before it, or about as wide for a stretch."""
    radius = axis.points[node, 2]
    for earlier in _way_in(before[node], before):
        stretch = away[node] - away[earlier]
        closes = axis.points[earlier, 2] - radius
        if closes < -WIDENS_MM or (stretch >= radius_mm and closes < stretch * TAPER):
            return True
    return False


def _way_in(node: int, before: dict[int, int]) -> Iterator[int]:
    """Yield ``node`` and the points before it, back to the one outside."""
    yield node
    while node in before:
        node = before[node]
        yield node


def _apart(axis: MedialAxis, a: int, b: int) -> float:
    (x0, y0, _), (x1, y1, _) = axis.points[a], axis.points[b]
    return hypot(float(x1 - x0), float(y1 - y0))
