"""Programs travel between processes whole."""

from __future__ import annotations

import pickle

from hypothesis import given
from hypothesis import strategies as st

from flushwork.toolpaths.moves import Move, MoveKind, Program

figures = st.floats(-500.0, 500.0)
moves = st.builds(
    Move,
    kind=st.sampled_from(MoveKind),
    x_mm=figures,
    y_mm=figures,
    z_mm=figures,
    turn_rad=st.floats(-7.0, 7.0),
    dwell_s=st.floats(0.0, 5.0),
    line=st.integers(0, 99_999),
)


@given(st.lists(moves, max_size=12))
def test_a_program_comes_back_as_it_went(some: list[Move]) -> None:
    program = Program((0.0, -1.0, 5.0), tuple(some))
    packed = pickle.dumps(program, protocol=pickle.HIGHEST_PROTOCOL)
    again = pickle.loads(packed)  # noqa: S301  (packed a line before)
    assert again == program
    assert all(isinstance(move.kind, MoveKind) for move in again.moves)
