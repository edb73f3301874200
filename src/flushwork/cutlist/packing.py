"""How pieces of any outline lie on one plank: near together, off its defects, along its grain.

Pieces are put one by one to the corner of what is left free that lies furthest to one end; orders
are changed a little, again and again, and the best kept (as by many before: E. K. Burke, G. Kendall
and G. Whitwell, Operations Research 52 (2004), 655-671, from memory, compares them). ``x``
runs along the grain. The same pieces always come to the same places.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from flushwork.cutlist.kept_apart import (
    HAIR_MM,
    barred_places,
    convex_parts,
    grown_outline,
    what_is_left,
)

MOST_PLACINGS: Final = 3000
"""Pieces are put down so often, over all orders tried: about two seconds."""
MOST_PIECES: Final = 500
_IDLE: Final = 60
"""After so many orders that were no better another one is begun with."""
_SAME_MM: Final = 0.01
"""Places this near to each other are equally good; the first way round is taken."""

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class PackedKind:
    """Pieces of one outline; ``count`` None asks for as many as find room.

    ``quarters`` are the quarter turns that it may lie at, the first where nothing is gained.
    """

    name: str
    outline: Polygon
    count: int | None = None
    quarters: tuple[int, ...] = (0, 2)


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a piece lies: turned about its own zero by quarters, which then goes to the place."""

    kind: str
    x_mm: float
    y_mm: float
    quarters: int

    def of(self, shape: BaseGeometry) -> BaseGeometry:
        """Return a shape of the piece's frame where it lies on the plank."""
        turned = rotate(shape, 90.0 * self.quarters, origin=(0.0, 0.0))
        return translate(turned, self.x_mm, self.y_mm)


@dataclass(frozen=True, slots=True)
class Packing:
    """Pieces on a plank, in reading order; ``left_out`` are those without a place, by kind.

    ``used_mm`` is how much of the plank's length they take, ``share`` how much of that ends in
    pieces.
    """

    seats: tuple[Seat, ...]
    left_out: tuple[tuple[str, int], ...]
    used_mm: float
    share: float


@dataclass(frozen=True, slots=True)
class _Turned:
    """A kind at one of its turns: grown by half of the gap, and where its zero may be."""

    kind: int
    quarters: int
    grown: Polygon
    convex: tuple[NDArray[np.float64], ...]
    room: BaseGeometry


@dataclass
class _Table:
    """All that is worked out once: kinds at their turns, and what each keeps the others from."""

    ways: list[list[_Turned]]
    kept_off: dict[tuple[int, int, int, int], BaseGeometry] = field(default_factory=dict)

    def barred(self, lying: _Turned, coming: _Turned) -> BaseGeometry:
        """Return where the zero of a piece may not be, counted from that of one that lies."""
        key = (lying.kind, lying.quarters, coming.kind, coming.quarters)
        if key not in self.kept_off:
            self.kept_off[key] = barred_places(lying.convex, coming.convex)
        return self.kept_off[key]


@dataclass
class _Free:
    """What is left free for one kind at one turn, after so many pieces."""

    room: BaseGeometry
    known: int = 0


def pack(
    kinds: Sequence[PackedKind],
    size_mm: tuple[float, float],
    *,
    gap_mm: float,
    margin_mm: float = 0.0,
    defects: Sequence[Polygon] = (),
    placings: int = MOST_PLACINGS,
) -> Packing:
    """Return where pieces lie on a plank of ``size_mm``, along by across the grain.

    They lie at least ``gap_mm`` from each other and ``margin_mm`` from its edges, and half the gap
    from defects.  Of what all fits that which takes the least of the length is kept.
    """
    inner = margin_mm - gap_mm / 2.0
    room = (inner, inner, size_mm[0] - inner, size_mm[1] - inner)
    found: list[_Laid] = []
    for boxed in (False, True):
        # greedy rows nest into each other, where rows of boxes may hold one piece more
        ways = [
            _ways(numbered, gap_mm, room, defects, boxed=boxed) for numbered in enumerate(kinds)
        ]
        found.append(_best(kinds, _Table(ways), 0 if boxed else placings))
    best = min(found, key=lambda laid: laid.rank)
    return _packing(kinds, best, size_mm)


