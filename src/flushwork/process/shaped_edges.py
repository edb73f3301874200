"""Shaped edges as geometry: the bit, the way of its axis, what it leaves of the edge.

In a section across an edge, s mm inside its outline and z mm from the finished face:

- a chamfer w wide by a V of full angle a:  z = -(w - s) / tan(a / 2);
- a round of radius r:                      z = -(r - sqrt(r^2 - (r - s)^2));
- a cove of radius r:                       z = -sqrt(r^2 - s^2);
- a rebate d deep:                          z = -d;
- a groove i inside, by a ball of radius r: z = -(d - r + sqrt(r^2 - (s - i)^2)), by a flat bit -d.

The first three sections take w^2 / (2 tan(a / 2)), r^2 (1 - pi / 4) and pi r^2 / 4 of the wood.

A ball of radius b makes a round in steps: its middle runs on a circle r + b about the round's own
middle, from straight beside it up to the face.  Between two steps, d apart along the round, it
leaves ridges d^2 (1 / b + 1 / r) / 8 high.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, cos, pi, sin, sqrt, tan
from typing import Final

import shapely
from shapely import MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import DrawnFace
from flushwork.art.regions import many, many_lines
from flushwork.core.tolerances import SLOT_WIDTH_MM
from flushwork.fit.discs import grow, shrink
from flushwork.job.keys.edges import ALONG_TRIM, SUNK
from flushwork.job.records import Edge, EdgeShape, Job
from flushwork.process.orders.drill_orders import trim_bit
from flushwork.shelf.items import Bit, BitKind

OVER_MM: Final = 0.3
"""A V runs with its tip so far beyond a chamfer: where the outline comes out a little off in
another setup, no lip is left standing (assumed, 0.2 to 0.5 mm)."""
HAIR_MM: Final = 0.01
"""What of a rebate is no wider than twice this is no wood left standing."""
SQUARE_RAD: Final = pi / 2.0
"""A chamfer of 45 degrees wants a V-bit of 90."""
UP_MM: Final = 0.002
"""A step that takes no more than this off the face is left out."""
RIDGE_MM: Final = 0.01
"""A ridge between two steps of a ball, at most: half of what paper of 240 takes in a few strokes
(assumed, 0.005 to 0.03 mm)."""
RIDGE_SHARE: Final = 0.002
"""... and this share of the radius: what a third of it leaves along a quarter turn is half a
hundredth of what the round takes."""
KINDS: Final = {
    EdgeShape.CHAMFER: (BitKind.V_BIT,),
    EdgeShape.ROUND: (BitKind.ROUND_OVER, BitKind.BALL),
    EdgeShape.COVE: (BitKind.BALL,),
    EdgeShape.REBATE: (BitKind.FLAT,),
    EdgeShape.GROOVE: (BitKind.BALL, BitKind.FLAT),
}
"""The kinds of bit that make each shape."""


@dataclass(frozen=True, slots=True)
class EdgeWay:
    """One way of the axis along an edge, and the height of the tip from the finished face."""

    lines: MultiLineString
    tip_mm: float


@dataclass(frozen=True, slots=True)
class ShapedEdge:
    """An edge with its bit: what it goes around, as that is cut, and the ways of the axis.

    ``region`` is the piece, or the empty pocket whose rim is shaped; ``taken`` is what the edge
    takes of the face in plan, the open side left out; ``open_side`` is waste, or that pocket.
    ``ways`` are in the order they are run, the deepest first.
    """

    edge: Edge
    bit: Bit
    region: MultiPolygon
    ways: tuple[EdgeWay, ...]
    taken: MultiPolygon
    open_side: MultiPolygon

    @property
    def tip_mm(self) -> float:
        """The lowest height of the tip from the finished face."""
        return self.ways[0].tip_mm

    def inside(self, by_mm: float) -> MultiPolygon:
        """Return the region whose outline runs so far inside the edge."""
        return _taken_at(self.edge, self.region, by_mm)

    @property
    def reaches_mm(self) -> float:
        """How far inside its outline it reaches."""
        return reaches_mm(self.edge)


def _inside(edge: Edge, region: MultiPolygon, by_mm: float) -> MultiPolygon:
    """Return a region whose outline runs ``by_mm`` into the wood, negative out of it."""
    if by_mm == 0.0:
        return region
    inwards = by_mm if edge.along == ALONG_TRIM else -by_mm
    return shrink(region, inwards) if inwards > 0.0 else grow(region, -inwards)


def _taken_at(edge: Edge, region: MultiPolygon, by_mm: float) -> MultiPolygon:
    """Return a region whose outline runs ``by_mm`` inside an edge, as round as the bit goes there.

    Outside the middle of a groove its corners are round: the bit turns on them.
    """
    if edge.shape is not EdgeShape.GROOVE:
        return _inside(edge, region, by_mm)
    return _inside(edge, _inside(edge, region, edge.inset_mm), by_mm - edge.inset_mm)


def reaches_mm(edge: Edge) -> float:
    """Return how far inside its outline an edge reaches."""
    if edge.shape is EdgeShape.GROOVE:
        return edge.inset_mm + edge.size_mm / 2.0
    return edge.size_mm


def wants(edge: Edge) -> str:
    """Return what kind of bit an edge wants, in words."""
    if edge.shape is EdgeShape.CHAMFER:
        return "a V-bit wide and long enough in its flutes"
    if edge.shape is EdgeShape.REBATE:
        return f"a flat bit with {edge.depth_mm:g} mm of flutes"
    if edge.shape is EdgeShape.GROOVE:
        return f"a ball or a flat bit {edge.size_mm:g} mm wide"
    if edge.shape is EdgeShape.ROUND:
        return f"a round-over without a bearing of {edge.size_mm:g} mm radius, or a ball"
    return f"a ball of {edge.size_mm:g} mm radius"


def serves(edge: Edge, bit: Bit) -> bool:
    """Whether a bit can make an edge: of the right kind and size, its flutes long enough."""
    if bit.kind not in KINDS[edge.shape]:
        return False
    if edge.shape is EdgeShape.REBATE:
        return edge.depth_mm <= bit.flute_mm
    if edge.shape is EdgeShape.GROOVE:
        wide = abs(bit.diameter_mm - edge.size_mm) <= SLOT_WIDTH_MM
        return wide and edge.depth_mm <= bit.flute_mm
    if edge.shape is EdgeShape.CHAMFER:
        wide_mm = aside_mm(edge, bit) + edge.size_mm
        return (
            bit.angle_rad > 0.0 and wide_mm <= bit.radius_mm and depth_mm(edge, bit) <= bit.flute_mm
        )
    if in_steps(edge, bit):
        return depth_mm(edge, bit) <= bit.flute_mm
    radius_mm = bit.round_mm if edge.shape is EdgeShape.ROUND else bit.radius_mm
    return abs(radius_mm - edge.size_mm) <= SLOT_WIDTH_MM / 2.0 and edge.size_mm <= bit.flute_mm


def in_steps(edge: Edge, bit: Bit) -> bool:
    """Whether a bit makes an edge in steps: a round by a ball."""
    return edge.shape is EdgeShape.ROUND and bit.kind is BitKind.BALL


def edge_bit(job: Job, edge: Edge) -> Bit | None:
    """Return the bit for an edge: the job's choice, or the best that is owned."""
    if edge.bit is not None:
        return edge.bit
    able = [bit for bit in job.shop.bits if serves(edge, bit)]
    if edge.shape is EdgeShape.REBATE:
        # one way around is soonest, by the narrowest bit that takes the whole width
        whole = [bit for bit in able if bit.diameter_mm >= edge.size_mm + OVER_MM]
        return min(whole, key=_wide_mm, default=max(able, key=_wide_mm, default=None))
    if edge.shape is EdgeShape.GROOVE:
        return min(able, key=lambda bit: bit.kind is not BitKind.BALL, default=None)
    if edge.shape is EdgeShape.ROUND:
        # once around by its own bit; else the stoutest ball, whose steps are the widest
        return min(able, key=lambda bit: (in_steps(edge, bit), -bit.diameter_mm), default=None)
    return min(
        able, key=lambda bit: (abs(bit.angle_rad - SQUARE_RAD), bit.diameter_mm), default=None
    )


