"""Parts sawn out of boards wider than they are, by cuts that run from edge to edge of what is left.

Every part is put into a free rectangle, and what is left of that is parted in two; which rectangle,
and along or across the grain first, is drawn again and again, the best draw is kept.  Draws follow
one fixed series, so that the same parts always come out the same.

The bound: each part weighs the product of a dual feasible function of either of its sizes, and a
board holds no more than a board's weight (S. P. Fekete and J. Schepers, "A general framework for
bounds for higher-dimensional orthogonal packing problems", Math. Methods of Oper. Res. 60 (2004),
311-329, from memory).  It holds for layouts of any kind, sawn from edge to edge or not.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Final

from flushwork.cutlist.parts import Placed, Plank, SawLayout, Sawn, SawPart

DRAWS: Final = 400
WORK: Final = 60_000
"""Draws are as many as parts and boards allow: DRAWS for few, fewer for many (a second or so)."""
SMALL_MM: Final = 1e-6
MOST_WAYS: Final = 20_000
"""Numbers of boards tried one by one for the bound."""


@dataclass(frozen=True, slots=True)
class _Free:
    """A free rectangle of a board that is already sawn."""

    board: int
    x: float
    y: float
    along: float
    across: float


@dataclass
class _Draw:
    """One way of sawing, while it is drawn."""

    planks: list[Plank]
    kerf: float
    chance: random.Random
    free: list[_Free] = field(default_factory=list)
    placed: list[list[Placed]] = field(default_factory=list)
    used: list[Plank] = field(default_factory=list)

    def put(self, part: SawPart, way: int) -> bool:
        """Put one part where it leaves least, on a new board where it fits on none."""
        found = min(self._places(part, self.free), default=None, key=lambda item: item[0])
        while found is None and self._open(part):
            found = min(self._places(part, self.free), default=None, key=lambda item: item[0])
        if found is None:
            return False
        _, at, x, y, turned = found
        self._saw(at, Placed(part, x, y, turned), way)
        return True

    def _open(self, part: SawPart) -> bool:
        """Begin the board that loses least of those on which the part fits."""
        for plank in sorted(set(self.planks), key=lambda each: (each.area_mm2, each.name)):
            whole = _Free(len(self.used), 0.0, 0.0, plank.along_mm, plank.across_mm)
            self.used.append(plank)
            if any(True for _ in self._places(part, [whole])):
                self.planks.remove(plank)
                self.placed.append([])
                self.free.append(whole)
                return True
            self.used.pop()
        return False

    def _places(
        self, part: SawPart, free: Sequence[_Free]
    ) -> Iterator[tuple[float, int, float, float, bool]]:
        for at, room in enumerate(free):
            for turned in (False, True) if part.turns else (False,):
                along = part.across_mm if turned else part.along_mm
                across = part.along_mm if turned else part.across_mm
                spot = self._spot(room, along, across)
                if spot is not None:
                    left = min(room.along - along, room.across - across)
                    lost = (spot[0] - room.x) * room.across + (spot[1] - room.y) * room.along
                    noise = self.chance.random() * 0.02 * left
                    yield left + 0.01 * lost + noise, at, *spot, turned

    def _spot(self, room: _Free, along: float, across: float) -> tuple[float, float] | None:
        """Return the first corner in a room at which a part lies clear of every defect."""
        if along > room.along + SMALL_MM or across > room.across + SMALL_MM:
            return None
        defects = [
            each
            for each in self.used[room.board].defects
            if each.meets(room.x, room.y, room.along, room.across)
        ]
        if not defects:
            return room.x, room.y
        xs = sorted({room.x, *(each.x_mm + each.along_mm for each in defects)})
        ys = sorted({room.y, *(each.y_mm + each.across_mm for each in defects)})
        for x in xs:
            for y in ys:
                inside = (
                    x >= room.x
                    and y >= room.y
                    and x + along <= room.x + room.along + SMALL_MM
                    and y + across <= room.y + room.across + SMALL_MM
                )
                if inside and not any(each.meets(x, y, along, across) for each in defects):
                    return x, y
        return None

    def _saw(self, at: int, placed: Placed, way: int) -> None:
        """Saw a part out of a free rectangle; keep what is left as rectangles of their own."""
        room = self.free.pop(at)
        self.placed[room.board].append(placed)
        along, across = placed.along_mm + self.kerf, placed.across_mm + self.kerf
        lead, low = placed.x_mm - room.x, placed.y_mm - room.y
        self._keep(room.board, room.x, room.y, lead - self.kerf, room.across)
        self._keep(room.board, placed.x_mm, room.y, room.along - lead, low - self.kerf)
        beyond, above = room.along - lead - along, room.across - low - across
        crosscut = (way == 0) if way < 2 else beyond * room.across > above * room.along
        if crosscut:
            self._keep(room.board, placed.x_mm + along, placed.y_mm, beyond, room.across - low)
            self._keep(room.board, placed.x_mm, placed.y_mm + across, placed.along_mm, above)
        else:
            self._keep(room.board, placed.x_mm, placed.y_mm + across, room.along - lead, above)
            self._keep(room.board, placed.x_mm + along, placed.y_mm, beyond, placed.across_mm)

    def _keep(self, board: int, x: float, y: float, along: float, across: float) -> None:
        if along > SMALL_MM and across > SMALL_MM:
            self.free.append(_Free(board, x, y, along, across))


def saw_panels(parts: Sequence[SawPart], planks: Sequence[Plank], kerf_mm: float) -> SawLayout:
    """Return the best layout drawn: most parts placed, then the least area of boards."""
    singles = [replace(part, count=1) for part in parts for _ in range(part.count)]
    stock = [replace(plank, count=1) for plank in planks for _ in range(plank.count)]
    least_mm2 = bound_mm2(parts, planks, kerf_mm)
    # one fixed series: no security rests on it
    chance = random.Random(1)  # noqa: S311
    draws = max(12, min(DRAWS, WORK // max(1, len(singles) * (len(singles) + len(stock)))))
    best: tuple[tuple[float, float], list[SawPart], _Draw] | None = None
    order = sorted(singles, key=lambda each: (-each.area_mm2, each.name))
    kept = order
    for number in range(draws):
        row = _other_order(kept, number, chance)
        draw = _Draw(list(stock), kerf_mm, chance)
        ways = [number % 3] * len(row) if number < 9 else [chance.randrange(3) for _ in row]
        out = [part for part, way in zip(row, ways, strict=True) if not draw.put(part, way)]
        worth = (
            sum(part.area_mm2 for part in out),
            sum(plank.area_mm2 for plank in draw.used),
        )
        if best is None or worth <= best[0]:
            kept = row
            if best is None or worth < best[0]:
                best = worth, out, draw
        if not best[1] and best[0][1] <= least_mm2 * (1.0 + 1e-9):
            break
    if best is None:
        return SawLayout((), (), 0.0)
    _, out, draw = best
    sawn = tuple(
        Sawn(plank, tuple(placed)) for plank, placed in zip(draw.used, draw.placed, strict=True)
    )
    return SawLayout(sawn, _counted(out), 0.0 if out else least_mm2)


def _other_order(row: Sequence[SawPart], number: int, chance: random.Random) -> list[SawPart]:
    """Return the parts in another order: by length, by width, then with a few swapped."""
    if number < 3:
        return list(row)
    if number < 6:
        return sorted(row, key=lambda each: (-each.along_mm, -each.across_mm, each.name))
    if number < 9:
        return sorted(row, key=lambda each: (-each.across_mm, -each.along_mm, each.name))
    found = list(row)
    for _ in range(1 + chance.randrange(4)):
        first, second = chance.randrange(len(found)), chance.randrange(len(found))
        found[first], found[second] = found[second], found[first]
    return found


def _counted(parts: Sequence[SawPart]) -> tuple[SawPart, ...]:
    return tuple(replace(part, count=parts.count(part)) for part in dict.fromkeys(parts))


def bound_mm2(parts: Sequence[SawPart], planks: Sequence[Plank], kerf_mm: float) -> float:
    """Return an area of boards that no layout can do with less than."""
    along = max(plank.along_mm for plank in planks) + kerf_mm
    across = max(plank.across_mm for plank in planks) + kerf_mm
    held = sum(
        part.count * (part.along_mm + kerf_mm) * (part.across_mm + kerf_mm) for part in parts
    )
    rooms = [
        (plank.area_mm2, (plank.along_mm + kerf_mm) * (plank.across_mm + kerf_mm), plank.count)
        for plank in planks
    ]
    if len({plank.area_mm2 for plank in planks}) > 1:
        return _least_boards(rooms, held)
    boards = math.ceil(held / rooms[0][1] - 1e-9)
    turns = any(part.turns for part in parts)
    if not turns and len({(plank.along_mm, plank.across_mm) for plank in planks}) == 1:
        boards = max(boards, *(_weighed(parts, along, across, kerf_mm)))
    return boards * rooms[0][0]


def _least_boards(rooms: Sequence[tuple[float, float, int]], held: float) -> float:
    """Return the least area of whole boards whose room is enough for all parts.

    ``rooms`` are area, room and number of each kind.  With too many ways to try, boards are taken
    in parts, those with most room for their area first: no more than the least.
    """
    if math.prod(count + 1 for _, _, count in rooms) <= MOST_WAYS:
        enough = (
            sum(area * number for (area, _, _), number in zip(rooms, numbers, strict=True))
            for numbers in product(*(range(count + 1) for _, _, count in rooms))
            if sum(room * number for (_, room, _), number in zip(rooms, numbers, strict=True))
            >= held - SMALL_MM
        )
        return min(enough, default=0.0)
    least = 0.0
    for area, room, count in sorted(rooms, key=lambda each: each[0] / each[1]):
        share = min(1.0, held / (room * count))
        least += share * area * count
        held -= share * room * count
        if held <= SMALL_MM:
            break
    return least


def _weighed(
    parts: Sequence[SawPart], along: float, across: float, kerf_mm: float
) -> Iterator[int]:
    """Yield the boards that parts weigh by pairs of dual feasible functions of their sizes."""
    for first in _functions({(part.along_mm + kerf_mm) / along for part in parts}):
        for second in _functions({(part.across_mm + kerf_mm) / across for part in parts}):
            weight = math.fsum(
                part.count
                * first((part.along_mm + kerf_mm) / along)
                * second((part.across_mm + kerf_mm) / across)
                for part in parts
            )
            yield math.ceil(weight - 1e-6)


def _functions(sizes: set[float]) -> Iterator[Callable[[float], float]]:
    """Yield dual feasible functions: whatever fills a unit weighs at most one under each."""
    yield lambda size: size
    for edge in sorted(size for size in sizes if size <= 0.5):

        def large(size: float, edge: float = edge) -> float:
            """Count what is too large to lie beside anything of ``edge`` as a whole."""
            return 1.0 if size > 1.0 - edge + 1e-12 else size if size >= edge - 1e-12 else 0.0

        yield large
    for lots in (1, 2, 3):

        def stepped(size: float, lots: int = lots) -> float:
            """Round to lots: a share of which so many and one more make a unit stays as it is."""
            whole = size * (lots + 1)
            near = abs(whole - round(whole)) < 1e-9
            return size if near else math.floor(whole) / lots

        yield stepped
