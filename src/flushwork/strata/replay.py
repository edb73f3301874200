"""The replay: every step of the process applied to the board, in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from flushwork.job.records import FACES
from flushwork.memory import remembered
from flushwork.strata.board import (
    BoardState,
    CutReport,
    FaceStack,
    LedgerEntry,
    Poured,
    Replay,
)
from flushwork.strata.cutting import run_cut
from flushwork.strata.planes import lay_plane, saw_through, standing_mm
from flushwork.strata.pouring import coat_face, pour, seal_cuts
from flushwork.strata.steps import (
    Action,
    BoardSpec,
    Coat,
    Cut,
    Fill,
    Kerf,
    Plane,
    ReplayStep,
    Seal,
)

_Noted = LedgerEntry | Poured | CutReport | None


@dataclass
class _Records:
    """What is noted down while the steps are applied."""

    ledger: list[LedgerEntry]
    poured: list[Poured] = field(default_factory=list)
    cuts: list[CutReport] = field(default_factory=list)

    def note(self, noted: _Noted) -> None:
        """Note down what one action told."""
        match noted:
            case LedgerEntry():
                self.ledger.append(noted)
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
    share every tile that did not change.  The ledger has an entry per face for the start and one
    per ``Plane``.
    """
    return _replayed(spec, tuple(steps))


@remembered
def _replayed(spec: BoardSpec, steps: tuple[ReplayStep, ...]) -> Replay:
    state = as_sawn()
    states = [state]
    records = _Records(
        ledger=[LedgerEntry(0, face, "as sawn", 0.0, spec.thickness_mm) for face in FACES]
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
        ledger=tuple(records.ledger),
        poured=tuple(records.poured),
        cuts=tuple(records.cuts),
    )


@remembered
def _applied(spec: BoardSpec, state: BoardState, action: Action) -> tuple[BoardState, _Noted]:
    """Return the board after one action, and what there is to note down of it."""
    match action:
        case Plane():
            state = lay_plane(state, action)
            stands_mm = state.face(action.face).plane_mm
            thick_mm = standing_mm(spec, state)
            return state, LedgerEntry(state.stage, action.face, action.why, stands_mm, thick_mm)
        case Cut():
            return run_cut(spec, state, action)
        case Fill():
            return pour(spec, state, action)
        case Seal():
            return seal_cuts(spec, state, action), None
        case Coat():
            return coat_face(state, action), None
        case Kerf():
            return saw_through(spec, state, action), None