def _ways(
    numbered: tuple[int, PackedKind],
    gap_mm: float,
    room: tuple[float, float, float, float],
    defects: Sequence[Polygon],
    *,
    boxed: bool,
) -> list[_Turned]:
    """Return a kind at each of its turns; ``boxed`` takes it for the box around it."""
    at, kind = numbered
    grown = grown_outline(kind.outline, gap_mm / 2.0 - HAIR_MM)
    found: list[_Turned] = []
    for quarters in kind.quarters:
        turned = rotate(grown, 90.0 * quarters, origin=(0.0, 0.0))
        turned = shapely.box(*turned.bounds) if boxed else turned
        if any(_alike(turned, other.grown) for other in found):
            continue
        west, south, east, north = turned.bounds
        low, high = (room[0] - west, room[1] - south), (room[2] - east, room[3] - north)
        own: BaseGeometry = Polygon()
        convex = tuple(convex_parts(turned))
        if low[0] <= high[0] and low[1] <= high[1]:
            own = shapely.box(*low, *high)
            bars = [barred_places(tuple(convex_parts(each)), convex) for each in defects]
            own = what_is_left(own, bars) if bars else own
        found.append(_Turned(at, quarters, turned, convex, own))
    return found


def _alike(one: Polygon, other: Polygon) -> bool:
    """Whether one turn of an outline covers what another does, but for where it lies."""
    west, south, *_ = one.bounds
    left, low, *_ = other.bounds
    moved = translate(one, left - west, low - south)
    return bool(moved.symmetric_difference(other).area < 1e-3 * other.area)


# ---- Orders tried, and what one of them comes to


Rank = Callable[[_Turned, NDArray[np.float64]], NDArray[np.float64]]