def aside_mm(edge: Edge, bit: Bit) -> float:
    """Return how far beyond its outline the axis of an edge's bit runs, on its innermost way."""
    if edge.shape is EdgeShape.COVE:
        return 0.0
    if edge.shape is EdgeShape.GROOVE:
        return -edge.inset_mm
    if edge.shape is EdgeShape.REBATE:
        return bit.radius_mm - edge.size_mm
    return bit.flat_mm / 2.0 + (OVER_MM if edge.shape is EdgeShape.CHAMFER else 0.0)


def depth_mm(edge: Edge, bit: Bit) -> float:
    """Return how far under the finished face the tip runs."""
    if edge.shape is EdgeShape.CHAMFER:
        return (edge.size_mm + OVER_MM) / tan(bit.angle_rad / 2.0)
    if in_steps(edge, bit):
        return edge.size_mm + bit.radius_mm
    return edge.depth_mm if edge.shape in SUNK else edge.size_mm


def left_mm(edge: Edge, bit: Bit, inside_mm: float) -> float:
    """Return the height of an edge, from the finished face, so far inside its outline."""
    size_mm = edge.size_mm
    if inside_mm >= reaches_mm(edge):
        return 0.0
    if edge.shape is EdgeShape.REBATE:
        return -edge.depth_mm
    if edge.shape is EdgeShape.GROOVE:
        return _groove_mm(edge, bit, abs(inside_mm - edge.inset_mm))
    if edge.shape is EdgeShape.CHAMFER:
        return -(size_mm - inside_mm) / tan(bit.angle_rad / 2.0)
    if edge.shape is EdgeShape.COVE:
        return -sqrt(size_mm**2 - inside_mm**2)
    return sqrt(max(0.0, size_mm**2 - (size_mm - inside_mm) ** 2)) - size_mm


