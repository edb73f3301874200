from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.tolerances import FLATTENING_MM
from flushwork.kernels.arcs_and_times import fit_arcs
from flushwork.toolpaths.arcs_on_grid import ARC_FIT_MM, pieces_of
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.speeds import Feeds
from flushwork.toolpaths.track import Track


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


def followed(points: list[tuple[float, float, float]], *, arcs: bool = True) -> list[Move]:
    """Return the cuts of a track that begins at the first point and follows the others."""
    track = Track((0.0, 0.0), 5.0, arcs=arcs)
    track.use(Feeds(feed_mm_min=600.0, plunge_mm_min=60.0, spindle_rpm=18000.0))
    track.over(points[0][:2])
    track.plunge(points[0][2])
    first = len(track.moves)
    track.follow(np.array(points[1:]))
    return track.moves[first:]


def test_a_track_follows_a_curve_as_an_arc_and_in_chords_where_arcs_are_not_wanted() -> None:
    ring = [(x, y, -1.0) for x, y in on_circle(3.0, np.linspace(0.0, 3.0, 60))]
    (arc,) = followed(ring)
    assert arc.kind is MoveKind.ARC
    assert (arc.x_mm, arc.y_mm) == ring[-1][:2]
    chords = followed(ring, arcs=False)
    assert [(move.x_mm, move.y_mm, move.z_mm) for move in chords] == ring[1:]


def test_an_even_slope_becomes_a_helix() -> None:
    turns = np.linspace(0.0, 3.0, 60)
    slope = [(x, y, -1e-3 * index) for index, (x, y) in enumerate(on_circle(3.0, turns))]
    (arc,) = followed(slope)
    assert arc.kind is MoveKind.ARC
    assert arc.z_mm == pytest.approx(-0.059)
    assert arc.turn_rad == pytest.approx(3.0)


def test_a_slope_that_bends_stays_as_it_is() -> None:
    turns = np.linspace(0.0, 3.0, 40)
    bent = [(x, y, -0.01 * k * k) for k, (x, y) in enumerate(on_circle(3.0, turns))]
    assert all(move.kind is MoveKind.FEED for move in followed(bent))


def test_an_arc_does_not_run_over_a_change_of_feed() -> None:
    points = level(on_circle(3.0, np.linspace(0.0, 3.0, 61)))
    feeds = np.where(np.arange(60) < 30, 600.0, 300.0)
    pieces = list(pieces_of(points, feeds))
    assert [piece[0] for piece in pieces] == [30, 60]
    assert all(piece[3] for piece in pieces)
