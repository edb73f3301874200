from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.kernels.arc_fit import fit_arcs
from flushwork.tolerances import FLATTENING_MM
from flushwork.toolpaths.arc_fit import ARC_FIT_MM, with_arcs
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import OperationSpan, Work
from flushwork.toolpaths.trace import Traced


def feed(x: float, y: float, z: float = -1.0, feed_mm_min: float = 600.0) -> Move:
    return Move(MoveKind.FEED, x, y, z, feed_mm_min, spindle_rpm=18000.0)


def on_circle(radius: float, turns: np.ndarray) -> list[tuple[float, float]]:
    return [(radius * math.cos(turn), radius * math.sin(turn)) for turn in turns.tolist()]


def level(points: list[tuple[float, float]]) -> np.ndarray:
    return np.array([(x, y, -1.0) for x, y in points])


def chords_within(radius: float) -> float:
    """Return the turn of a chord that bows by just under the flattening bound."""
    return 2.0 * math.acos(1.0 - 0.9 * FLATTENING_MM / radius)


def test_a_flattened_circle_becomes_a_few_arcs_about_its_centre() -> None:
    points = level(on_circle(5.0, np.linspace(0.0, 2.0 * math.pi, 80)))
    ends, arcs = fit_arcs(points, ARC_FIT_MM, ARC_FIT_MM + FLATTENING_MM)
    assert len(ends) <= 3
    assert ends[-1] == 79
    assert np.abs(arcs[:, :2]).max() < 1e-6
    assert arcs[:, 2].sum() == pytest.approx(2.0 * math.pi)


def test_corners_stay_corners() -> None:
    square = level([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)])
    ends, arcs = fit_arcs(square, ARC_FIT_MM, ARC_FIT_MM + FLATTENING_MM)
    assert ends.tolist() == [1, 2, 3, 4]
    assert not arcs.any()


@settings(max_examples=40, deadline=None)
@given(
    radius=st.floats(0.3, 80.0),
    sweep=st.floats(0.3, 6.0),
    straight=st.floats(0.5, 20.0),
    clockwise=st.booleans(),
)
def test_every_point_of_a_chain_lies_on_what_replaces_it(
    radius: float, sweep: float, straight: float, clockwise: bool
) -> None:
    count = max(6, math.ceil(sweep / chords_within(radius)) + 1)
    turns = np.linspace(0.0, -sweep if clockwise else sweep, count)
    points = level([(radius, straight if clockwise else -straight), *on_circle(radius, turns)])
    ends, arcs = fit_arcs(points, ARC_FIT_MM, ARC_FIT_MM + FLATTENING_MM)
    assert len(ends) <= 5
    first = 0
    for end, (x, y, turn) in zip(ends.tolist(), arcs.tolist(), strict=True):
        if turn:
            about = np.hypot(points[first : end + 1, 0] - x, points[first : end + 1, 1] - y)
            assert np.ptp(about) <= 2.0 * ARC_FIT_MM
            assert (turn < 0.0) == clockwise
        else:
            assert end == first + 1
        first = end
    assert first == len(points) - 1


def test_spans_and_drills_follow_their_moves() -> None:
    ring = [feed(*point) for point in on_circle(3.0, np.linspace(0.0, 3.0, 60))]
    lift = Move(MoveKind.RAPID, 0.0, 0.0, 5.0)
    hole = [feed(9.0, 9.0, -2.0), Move(MoveKind.DWELL, 9.0, 9.0, -2.0, dwell_s=0.1), lift]
    moves = (lift, *ring, lift, *hole)
    traced = Traced(
        moves,
        (OperationSpan("ring", Work.POCKET, 0, 61), OperationSpan("hole", Work.DRILL, 62, 64)),
        (DrillHole(62, 64, 9.0, 9.0, 0.0, -2.0, 0.0, 0.1),),
    )
    fitted = with_arcs(traced)
    assert len(fitted.moves) < 10
    first, second = fitted.spans
    assert fitted.moves[second.first].z_mm == -2.0
    assert first.last + 1 == second.first
    assert fitted.moves[fitted.drills[0].last] == lift
    assert fitted.drills[0].first == second.first


def test_an_even_slope_becomes_a_helix() -> None:
    turns = np.linspace(0.0, 3.0, 60)
    slope = [feed(x, y, -0.01 * index) for index, (x, y) in enumerate(on_circle(3.0, turns))]
    lift = Move(MoveKind.RAPID, 0.0, 0.0, 5.0)
    fitted = with_arcs(Traced((lift, *slope), (), ())).moves
    assert [move.kind for move in fitted] == [MoveKind.RAPID, MoveKind.FEED, MoveKind.ARC]
    assert fitted[-1].z_mm == pytest.approx(-0.59)
    assert fitted[-1].turn_rad == pytest.approx(3.0)


def test_a_slope_that_bends_and_changes_of_feed_are_left_as_they_are() -> None:
    turns = np.linspace(0.0, 3.0, 40)
    lift = Move(MoveKind.RAPID, 0.0, 0.0, 5.0)
    bent = (
        lift,
        *(feed(x, y, -0.01 * index * index) for index, (x, y) in enumerate(on_circle(3.0, turns))),
    )
    assert with_arcs(Traced(bent, (), ())).moves == bent
    hurried = (
        lift,
        *(feed(x, y, -1.0, 500.0 + 9 * index) for index, (x, y) in enumerate(on_circle(3.0, turns))),
    )
    assert with_arcs(Traced(hurried, (), ())).moves == hurried