def _groove_mm(edge: Edge, bit: Bit, aside_of_middle_mm: float) -> float:
    if aside_of_middle_mm > bit.radius_mm:
        return 0.0
    if bit.kind is BitKind.FLAT:
        return -edge.depth_mm
    up_mm = bit.radius_mm - sqrt(bit.radius_mm**2 - aside_of_middle_mm**2)
    return min(0.0, up_mm - edge.depth_mm)


def _wide_mm(bit: Bit) -> float:
    return bit.diameter_mm


def shaped_edge(
    job: Job, face: DrawnFace, edge: Edge, reached: MultiPolygon | None = None
) -> ShapedEdge | None:
    """Return an edge of a face ready to be cut, None without a bit for it or a line to follow.

    ``reached`` is what the bits of its pocket cut of it; left out, the pocket as drawn.
    """
    bit = edge_bit(job, edge)
    if bit is None or bit.kind not in KINDS[edge.shape]:
        return None
    if edge.along == ALONG_TRIM:
        region = as_trimmed(job, face)
        around = region.buffer(bit.diameter_mm + job.blank.width_mm)
        open_side = many(around.difference(region))
    else:
        pocket = next((each for each in face.pockets if each.pocket.name == edge.along), None)
        if pocket is None:
            return None
        region = open_side = pocket.region if reached is None else reached
    if in_steps(edge, bit):
        ways = _steps(edge, bit, region)
    else:
        ways = (EdgeWay(_ways(edge, bit, region), -depth_mm(edge, bit)),)
    outer_mm = edge.inset_mm - edge.size_mm / 2.0 if edge.shape is EdgeShape.GROOVE else 0.0
    outer, inner = (_taken_at(edge, region, by) for by in (outer_mm, reaches_mm(edge)))
    if ways[0].lines.is_empty:
        return None
    return ShapedEdge(
        edge=edge,
        bit=bit,
        region=region,
        ways=ways,
        taken=many(outer.symmetric_difference(inner)),
        open_side=open_side,
    )


def _ways(edge: Edge, bit: Bit, region: MultiPolygon) -> MultiLineString:
    """Return the way of the axis: once around, of a rebate as often as its width asks.

    The corners of the outline lie farther from the level than its sides: there, and only there, the
    bit goes on until nothing stands.
    """
    if edge.shape is not EdgeShape.REBATE:
        return many_lines(_inside(edge, region, -aside_mm(edge, bit)).boundary)
    top = _inside(edge, region, edge.size_mm)
    found: list[BaseGeometry] = []
    away_mm = bit.radius_mm
    while True:
        found.append(_inside(edge, top, -away_mm).boundary)
        if away_mm + bit.radius_mm >= edge.size_mm + OVER_MM:
            break
        away_mm += bit.step * bit.diameter_mm
    found.extend(_corners(edge, bit, region, top, away_mm))
    return many_lines(shapely.union_all(found))


def _corners(
    edge: Edge, bit: Bit, region: MultiPolygon, top: MultiPolygon, away_mm: float
) -> Iterator[BaseGeometry]:
    """Yield ways over what a rebate's ways up to ``away_mm`` from its level leave standing."""
    while True:
        cut = _inside(edge, top, -away_mm - bit.radius_mm)
        rest = region.difference(cut) if edge.along == ALONG_TRIM else cut.difference(region)
        standing = shrink(many(rest), HAIR_MM)
        if standing.is_empty:
            return
        away_mm += bit.step * bit.diameter_mm
        yield _inside(edge, top, -away_mm).boundary.intersection(grow(standing, bit.diameter_mm))


def _steps(edge: Edge, bit: Bit, region: MultiPolygon) -> tuple[EdgeWay, ...]:
    """Return the ways of a ball that makes a round, from beside it up to the face.

    The first takes the waste; each of the others only the ridge above it.
    """
    round_mm, ball_mm = edge.size_mm, bit.radius_mm
    ridge_mm = min(RIDGE_MM, RIDGE_SHARE * round_mm)
    apart_mm = sqrt(8.0 * ridge_mm / (1.0 / ball_mm + 1.0 / round_mm))
    count = max(2, ceil(pi / 2.0 * round_mm / apart_mm))
    found: list[EdgeWay] = []
    for step in range(count + 1):
        # from the level: a quarter turn lies straight beside the round, none straight above it
        turn = pi / 2.0 * (1.0 - step / count)
        aside = (round_mm + ball_mm) * sin(turn) - round_mm
        up = (round_mm + ball_mm) * cos(turn) - round_mm - ball_mm
        lines = many_lines(_inside(edge, region, -aside).boundary)
        if up < -UP_MM and not lines.is_empty:
            found.append(EdgeWay(lines, up))
    return tuple(found) or (EdgeWay(MultiLineString(), -depth_mm(edge, bit)),)


def as_trimmed(job: Job, face: DrawnFace) -> MultiPolygon:
    """Return the outline as its bit leaves it: inner corners as round as the bit."""
    bit = trim_bit(job)
    if bit is None:
        return face.trim
    return shrink(grow(face.trim, bit.radius_mm), bit.radius_mm)
