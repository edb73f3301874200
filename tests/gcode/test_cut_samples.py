"""The judges of moves are judged: each notices the faults it is there for, and only those."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.toolpaths.moves import Move, MoveKind
from tests.fit.shapes import EIGHTH
from tests.gcode.cut_samples import straight_falls, swept_at, wary
from tests.many import examples

CLEAR = 5.0
depths = st.floats(0.05, 6.0)


def feed(x: float, y: float, z: float) -> Move:
    return Move(MoveKind.FEED, x, y, z, 600.0)


def rapid(x: float, y: float, z: float) -> Move:
    return Move(MoveKind.RAPID, x, y, z)


def over(x: float, y: float) -> list[Move]:
    return [rapid(x, y, CLEAR), rapid(x, y, 0.5)]


def winding(radius: float, depth: float, slope: float, pieces: int) -> list[Move]:
    """Go down around (0, 0) from (radius, 0, 0), each turn in as many arcs as told."""
    turns = max(1, math.ceil(depth / (2.0 * math.pi * radius * slope) * pieces))
    step = depth / turns
    turn = step / (radius * slope)
    return [
        Move(
            MoveKind.ARC,
            radius * math.cos(k * turn),
            radius * math.sin(k * turn),
            -k * step,
            600.0,
            turn_rad=turn,
        )
        for k in range(1, turns + 1)
    ]


@settings(max_examples=examples(20), deadline=None)
@given(depth=depths, steps=st.integers(1, 400), across=st.floats(0.0, 0.9))
def test_a_plunge_is_one_fall_however_small_its_steps(
    depth: float, steps: int, across: float
) -> None:
    """Each step alone may fall by under two microns, or go across a little."""
    slope = math.tan(math.radians(5.1)) / (1.0 - across)
    downs = np.linspace(0.0, depth, steps + 1)
    ways = downs / slope if across else 0.0 * downs
    moves = over(0, 0) + [feed(x, 0.0, -z) for x, z in zip(ways, downs, strict=True)]
    if across and depth * across < 0.02:
        return
    # the last micron of what is steeper than a ramp is left out
    close = 3e-3 + (1.1e-3 / across if across else 0.0)
    assert straight_falls(moves, 0.0) == pytest.approx([depth], abs=close)


@settings(max_examples=examples(15), deadline=None)
@given(radius=st.floats(0.1, 4.0), depth=st.floats(0.2, 4.0), pieces=st.integers(1, 9))
def test_a_helix_is_a_fall_where_it_is_steeper_than_a_ramp(
    radius: float, depth: float, pieces: int
) -> None:
    down = [*over(radius, 0), feed(radius, 0, 0)]
    steep = down + winding(radius, depth, math.tan(math.radians(7.0)), pieces)
    flat = down + winding(radius, depth, math.tan(math.radians(5.0)), pieces)
    assert straight_falls(steep, 0.0) == pytest.approx([depth], abs=3e-3)
    assert straight_falls(flat, 0.0) == []


@settings(max_examples=examples(15), deadline=None)
@given(depth=depths, again=depths)
def test_only_what_still_stands_counts(depth: float, again: float) -> None:
    """A fall where the axis has been goes through air that far, and through wood from there."""
    first = [*over(0, 0), feed(0, 0, -depth), rapid(0, 0, CLEAR)]
    moves = [*first, rapid(0, 0, 0.5), feed(0, 0, -again)]
    expected = [depth, again - depth] if again > depth + 3e-3 else [depth]
    assert straight_falls(moves, 0.0) == pytest.approx(expected, abs=3e-3)
    elsewhere = [*first, *over(0.02, 0), feed(0.02, 0, -again)]
    assert straight_falls(elsewhere, 0.0) == pytest.approx([depth, again], abs=3e-3)


@settings(max_examples=examples(15), deadline=None)
@given(depth=st.floats(0.3, 6.0), away=st.floats(0.05, 3.0))
def test_a_slanted_fall_to_where_the_axis_has_been_is_none_the_less_one(
    depth: float, away: float
) -> None:
    """Its foot lies in the hole of a plunge; what it goes through on its way there stands."""
    hole = [*over(0, 0), feed(0, 0, -depth), rapid(0, 0, CLEAR)]
    moves = [*hole, *over(min(away, depth), 0), feed(0, 0, -depth)]
    assert len(straight_falls(moves, 0.0)) == 2


@settings(max_examples=examples(15), deadline=None)
@given(depth=depths, deeper=st.floats(0.01, 2.0), away=st.floats(0.03, 3.0))
def test_a_drop_is_safe_into_the_hole_of_a_plunge_and_nowhere_else(
    depth: float, deeper: float, away: float
) -> None:
    hole = [*over(0, 0), feed(0, 0, -depth), rapid(0, 0, CLEAR)]
    assert wary([*hole, rapid(0, 0, -depth)], EIGHTH, 0.0, CLEAR) == []
    assert len(wary([*hole, rapid(0, 0, -depth - deeper)], EIGHTH, 0.0, CLEAR)) == 1
    beside = [*hole, rapid(away, 0, CLEAR), rapid(away, 0, -depth)]
    assert len(wary(beside, EIGHTH, 0.0, CLEAR)) == 1
    fast = [replace(move, kind=MoveKind.RAPID) for move in hole]
    assert len(wary([*fast, rapid(0, 0, -depth)], EIGHTH, 0.0, CLEAR)) == 2


@given(depth=depths, short=st.floats(0.01, 0.04))
def test_a_plunge_covers_its_own_disc_at_its_own_depth_only(depth: float, short: float) -> None:
    hole = [*over(0, 0), feed(0, 0, -depth), rapid(0, 0, CLEAR)]
    disc = math.pi * EIGHTH.radius_mm**2
    assert swept_at(hole, EIGHTH, -depth).area == pytest.approx(disc, rel=2e-3)
    assert swept_at(hole, EIGHTH, -depth - short).area == 0.0