def _by_left(way: _Turned, corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rank places: what lies furthest left, then nearest."""
    west, south, _, _ = way.grown.bounds
    return np.stack([corners[:, 0] + west, corners[:, 1] + south], axis=1)


def _by_reach(way: _Turned, corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rank places: what reaches least far to the right, then nearest."""
    _, south, east, _ = way.grown.bounds
    return np.stack([corners[:, 0] + east, corners[:, 1] + south], axis=1)


def _by_near(way: _Turned, corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rank places: what lies nearest, then furthest left."""
    return _by_left(way, corners)[:, ::-1]


RANKS: Final[tuple[Rank, ...]] = (_by_reach, _by_left, _by_near)


@dataclass(frozen=True, slots=True)
class _Laid:
    """What one order came to: its pieces, how many found no place, how far they reach."""

    pieces: tuple[tuple[_Turned, Place], ...]
    left_out: tuple[int, ...]
    reach_mm: float

    @property
    def rank(self) -> tuple[int, int, float]:
        """Less is better."""
        return (len(self.left_out), -len(self.pieces), self.reach_mm)


def _best(kinds: Sequence[PackedKind], table: _Table, placings: int) -> _Laid:
    """Try orders, by size first and then each a little changed from the best so far."""
    asked = [at for at, kind in enumerate(kinds) for _ in range(kind.count or 0)]
    filling = [at for at, kind in enumerate(kinds) if kind.count is None]

    def sizes(at: int) -> tuple[float, float, float]:
        west, south, east, north = kinds[at].outline.bounds
        return kinds[at].outline.area, east - west, north - south

    begun = [sorted(asked, key=lambda at, by=by: -sizes(at)[by]) for by in range(3)]  # type: ignore[misc]
    orders = [list(each) for each in dict.fromkeys(map(tuple, begun))]
    best: _Laid | None = None
    kept, rank_of, spent = orders[0], RANKS[0], 0
    for rank in RANKS:
        for order in orders:
            laid = _laid(order, filling, table, rank)
            spent += len(laid.pieces)
            if best is None or laid.rank < best.rank:
                best, kept, rank_of = laid, order, rank
    assert best is not None  # noqa: S101
    if len(set(asked)) < 2:
        return best
    return _climbed(_Begun(kept, rank_of, best), filling, table, placings - spent)


@dataclass(frozen=True, slots=True)
class _Begun:
    """An order, the rank of places it was laid by, and what it came to."""

    order: list[int]
    rank: Rank
    laid: _Laid


def _climbed(begun: _Begun, filling: Sequence[int], table: _Table, placings: int) -> _Laid:
    """Change an order a little, again and again; after ``_IDLE`` vain changes begin another."""
    dice = random.Random(len(begun.order))  # noqa: S311
    here, best, idle = begun, begun.laid, 0
    while placings > 0:
        order, idle = list(here.order), idle + 1
        if idle > _IDLE:
            dice.shuffle(order)
            idle = 0
        _change(order, dice)
        rank = dice.choice(RANKS) if dice.random() < 0.2 else here.rank
        laid = _laid(order, filling, table, rank)
        placings -= len(laid.pieces) + 1
        if idle == 0 or laid.rank <= here.laid.rank:
            idle = idle if laid.rank == here.laid.rank else 0
            here = _Begun(order, rank, laid)
        best = min(best, laid, key=lambda each: each.rank)
    return best


def _change(order: list[int], dice: random.Random) -> None:
    """Swap or move one piece of an order, or up to three."""
    for _ in range(dice.choice((1, 1, 2, 3))):
        one, other = dice.randrange(len(order)), dice.randrange(len(order))
        if dice.random() < 0.5:
            order[one], order[other] = order[other], order[one]
        else:
            order.insert(other, order.pop(one))


def _laid(order: Sequence[int], filling: Sequence[int], table: _Table, rank: Rank) -> _Laid:
    pieces: list[tuple[_Turned, Place]] = []
    free = {(way.kind, way.quarters): _Free(way.room) for ways in table.ways for way in ways}
    left_out = [at for at in order if not _put(at, pieces, free, table, rank)]
    for at in filling:
        while len(pieces) < MOST_PIECES and _put(at, pieces, free, table, rank):
            pass
    reach_mm = max((way.grown.bounds[2] + place[0] for way, place in pieces), default=0.0)
    return _Laid(tuple(pieces), tuple(left_out), reach_mm)


def _put(
    at: int,
    pieces: list[tuple[_Turned, Place]],
    free: dict[tuple[int, int], _Free],
    table: _Table,
    rank: Rank,
) -> bool:
    """Put a piece to the best place that is free for it; False where there is none."""
    best: tuple[tuple[float, float], _Turned, Place] | None = None
    for way in table.ways[at]:
        held = free[way.kind, way.quarters]
        new = pieces[held.known :]
        if new:
            bars = [translate(table.barred(lying, way), *place) for lying, place in new]
            held.room = what_is_left(held.room, bars)
            held.known = len(pieces)
        corners = shapely.get_coordinates(held.room)
        if not len(corners):
            continue
        ranks = rank(way, corners)
        first = int(np.lexsort((ranks[:, 1], np.round(ranks[:, 0] / _SAME_MM)))[0])
        found = (float(ranks[first, 0]), float(ranks[first, 1]))
        if best is None or _before(found, best[0]):
            best = found, way, (float(corners[first, 0]), float(corners[first, 1]))
    if best is None:
        return False
    pieces.append((best[1], best[2]))
    return True


def _before(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether a place is better by more than nothing."""
    if abs(one[0] - other[0]) > _SAME_MM:
        return one[0] < other[0]
    return one[1] < other[1] - _SAME_MM


def _packing(kinds: Sequence[PackedKind], best: _Laid, size_mm: tuple[float, float]) -> Packing:
    seats = [
        Seat(kinds[way.kind].name, round(x, 4), round(y, 4), way.quarters)
        for way, (x, y) in best.pieces
    ]
    outlines = {kind.name: kind.outline for kind in kinds}
    lying = [seat.of(outlines[seat.kind]) for seat in seats]
    used_mm = max((shape.bounds[2] for shape in lying), default=0.0)
    area = math.fsum(Polygon(shape.exterior).area for shape in lying if isinstance(shape, Polygon))
    left: dict[str, int] = {}
    for at in best.left_out:
        left[kinds[at].name] = left.get(kinds[at].name, 0) + 1
    return Packing(
        seats=_read(seats, lying),
        left_out=tuple(left.items()),
        used_mm=used_mm,
        share=area / (used_mm * size_mm[1]) if used_mm else 0.0,
    )


def _read(seats: Sequence[Seat], lying: Sequence[BaseGeometry]) -> tuple[Seat, ...]:
    """Return seats as a page is read: rows from the far edge, each from the left.

    A row holds what has its middle in the further half of its furthest piece.
    """
    boxes = [shape.bounds for shape in lying]
    middles = [((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0) for b in boxes]
    left = sorted(range(len(seats)), key=lambda at: (-middles[at][1], middles[at][0]))
    found: list[int] = []
    while left:
        first = left[0]
        half = (boxes[first][3] - boxes[first][1]) / 2.0
        row = [at for at in left if middles[first][1] - middles[at][1] < half]
        found += sorted(row, key=lambda at: middles[at][0])
        left = [at for at in left if at not in row]
    return tuple(seats[at] for at in found)
