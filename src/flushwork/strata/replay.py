"""The replay: every step of the process applied to the board, on cells of a chosen side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from flushwork.art.drawn import Drawn, DrawnFace
from flushwork.core.tolerances import CELL_MM, FINE_CELL_MM
from flushwork.job.records import FACES, Job
from flushwork.runtime.memo import memoized
from flushwork.strata.cutting import run_cut
from flushwork.strata.planes import (
    HOLE_MM,
    lay_plane,
    other_name,
    replaced,
    saw_through,
    standing_mm,
)
from flushwork.strata.pouring import coat_face, pour, seal_cuts
from flushwork.strata.steps import (
    Action,
    BoardSpec,
    Coat,
    CutStep,
    Fill,
    Kerf,
    Plane,
    ReplayStep,
    Seal,
)
from flushwork.strata.surfaces import BoardState, CutReport, FaceStack, Poured, Replay, ThicknessRow
from flushwork.toolpaths.moves import table_of

# ---- The side of a replay cell: how fine the board is looked at, and why


CELLS_ACROSS: Final = 6.0
"""Cells a width must span so that its volume is within 1 % wherever the lattice falls
(``design/cell_mm.py`` prints the error against the choice)."""

_FINEST_CELL_MM: Final = 0.02


def choose_cell_mm(narrowest_mm: float) -> float:
    """Return the side of a cell for artwork whose narrowest width is ``narrowest_mm``.

    The default serves any width of six cells and more.
    """
    if narrowest_mm < CELLS_ACROSS * FINE_CELL_MM:
        return max(_FINEST_CELL_MM, round(narrowest_mm / CELLS_ACROSS, 3))
    return FINE_CELL_MM if narrowest_mm < CELLS_ACROSS * CELL_MM else CELL_MM


def board_spec(job: Job, faces: Sequence[DrawnFace]) -> BoardSpec:
    """Return the blank as the replay needs it, with the job's cell or one that fits its artwork.

    A seam is as wide as the job says, a shape as wide as twice its area over its outline (a long
    line's width); nothing is cut narrower than the narrowest bit.
    """
    cell_mm = job.cell_mm
    if cell_mm is None:
        drawn = [item for face in faces for item in face.things]
        widths = [_narrowest_mm(job, item) for item in drawn]
        cell_mm = choose_cell_mm(min(widths, default=CELLS_ACROSS * CELL_MM))
    return BoardSpec(
        length_mm=job.blank.length_mm,
        width_mm=job.blank.width_mm,
        thickness_mm=job.blank.thickness_mm,
        turn_about_x=job.blank.turn_about_x,
        cell_mm=cell_mm,
    )


def _narrowest_mm(job: Job, drawn: Drawn) -> float:
    seam = drawn.thing.seam
    if seam is not None:
        return seam.width_mm
    widths = [2.0 * part.area / part.length for part in drawn.region.geoms if part.length > 0.0]
    bits = drawn.thing.bits or job.shop.bits
    return max(
        min(widths, default=CELLS_ACROSS * CELL_MM),
        min((bit.diameter_mm for bit in bits), default=0.0),
    )


# ---- The replay: every step of the process applied to the board, in order


_Noted = ThicknessRow | Poured | CutReport | None


@dataclass
class _Records:
    """What is noted down while the steps are applied."""

    thickness_table: list[ThicknessRow]
    poured: list[Poured] = field(default_factory=list)
    cuts: list[CutReport] = field(default_factory=list)

    def note(self, noted: _Noted) -> None:
        """Note down what one action told."""
        match noted:
            case ThicknessRow():
                self.thickness_table.append(noted)
            case Poured():
                self.poured.append(noted)
            case CutReport():
                self.cuts.append(noted)


def as_sawn() -> BoardState:
    """Return the untouched blank, before stage 1."""
    return BoardState(stage=0, front=FaceStack(0.0, {}), back=FaceStack(0.0, {}))


def replay(spec: BoardSpec, steps: Sequence[ReplayStep]) -> Replay:
    """Return the whole process replayed on the blank ``spec``.

    The states begin with the blank as sawn (stage 0) and hold one snapshot per step; snapshots
    share every tile that did not change.  The thickness table has an entry per face for the start
    and one per ``Plane``.
    """
    return _replayed(spec, tuple(steps))


@memoized
def _replayed(spec: BoardSpec, steps: tuple[ReplayStep, ...]) -> Replay:
    state = as_sawn()
    states = [state]
    records = _Records(
        thickness_table=[ThicknessRow(0, face, "as sawn", 0.0, spec.thickness_mm) for face in FACES]
    )
    for step in steps:
        state = replace(state, stage=step.stage)
        for action in step.actions:
            state, noted = _applied(spec, state, action)
            records.note(noted)
        states.append(state)
    return Replay(
        spec=spec,
        states=tuple(states),
        thickness_table=tuple(records.thickness_table),
        poured=tuple(records.poured),
        cuts=tuple(records.cuts),
    )


def _applied(spec: BoardSpec, state: BoardState, action: Action) -> tuple[BoardState, _Noted]:
    """Return the board after one action, and what there is to note down of it."""
    name = action.face
    face, other = state.face(name), state.face(other_name(name))
    if _lowest_mm(face, action) + other.lowest_mm + spec.thickness_mm <= HOLE_MM:
        return _on_board(spec, state, action)
    # nothing comes through: of the other face only its plane matters
    alone = replaced(as_sawn(), name, face)
    board = replaced(alone, other_name(name), FaceStack(other.plane_mm, {}))
    after, noted = _on_board(spec, board, action)
    noted = noted and replace(noted, stage=state.stage)
    return replaced(state, name, after.face(name)), noted


def _lowest_mm(face: FaceStack, action: Action) -> float:
    """Return how low a face's wood may be once an action is done, in mm."""
    match action:
        case Kerf():
            return -math.inf
        case Plane():
            return min(face.lowest_mm, action.to_mm)
        case CutStep():
            heights = table_of(action.program).to_mm[:, 2]
            deepest_mm = float(heights.min(initial=action.program.start[2]))
            return min(face.lowest_mm, action.zero_mm + deepest_mm)
        case _:
            return face.lowest_mm


@memoized
def _on_board(spec: BoardSpec, state: BoardState, action: Action) -> tuple[BoardState, _Noted]:
    match action:
        case Plane():
            state = lay_plane(state, action)
            stands_mm = state.face(action.face).plane_mm
            thick_mm = standing_mm(spec, state)
            return state, ThicknessRow(state.stage, action.face, action.why, stands_mm, thick_mm)
        case CutStep():
            return run_cut(spec, state, action)
        case Fill():
            return pour(spec, state, action)
        case Seal():
            return seal_cuts(spec, state, action), None
        case Coat():
            return coat_face(state, action), None
        case Kerf():
            return saw_through(spec, state, action), None
