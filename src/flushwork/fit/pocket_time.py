"""About how long a bit takes over a pocket, alone or after a wider one."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Final

import shapely
from shapely import MultiPolygon

from flushwork.core.tolerances import DEPTH_MM
from flushwork.fit.cutting_force import Stock
from flushwork.fit.discs import LINE_MM, polygons, without_slivers
from flushwork.fit.feeds import light, propose
from flushwork.fit.reach import Reach
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Bit, Machine

ENTRY_S: Final = 3.0
"""Time to reach and enter a pocket at one depth.  Assumed (1 to 6 s)."""

REST_ENTRY_S: Final = 0.45
"""... and a piece of stock left by a wider bit, entered beside it.  Seen in traced files (0.2 to
0.7 s)."""

REST_WAY: Final = 0.4
"""The way along such a piece as a share of its outline.  Seen in traced files (0.25 to 0.5)."""

WALL_SHARE: Final = 0.1
"""Stock left for the finish pass, as a share of the diameter, at which its feed is taken."""

SPECK_MM2: Final = 0.005
"""Stock in pieces smaller than this is not worth counting."""


@dataclass(frozen=True, slots=True)
class CutTerms:
    """What times depend on: the machine, the wood, how long a change of bit takes."""

    machine: Machine
    wood: Stock
    change_s: float


def whole_s(item: Reach, depth_mm: float, terms: CutTerms) -> float:
    """Return about how long a bit takes over all that it reaches.

    Each depth: the area its axis covers over the step, half its outline for what rings overlap,
    the entries; once the outline at the feed of a finish pass.
    """
    bit = item.bit
    proposal = propose(bit, terms.machine, terms.wood)
    feed_mm_s = proposal.feed_mm_min / 60.0
    centres = item.centres
    way = centres.area / (proposal.step * bit.diameter_mm) + centres.length / 2.0
    finish = centres.length / light(proposal, WALL_SHARE * bit.diameter_mm)
    passes = _passes(depth_mm, proposal.pass_mm)
    return passes * (way / feed_mm_s + ENTRY_S * len(centres.geoms)) + finish / feed_mm_s


def rest_s(bit: Bit, rest: MultiPolygon, depth_mm: float, terms: CutTerms) -> float:
    """Return about how long a bit takes over what a wider one left."""
    if rest.is_empty:
        return 0.0
    way = max(_bare_way(bit, rest.area), REST_WAY * rest.length)
    return _rest_s(bit, way, len(rest.geoms), depth_mm, terms)


def least_rest_s(item: Reach, wide: Reach, depth_mm: float, terms: CutTerms) -> float:
    """Return a bound below ``rest_s`` that needs no geometry: openings by discs are nested."""
    area = max(item.reached.area - wide.reached.area, 0.0)
    return 0.8 * _rest_s(item.bit, _bare_way(item.bit, area), 0, depth_mm, terms)


@memoized
def rest_between(item: Reach, wide: Reach) -> MultiPolygon:
    """Return what ``item`` reaches and ``wide`` does not, slivers and specks left out.

    Both reach the same walls but for the last decimal: what lies between is a sliver as long as
    the wall, and no way for a bit.
    """
    apart = polygons(shapely.difference(item.reached, wide.reached))
    return polygons(without_slivers(apart, LINE_MM), SPECK_MM2)


def _bare_way(bit: Bit, area_mm2: float) -> float:
    return area_mm2 / (bit.step * bit.diameter_mm)


def _rest_s(bit: Bit, way_mm: float, pieces: int, depth_mm: float, terms: CutTerms) -> float:
    proposal = propose(bit, terms.machine, terms.wood)
    passes = _passes(depth_mm, proposal.pass_mm)
    return passes * (way_mm / (proposal.feed_mm_min / 60.0) + REST_ENTRY_S * pieces)


def _passes(depth_mm: float, pass_mm: float) -> int:
    return max(1, ceil((depth_mm - DEPTH_MM) / pass_mm))
