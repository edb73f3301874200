"""The replay: every step of the process applied to the board, in order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from flushwork.job.records import FACES
from flushwork.runtime.memo import memoized
from flushwork.strata.cutting import run_cut
from flushwork.strata.planes import lay_plane, saw_through, standing_mm
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
from flushwork.strata.through_holes import HOLE_MM, other_name, replaced
from flushwork.toolpaths.moves import table_of

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
