"""From an order to moves: every operation traced in turn, the cutter safe in between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from flushwork.toolpaths.drill import DrillHole, trace_drill
from flushwork.toolpaths.engrave import trace_engraving
from flushwork.toolpaths.feeds import operation_feeds
from flushwork.toolpaths.level import trace_level
from flushwork.toolpaths.line import trace_line
from flushwork.toolpaths.moves import Move
from flushwork.toolpaths.orders import CutOrder, Operation, OperationSpan, Work
from flushwork.toolpaths.pocket import trace_pocket
from flushwork.toolpaths.track import Track
from flushwork.toolpaths.trim import trace_trim


@dataclass(frozen=True, slots=True)
class Traced:
    """The moves of one cut file, in the file's coordinates.

    The first move only lifts to the clear height (its x and y are meaningless); the last leaves
    the cutter there.  ``spans`` say which moves serve which operation; an operation with nothing
    to cut has none.  ``drills`` say which moves are one drilled hole, so that the writer may
    replace them by a cycle.
    """

    moves: tuple[Move, ...]
    spans: tuple[OperationSpan, ...]
    drills: tuple[DrillHole, ...]


Tracer = Callable[[Track, Operation], None]

TRACERS: Final[dict[Work, Tracer]] = {
    Work.POCKET: trace_pocket,
    Work.LINE: trace_line,
    Work.ENGRAVE: trace_engraving,
    Work.LEVEL: trace_level,
    Work.TRIM: trace_trim,
}


def trace(order: CutOrder) -> Traced:
    """Turn the operations of a cut file into moves.

    The order's cutter cuts them all, one after the other as given, each on every piece on the bed.
    The clear height is the machine's, counted from the highest material of any operation, and
    above what stands beside it.

    Raises ``ValueError`` where a hole is narrower than its cutter; the proof refuses such a job
    before it comes here.
    """
    highest = max((operation.top_mm for operation in order.operations), default=0.0)
    clear_mm = max(order.machine.clear_mm + max(highest, 0.0), order.over_mm)
    track = Track(order.origin_mm, clear_mm, arcs=order.machine.dialect.arcs)
    spans: list[OperationSpan] = []
    drills: list[DrillHole] = []
    for operation in order.operations:
        first = len(track.moves)
        track.use(operation_feeds(operation, order.machine))
        if operation.work is Work.DRILL:
            drills.extend(trace_drill(track, operation))
        else:
            for place in order.places:
                track.shift(order.origin_mm, place)
                TRACERS[operation.work](track, operation)
                track.lift()
            track.shift(order.origin_mm, (0.0, 0.0))
        track.lift()
        if len(track.moves) > first:
            spans.append(
                OperationSpan(operation.subject, operation.work, first, len(track.moves) - 1)
            )
    return Traced(tuple(track.moves), tuple(spans), tuple(drills))
