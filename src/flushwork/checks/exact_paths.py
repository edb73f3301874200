"""What the drawing asks of each G-code file, and the way of its tip in straight pieces.

Each piece lies within a stated bound of the tip's way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from math import tan
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, MultiPoint, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Drawn
from flushwork.art.regions import NOTHING, many, united
from flushwork.built import Build
from flushwork.process.orders.drill_orders import bed_places
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import BitKind
from flushwork.toolpaths.moves import Floats, Program, table_of
from flushwork.toolpaths.orders import (
    Cut,
    DrillCut,
    EngraveCut,
    GcodeFile,
    HangerCut,
    LevelCut,
    LineCut,
    Operation,
    PocketCut,
    TrimCut,
    Work,
)

COARSE_MM: Final = 0.01
"""Greatest distance of a chord from its arc in a first look."""
FINE_MM: Final = 0.0005
"""... and where a place is measured: half a step of a G-code file's last decimal."""
SKIM_MM: Final = 0.02
"""A tip this little below the wood's face only marks it."""

Numbers = NDArray[np.int64]
Shapes = NDArray[np.object_]


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """Straight pieces (n, 2, 3) of a way, from and to, and the move each is part of, (n,)."""

    ends_mm: Floats
    move: Numbers

    @property
    def lines(self) -> Shapes:
        """The pieces in plan; one of no length stays a line."""
        return np.asarray(shapely.linestrings(self.ends_mm[:, :, :2]))

    @property
    def lowest_mm(self) -> Floats:
        """The lower end of each, (n,)."""
        return np.asarray(self.ends_mm[:, :, 2].min(axis=1))

    def kept(self, wanted: NDArray[np.bool_]) -> Chords:
        """Return some of them."""
        return Chords(self.ends_mm[wanted], self.move[wanted])


@memoized
def chords_below(
    program: Program, face_mm: float, moved_mm: tuple[float, float], bound_mm: float
) -> Chords:
    """Return the way of the tip below ``face_mm`` (in the file's heights), rapids included.

    Heights are counted from the face, places shifted by ``moved_mm``.  The first move is left
    out: nobody knows where it starts.
    """
    table = table_of(program)
    moves = np.flatnonzero((np.arange(len(table.rapid)) > 0) & ~table.dwells)
    low = np.minimum(table.from_mm[moves, 2], table.to_mm[moves, 2])
    moves = moves[low < face_mm - SKIM_MM]
    centre, turn = table.centre_mm[moves], np.where(table.arc[moves], table.turn_rad[moves], 0.0)
    begin, end = table.from_mm[moves], table.to_mm[moves]
    away = begin[:, :2] - centre
    radius = np.hypot(away[:, 0], away[:, 1])
    step = 2.0 * np.arccos(1.0 - np.minimum(bound_mm / np.maximum(radius, 1e-9), 1.0))
    count = np.maximum(np.ceil(np.abs(turn) / step), 1.0).astype(np.int64)
    owner = np.repeat(np.arange(len(moves)), count)
    first = np.cumsum(count) - count
    number = np.arange(len(owner)) - first[owner]
    shares = np.stack((number, number + 1), axis=1) / count[owner, np.newaxis]
    shares = _clipped(shares, begin[owner, 2], end[owner, 2], face_mm - SKIM_MM)
    kept = shares[:, 1] >= shares[:, 0]
    owner, shares = owner[kept], shares[kept]
    ends = begin[owner, np.newaxis] + shares[:, :, np.newaxis] * (end - begin)[owner, np.newaxis]
    heading = np.arctan2(away[:, 1], away[:, 0])[owner, np.newaxis] + shares * turn[owner, None]
    round_it = (turn[owner] != 0.0)[:, np.newaxis]
    for axis, on_arc in ((0, np.cos(heading)), (1, np.sin(heading))):
        arc = centre[owner, axis, np.newaxis] + radius[owner, np.newaxis] * on_arc
        ends[:, :, axis] = np.where(round_it, arc, ends[:, :, axis]) + moved_mm[axis]
    ends[:, :, 2] -= face_mm
    return Chords(ends, moves[owner])


def _clipped(shares: Floats, from_mm: Floats, to_mm: Floats, below_mm: float) -> Floats:
    """Cut shares (n, 2) of moves that go evenly between two heights back to what lies below."""
    fall = to_mm - from_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = (below_mm - from_mm) / fall
    low = np.where((from_mm > below_mm) & (fall < 0.0), crossing, 0.0)
    high = np.where((to_mm > below_mm) & (fall > 0.0), crossing, 1.0)
    return np.stack((np.maximum(shares[:, 0], low), np.minimum(shares[:, 1], high)), axis=1)


