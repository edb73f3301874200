"""Lines: every stretch once, few lifts, ramped in."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, Polygon

from flushwork.toolpaths.lines import walks
from flushwork.toolpaths.moves import Move, MoveKind
from tests.fit.shapes import EIGHTH, THIRTYSECOND, box, many
from tests.gcode.cut_samples import cutting, line, traced, wary

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)]


def lifts(moves: tuple[Move, ...]) -> int:
    return sum(b.kind is MoveKind.RAPID and b.z_mm > a.z_mm for a, b in pairwise(moves))


def at_floor(moves: tuple[Move, ...], floor: float) -> MultiLineString:
    return MultiLineString(
        [points[:, :2] for points in cutting(moves) if points[:, 2].max() <= floor + 1e-9]
    )


@pytest.mark.parametrize(
    "lines",
    [
        MultiLineString([[(0, 0), (30, 0), (30, 20)]]),
        MultiLineString([SQUARE]),
        MultiLineString([SQUARE, [(5, 5), (5, 20)], [(-5, 5), (20, 5)]]),
        MultiLineString([[(0, 0), (1, 0)]]),
    ],
)
def test_every_stretch_is_cut_to_the_floor(lines: MultiLineString) -> None:
    moves = traced(line(EIGHTH, lines=lines, floor=-2.5)).moves
    cut = at_floor(moves, -2.5)
    assert shapely.difference(lines, shapely.buffer(cut, 0.005)).length == 0.0
    assert shapely.difference(cut, shapely.buffer(lines, 0.005)).length == 0.0
    assert wary(moves, EIGHTH, 0.0, 5.0) == []


def test_passes_are_no_deeper_than_the_bits() -> None:
    lines = MultiLineString([[(0, 0), (30, 0)]])
    moves = traced(line(THIRTYSECOND, lines=lines, floor=-2.0)).moves
    done = 0.0
    for points in cutting(moves):
        assert points[:, 2].min() >= done - THIRTYSECOND.pass_mm - 1e-9
        if np.ptp(points[:, 2]) == 0.0 and np.ptp(points[:, 0]) > 20.0:
            done = float(points[0, 2])
    assert done == -2.0


def test_one_lift_for_lines_that_touch() -> None:
    # a cross has four loose ends, so two walks; a square with a bar has two odd places, so one
    cross = MultiLineString([[(0, 5), (10, 5)], [(5, 0), (5, 10)]])
    assert len(walks(cross)) == 2
    assert len(walks(MultiLineString([SQUARE, [(0, 5), (10, 5)]]))) == 1
    assert lifts(traced(line(EIGHTH, lines=cross, floor=-1)).moves) == 2


def test_crossing_lines_are_run_straight_on() -> None:
    cross = MultiLineString([[(0, 5), (10, 5)], [(5, 0), (5, 10)]])
    for walk in walks(cross):
        assert min(np.ptp(walk.points[:, 0]), np.ptp(walk.points[:, 1])) == pytest.approx(0.0)


def test_doubled_lines_are_run_once() -> None:
    lines = MultiLineString([[(0, 0), (10, 0)], [(2, 0), (8, 0)], [(10, 0), (0, 0)]])
    assert sum(walk.length_mm for walk in walks(lines)) == pytest.approx(10.0)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.integers(0, 4), st.integers(0, 4), st.integers(0, 4)),
        min_size=1,
        max_size=8,
    )
)
def test_walks_are_as_few_as_can_be(ends: list[tuple[int, int, int, int]]) -> None:
    lines = MultiLineString(
        [[(a, b), (c, d)] for a, b, c, d in ends if (a, b) != (c, d)] or [[(0, 0), (1, 1)]]
    )
    noded = shapely.union_all(lines)
    found = walks(lines)
    assert sum(walk.length_mm for walk in found) == pytest.approx(noded.length, abs=0.05)
    # every set of walks needs half the odd places of each connected part, and at least one
    parts = [part for part in shapely.get_parts(noded) if part.length > 0]
    degree: dict[tuple[float, float], int] = {}
    group: dict[tuple[float, float], tuple[float, float]] = {}

    def root(place: tuple[float, float]) -> tuple[float, float]:
        while group[place] != place:
            place = group[place]
        return place

    for part in parts:
        a, b = ((round(x, 3), round(y, 3)) for x, y in (part.coords[0], part.coords[-1]))
        for place in (a, b):
            degree[place] = degree.get(place, 0) + 1
            group.setdefault(place, place)
        group[root(a)] = root(b)
    odd: dict[tuple[float, float], int] = {}
    for place, count in degree.items():
        odd[root(place)] = odd.get(root(place), 0) + count % 2
    assert len(found) == sum(max(1, count // 2) for count in odd.values())


def test_a_closed_line_winds_down_without_a_plunge() -> None:
    bit = replace(EIGHTH, plunges=False)
    moves = traced(line(bit, lines=MultiLineString([SQUARE]), floor=-2)).moves
    assert lifts(moves) == 1
    for a, b in pairwise(moves):
        if b.kind is MoveKind.FEED and b.z_mm < min(0.0, a.z_mm):
            assert a.z_mm - b.z_mm <= math.tan(math.radians(5.1)) * math.hypot(
                b.x_mm - a.x_mm, b.y_mm - a.y_mm
            )


def test_no_lines() -> None:
    assert traced(line(EIGHTH)).spans == ()


def last_pass(moves: tuple[Move, ...], floor: float) -> list[tuple[float, float]]:
    """Return the places along the last run at the floor, in order."""
    runs: list[list[tuple[float, float]]] = [[]]
    for before, move in pairwise(moves):
        level = (
            move.kind is MoveKind.FEED
            and max(abs(before.z_mm - floor), abs(move.z_mm - floor)) < 1e-9
        )
        if level:
            runs[-1] += [(before.x_mm, before.y_mm), (move.x_mm, move.y_mm)]
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if run][-1]


@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize("filled_inside", [False, True])
def test_a_seam_around_a_fill_climbs_along_the_wood(filled_inside: bool, clockwise: bool) -> None:
    inside = many(Polygon(SQUARE))
    around = many(Polygon(SQUARE).buffer(20.0).difference(Polygon(SQUARE)))
    lines = MultiLineString([SQUARE[::-1] if clockwise else SQUARE])
    asked = line(THIRTYSECOND, lines=lines, floor=-1.0)
    moves = traced(replace(asked, filled=inside if filled_inside else around)).moves
    ring = shapely.LinearRing(last_pass(moves, -1.0))
    assert ring.is_ccw is filled_inside, "the wood lies on the bit's right"


@pytest.mark.parametrize("floor", [-0.3, -0.7, -1.0, -1.6, -2.4])
@pytest.mark.parametrize("filled_above", [False, True])
def test_an_open_seam_climbs_along_the_wood_at_its_last_depth(
    floor: float, filled_above: bool
) -> None:
    filled = many(box(0, 0, 30, 9) if filled_above else box(0, -9, 30, 0))
    lines = MultiLineString([[(0.0, 0.0), (30.0, 0.0)]])
    asked = line(THIRTYSECOND, lines=lines, floor=floor)
    run = last_pass(traced(replace(asked, filled=filled)).moves, floor)
    to_the_right = run[-1][0] > run[0][0]
    assert to_the_right is filled_above, "wood below the line is on the right of a bit going east"
