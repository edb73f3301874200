"""From an order to moves: every operation traced in turn, the bit safe in between."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Machine
from flushwork.toolpaths.drill import DrillHole, trace_drill
from flushwork.toolpaths.engrave import trace_engraving
from flushwork.toolpaths.hanger import trace_hanger
from flushwork.toolpaths.lines import trace_line
from flushwork.toolpaths.mill_flush import trace_flush
from flushwork.toolpaths.moves import Move
from flushwork.toolpaths.orders import (
    CutOrder,
    DrillCut,
    EngraveCut,
    HangerCut,
    LevelCut,
    LineCut,
    Milled,
    Operation,
    OperationSpan,
    PocketCut,
    TrimCut,
)
from flushwork.toolpaths.pocket import trace_pocket
from flushwork.toolpaths.speeds import eased, operation_feeds
from flushwork.toolpaths.track import Place2, Place3, Track
from flushwork.toolpaths.trim import trace_trim


@dataclass(frozen=True, slots=True)
class Traced:
    """The moves of one G-code file, in the file's coordinates.

    The first move only lifts to the clear height (its x and y are meaningless); the last leaves
    the bit there.  ``spans`` say which moves serve which operation; an operation with nothing
    to cut has none.  ``drills`` say which moves are one drilled hole, so that the writer may
    replace them by a cycle.
    """

    moves: tuple[Move, ...]
    spans: tuple[OperationSpan, ...]
    drills: tuple[DrillHole, ...]


def trace(order: CutOrder) -> Traced:
    """Turn the operations of a G-code file into moves.

    The order's bit cuts them all, one after the other as given, each on every piece on the bed.
    The clear height is the machine's, counted from the highest material of any operation, and
    above what stands beside it.

    Raises ``ValueError`` where a hole is narrower than its bit; the check refuses such a job
    before it comes here.
    """
    highest = max((operation.top_mm for operation in order.operations), default=0.0)
    clear_mm = max(order.machine.clear_mm + max(highest, 0.0), order.over_mm)
    begun = Track(order.origin_mm, clear_mm)
    moves, at_mm = list(begun.moves), begun.at_mm
    spans: list[OperationSpan] = []
    drills: list[DrillHole] = []
    bed = _Bed(order.machine, order.origin_mm, order.places, clear_mm)
    for operation in order.operations:
        first = len(moves)
        part = _traced(bed, operation, at_mm)
        moves.extend(part.moves)
        drills.extend(
            replace(hole, first=hole.first + first, last=hole.last + first) for hole in part.drills
        )
        at_mm = part.ends_mm
        if part.moves:
            spans.append(OperationSpan(operation.subject, operation.work, first, len(moves) - 1))
    return Traced(tuple(moves), tuple(spans), tuple(drills))


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """The moves of one operation, its drills by their numbers among them, where it ends."""

    moves: tuple[Move, ...]
    drills: tuple[DrillHole, ...]
    ends_mm: Place3


@dataclass(frozen=True, slots=True)
class _Bed:
    """All of an order that its moves depend on beside the operations: where, and on what machine.

    An operation of another order on the same bed is thus known again.
    """

    machine: Machine
    origin_mm: Place2
    places: tuple[Place2, ...]
    clear_mm: float


@memoized
def _traced(bed: _Bed, operation: Operation, at_mm: Place3) -> _Part:
    """Trace one operation on a bed, the bit standing at ``at_mm``."""
    machine = bed.machine
    track = Track(bed.origin_mm, bed.clear_mm, arcs=machine.dialect.arcs, at_mm=at_mm)
    drills: tuple[DrillHole, ...] = ()
    track.use(operation_feeds(operation, machine))
    if isinstance(operation, DrillCut):
        drills = trace_drill(track, operation, cycles=machine.dialect.cycles)
    else:
        for place in bed.places:
            track.shift(bed.origin_mm, place)
            _trace_on_one_piece(track, operation)
            track.lift()
        track.shift(bed.origin_mm, (0.0, 0.0))
    track.lift()
    x, y = bed.origin_mm
    begun_mm = (at_mm[0] - x, at_mm[1] - y, at_mm[2])
    moves = eased(track.moves, begun_mm, machine.lines_s, machine.dialect.arcs)
    return _Part(tuple(moves), drills, track.at_mm)


def _trace_on_one_piece(track: Track, cut: Milled) -> None:
    match cut:
        case PocketCut():
            trace_pocket(track, cut)
        case LineCut():
            trace_line(track, cut)
        case EngraveCut():
            trace_engraving(track, cut)
        case LevelCut():
            trace_flush(track, cut)
        case TrimCut():
            trace_trim(track, cut)
        case HangerCut():
            trace_hanger(track, cut)
