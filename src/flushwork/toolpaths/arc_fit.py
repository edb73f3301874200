"""Chains of short straight cuts written as the arcs they follow: shorter files, smoother motion."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Final

import numpy as np

from flushwork.kernels.arc_fit import LEAST_CHORDS, fit_arcs
from flushwork.tolerances import FLATTENING_MM
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import OperationSpan
from flushwork.toolpaths.trace import Traced

ARC_FIT_MM: Final = 0.002
"""Greatest distance of a chain's points from its arc; between them the arc may bow out by as much
as flattening took off (FLATTENING_MM).  It is the bound the published reader allows an arc's
own radii (NISTIR 6556, section 3.5.3.2), and far below what a cutter's run-out makes of it."""


_FEED_DECIMALS: Final = 6


def with_arcs(traced: Traced, bound_mm: float = ARC_FIT_MM) -> Traced:
    """Return the same cuts with chains of straight moves fitted by arcs, level or winding.

    Only chains at one feed and spindle speed are fitted, within one operation.
    """
    starts = {span.first for span in traced.spans}
    moves: list[Move] = []
    places: list[int] = []
    for chain in _chains(traced.moves, starts):
        before = moves[-1] if moves else None
        fitted, kept = _fitted(before, chain, bound_mm)
        places.extend(len(moves) + index for index in kept)
        moves.extend(fitted)
    return Traced(
        moves=tuple(moves),
        spans=tuple(_moved_span(span, places) for span in traced.spans),
        drills=tuple(_moved_hole(hole, places) for hole in traced.drills),
    )


def _chains(moves: Sequence[Move], starts: set[int]) -> Iterator[list[Move]]:
    """Yield runs of moves that could hold an arc, and every other move by itself."""
    run = 0

    def key(pair: tuple[int, Move]) -> tuple[float, ...]:
        nonlocal run
        index, move = pair
        if move.kind is not MoveKind.FEED or index in starts:
            run += 1
            return (float(run),)
        return (float(run), round(move.feed_mm_min, _FEED_DECIMALS), move.spindle_rpm)

    for _, group in groupby(enumerate(moves), key=key):
        yield [move for _, move in group]


def _fitted(
    before: Move | None, chain: list[Move], bound_mm: float
) -> tuple[list[Move], list[int]]:
    """Return a chain's moves, and for each move of the chain the index of the one it is now in."""
    same = list(range(len(chain)))
    if before is None or len(chain) < LEAST_CHORDS or chain[0].kind is not MoveKind.FEED:
        return chain, same
    points = np.array([(move.x_mm, move.y_mm, move.z_mm) for move in (before, *chain)])
    ends, arcs = fit_arcs(points, bound_mm, FLATTENING_MM + bound_mm)
    result: list[Move] = []
    kept: list[int] = []
    for end, (x_mm, y_mm, turn_rad) in zip(ends.tolist(), arcs.tolist(), strict=True):
        kept.extend([len(result)] * (end - len(kept)))
        last = chain[end - 1]
        result.append(_arc(last, x_mm, y_mm, turn_rad) if turn_rad else last)
    return result, kept


def _arc(last: Move, x_mm: float, y_mm: float, turn_rad: float) -> Move:
    """Return the arc that ends where the straight move ``last`` did."""
    return Move(
        MoveKind.ARC,
        last.x_mm,
        last.y_mm,
        last.z_mm,
        last.feed_mm_min,
        x_mm,
        y_mm,
        turn_rad,
        spindle_rpm=last.spindle_rpm,
    )


def _moved_span(span: OperationSpan, places: Sequence[int]) -> OperationSpan:
    return replace(span, first=places[span.first], last=places[span.last])


def _moved_hole(hole: DrillHole, places: Sequence[int]) -> DrillHole:
    return replace(hole, first=places[hole.first], last=places[hole.last])
