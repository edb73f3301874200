"""Run time against closed forms of uniformly accelerated motion (any textbook of mechanics)."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.gcode.run_time import CORNER_MM, move_times_s, run_time_s
from flushwork.kernels.arcs_and_times import chain_times
from flushwork.toolpaths.moves import Move, MoveKind, Program
from tests.gcode.text_samples import MACHINE, arc, feed, rapid

A = MACHINE.acceleration_mm_s2
ORIGIN = (0.0, 0.0, 0.0)


def seconds(*moves: Move) -> float:
    return run_time_s(Program(ORIGIN, moves), MACHINE)


def test_one_long_move_is_a_trapezoid() -> None:
    speed = 900.0 / 60.0
    assert seconds(feed(100, 0, 0)) == pytest.approx(100.0 / speed + speed / A, rel=1e-12)


def test_one_short_move_is_a_triangle() -> None:
    assert seconds(feed(0.3, 0, 0)) == pytest.approx(2.0 * math.sqrt(0.3 / A), rel=1e-12)


def test_rapids_go_at_the_machine_s_own_speed() -> None:
    speed = MACHINE.rapid_mm_min / 60.0
    assert seconds(rapid(0, 200, 0)) == pytest.approx(200.0 / speed + speed / A, rel=1e-12)


def test_feed_never_passes_the_machine_s_limit() -> None:
    limit = MACHINE.feed_mm_min / 60.0
    assert seconds(feed(200, 0, 0, 9e9)) == pytest.approx(200.0 / limit + limit / A, rel=1e-12)


def test_straight_on_is_one_move() -> None:
    """Ten pieces of one line take as long as the line."""
    pieces = [feed(0.7 * k, 1.1 * k, 0) for k in range(1, 11)]
    assert seconds(*pieces) == pytest.approx(seconds(feed(7, 11, 0)), rel=1e-9)


def test_slowing_for_a_slower_feed() -> None:
    """Down from u to w within the first move: (u - w) / a is gained on the ramp."""
    u, w, length = 20.0, 5.0, 50.0
    expected = (
        u / A
        + (u - w) / A
        + (length - u * u / (2 * A) - (u * u - w * w) / (2 * A)) / u
        + (length - w * w / (2 * A)) / w
        + w / A
    )
    assert seconds(feed(50, 0, 0, 60 * u), feed(100, 0, 0, 60 * w)) == pytest.approx(
        expected, rel=1e-12
    )


def test_a_square_corner_is_passed_at_the_stated_speed() -> None:
    speed, at_corner = 30.0, math.sqrt(2.0 * A * CORNER_MM) / math.sin(math.pi / 4)
    assert at_corner < speed
    # from rest to speed, down to the corner's speed; the same again backward
    ramps = speed / A + (speed - at_corner) / A
    cruise = (40.0 - speed**2 / (2 * A) - (speed**2 - at_corner**2) / (2 * A)) / speed
    assert seconds(feed(40, 0, 0, 1800), feed(40, 40, 0, 1800)) == pytest.approx(
        2.0 * (ramps + cruise), rel=1e-12
    )


def test_an_arc_is_held_by_its_centripetal_acceleration() -> None:
    radius = 0.5
    start = rapid(radius, 0, 0)
    ring = replace(arc(start, (0.0, 0.0), 2 * math.pi, 0.0), feed_mm_min=2400.0)
    speed = math.sqrt(A * radius)
    times = move_times_s(Program((radius, 0.0, 0.0), (ring,)), MACHINE)
    assert times.sum() == pytest.approx(2 * math.pi * radius / speed + speed / A, rel=1e-12)


def test_chords_of_an_arc_take_about_as_long_as_the_arc() -> None:
    """The room for each turn gives the centripetal limit without knowing that it is an arc."""
    radius, count = 2.0, 90
    start = (radius, 0.0, 0.0)
    ring = replace(arc(rapid(radius, 0, 0), (0.0, 0.0), 2 * math.pi, 0.0), feed_mm_min=2400.0)
    chords = [
        feed(
            radius * math.cos(2 * math.pi * k / count),
            radius * math.sin(2 * math.pi * k / count),
            0.0,
            2400.0,
        )
        for k in range(1, count + 1)
    ]
    by_arc = run_time_s(Program(start, (ring,)), MACHINE)
    by_chords = run_time_s(Program(start, tuple(chords)), MACHINE)
    assert by_chords == pytest.approx(by_arc, rel=0.02)


def test_dwells_are_added_and_stop_the_machine() -> None:
    wait = Move(MoveKind.DWELL, 50, 0, 0, dwell_s=2.5)
    halves = seconds(feed(50, 0, 0)) * 2.0
    assert seconds(feed(50, 0, 0), wait, feed(100, 0, 0)) == pytest.approx(halves + 2.5, rel=1e-12)


def test_moves_that_go_nowhere_take_no_time() -> None:
    program = Program(ORIGIN, (feed(50, 0, 0), feed(50, 0, 0), feed(100, 0, 0)))
    assert move_times_s(program, MACHINE)[1] == 0.0
    assert run_time_s(program, MACHINE) == pytest.approx(seconds(feed(100, 0, 0)), rel=1e-12)
    assert seconds() == 0.0


def test_what_cannot_be_timed_is_refused() -> None:
    with pytest.raises(ValueError, match="no feed"):
        seconds(feed(1, 0, 0, 0.0))
    with pytest.raises(ValueError, match="acceleration"):
        run_time_s(Program(ORIGIN, ()), replace(MACHINE, acceleration_mm_s2=0.0))


places = st.tuples(st.floats(-50, 50), st.floats(-50, 50), st.floats(-5, 5))


@settings(max_examples=60, deadline=None)
@given(st.lists(places, min_size=1, max_size=12), st.floats(60.0, 3000.0))
def test_never_faster_than_the_feed_nor_than_one_straight_start(
    way: list[tuple[float, float, float]], rate: float
) -> None:
    moves = tuple(feed(x, y, z, rate) for x, y, z in way)
    path = [ORIGIN, *way]
    lengths = [math.dist(a, b) for a, b in pairwise(path)]
    times = move_times_s(Program(ORIGIN, moves), MACHINE)
    assert (times >= np.array(lengths) / (min(rate, MACHINE.feed_mm_min) / 60.0) - 1e-9).all()
    stopping = sum(seconds(feed(length, 0, 0, rate)) for length in lengths)
    assert times.sum() <= stopping + 1e-9


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.01, 30.0), st.floats(1.0, 60.0)), min_size=1, max_size=10),
    st.floats(50.0, 2000.0),
)
def test_the_kernel_against_small_time_steps(
    chain: list[tuple[float, float]], acceleration: float
) -> None:
    """A twin in plain arrays: the greatest speed at each point of a fine grid along the path."""
    length, top = (np.array(values) for values in zip(*chain, strict=True))
    start = np.concatenate(([0.0], np.minimum(top[:-1], top[1:]), [0.0]))
    times = chain_times(length, top, start, acceleration)
    count = 4000
    ends = np.concatenate(([0.0], np.cumsum(length)))
    along = np.concatenate([np.linspace(a, b, count + 1)[:-1] for a, b in pairwise(ends)])
    limit = np.repeat(top, count) ** 2
    limit = np.append(limit, 0.0)
    along = np.append(along, ends[-1])
    limit[0] = 0.0
    limit[count:-1:count] = start[1:-1] ** 2
    ramp = 2.0 * acceleration * along
    squared = np.minimum.accumulate(limit - ramp) + ramp
    squared = np.minimum(squared, np.minimum.accumulate((limit + ramp)[::-1])[::-1] - ramp)
    speed = np.sqrt(np.maximum(squared, 0.0))
    twin = (2.0 * np.diff(along) / (speed[1:] + speed[:-1])).sum()
    assert times.sum() == pytest.approx(float(twin), rel=2e-3)