@dataclass(frozen=True, slots=True)
class AskedCut:
    """One thing a file shall cut, in the face's frame, on every piece of the bed.

    ``region`` is what is taken out (POCKET, ENGRAVE) or kept (TRIM); ``lines`` are followed (LINE);
    ``points`` are middles of holes ``hole_mm`` wide (DRILL).  ``floor_mm`` counts from the face, as
    does ``outline_mm``, the height at which the flanks of an ENGRAVE meet the region's outline;
    they widen by ``slope`` per mm.  ``radius_mm`` is that of the bit, of a V its tip's.
    """

    work: Work
    subject: str
    floor_mm: float
    radius_mm: float
    region: MultiPolygon = NOTHING
    lines: MultiLineString = field(default_factory=MultiLineString)
    points: MultiPoint = field(default_factory=MultiPoint)
    hole_mm: float = 0.0
    outline_mm: float = 0.0
    slope: float = 0.0

    @property
    def room_mm(self) -> float:
        """How far from the middle of a hole the axis may go."""
        return max(self.hole_mm / 2.0 - self.radius_mm, 0.0)


def asked_of(build: Build, file: GcodeFile) -> tuple[AskedCut, ...]:
    """Return what a file shall cut; nothing for one that mills a face flush."""
    operations = file.order.operations
    if any(operation.work is Work.MILL_FLUSH for operation in operations):
        return ()
    return tuple(_asked(build, file, operation) for operation in operations)


def _asked(build: Build, file: GcodeFile, operation: Operation) -> AskedCut:
    bit, places = operation.bit, file.order.places
    plain = AskedCut(operation.work, operation.subject, operation.floor_mm, bit.radius_mm)
    match operation:
        case PocketCut():
            return replace(plain, region=on_all_places(_pocket(build, operation), places))
        case HangerCut() | LineCut():
            lines, drawn = _way(operation), _drawn(build, operation)
            if drawn is not None:
                lines = drawn.strokes
            region = NOTHING if drawn is None else drawn.region
            return replace(
                plain,
                work=Work.LINE,  # an edge is a line that its bit follows
                lines=_on_all(lines, places),
                region=on_all_places(region, places),
            )
        case EngraveCut():
            drawn = _drawn(build, operation)
            region = operation.region if drawn is None else drawn.region
            pointed = bit.kind is BitKind.V_BIT
            return replace(
                plain,
                radius_mm=bit.tip_mm / 2.0 if pointed else bit.radius_mm,
                region=on_all_places(region, places),
                outline_mm=operation.outline_mm,
                slope=tan(bit.angle_rad / 2.0) if pointed else 0.0,
            )
        case DrillCut():
            return replace(plain, points=_points(build, file, operation), hole_mm=operation.hole_mm)
        case TrimCut():
            trim = build.face(file.order.face).trim
            return replace(plain, region=on_all_places(trim, places))
        case LevelCut():
            return plain


def _way(cut: HangerCut | LineCut) -> MultiLineString:
    return MultiLineString([cut.way]) if isinstance(cut, HangerCut) else cut.lines


def _pocket(build: Build, cut: PocketCut) -> MultiPolygon:
    """Return a pocket as drawn; the floor of an engraving as it was planned."""
    drawn = _drawn(build, cut)
    return cut.region if drawn is None or drawn.thing.v_bit else drawn.region


def _drawn(build: Build, cut: Cut) -> Drawn | None:
    return next((each for each in build.things if each.thing.name == cut.subject), None)


def _on_all(lines: MultiLineString, places: Sequence[tuple[float, float]]) -> MultiLineString:
    return MultiLineString(
        [line for dx, dy in places for line in shapely.get_parts(_moved(lines, dx, dy)).tolist()]
    )


def on_all_places(region: MultiPolygon, places: Sequence[tuple[float, float]]) -> MultiPolygon:
    """Return a region once for each piece on the bed."""
    if region.is_empty or tuple(places) == ((0.0, 0.0),):
        return region
    return united([many(_moved(region, dx, dy)) for dx, dy in places])


def _moved(shape: BaseGeometry, dx: float, dy: float) -> BaseGeometry:
    return shapely.transform(shape, lambda places: places + np.array((dx, dy)))


def _points(build: Build, file: GcodeFile, operation: DrillCut) -> MultiPoint:
    """Return the middles of the holes as drawn; of recesses and marks as they were planned."""
    for pattern in build.face(file.order.face).holes:
        if pattern.holes.name == operation.subject:
            return MultiPoint(
                [
                    (hole.x_mm + dx, hole.y_mm + dy)
                    for dx, dy in bed_places(build.job)
                    for hole in pattern.places
                ]
            )
    return MultiPoint(list(operation.points))


def cut_together(build: Build) -> Iterator[tuple[tuple[GcodeFile, AskedCut], ...]]:
    """Yield, for each thing that is asked, all files that cut it in the same holding."""

    def of(pair: tuple[GcodeFile, AskedCut]) -> tuple[int, bool, str, str]:
        order, asked = pair[0].order, pair[1]
        return order.setup, order.bare, asked.work.value, asked.subject

    pairs = [(file, asked) for file in build.gcode_files for asked in asked_of(build, file)]
    for _, group in groupby(sorted(pairs, key=of), key=of):
        yield tuple(group)
