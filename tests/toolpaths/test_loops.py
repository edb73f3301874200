"""Loops: the engagement stays bounded, and all that is reached is still cut."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, degrees, pi, sqrt

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.rings import MOST_RAD, advance_mm
from tests.fit.shapes import THIRTYSECOND, box, many
from tests.gcode.cut_samples import (
    Floats,
    left_standing,
    over_the_line,
    pocket,
    samples,
    traced,
    wary,
)

LIMP = replace(THIRTYSECOND, flute_mm=9.0, reach_mm=14.0, pass_mm=0.8, chip_mm=0.02)
"""So long and so greedy that its full width is too much for it."""
REGIONS = {
    "bar": box(0, 0, 14, 1.9),
    "ell": many(shapely.union(box(0, 0, 9, 1.8), box(0, 0, 1.8, 7))),
}


def test_the_advance_keeps_the_angle() -> None:
    loop, radius = 0.9, 1.0
    cleared = loop + radius - advance_mm(loop, radius)
    angle = np.arccos((cleared**2 - loop**2 - radius**2) / (2.0 * loop * radius))
    assert degrees(angle) == pytest.approx(60.0)
    assert cleared == pytest.approx(sqrt(loop**2 + radius**2 + 2 * loop * radius * cos(pi / 3)))


@pytest.mark.parametrize("name", REGIONS)
def test_all_is_cut_and_nothing_else(name: str) -> None:
    moves = traced(pocket(LIMP, region=REGIONS[name], floor=-0.3)).moves
    reached = pocket(LIMP, region=REGIONS[name]).centres.buffer(LIMP.radius_mm)
    assert max(left_standing(moves, many(reached), LIMP, -0.3), default=0.0) <= 0.02
    assert over_the_line(moves, REGIONS[name], LIMP, 0.0) < 1e-3
    assert wary(moves, LIMP, 0.0, 5.0) == []
    assert sum(move.kind is MoveKind.ARC for move in moves) > 20


def test_a_stout_bit_needs_no_loops() -> None:
    stout = replace(LIMP, flute_mm=2.4, reach_mm=2.4, pass_mm=0.25, chip_mm=0.01)
    moves = traced(pocket(stout, region=REGIONS["bar"], floor=-0.3)).moves
    assert sum(move.kind is MoveKind.ARC for move in moves) < 20


def test_loops_hold_the_engagement() -> None:
    """Measured: how much of the bit's leading rim stands in stock at each place of the loops."""
    moves = traced(pocket(LIMP, region=REGIONS["bar"], floor=-0.05)).moves
    radius = LIMP.radius_mm
    level = [
        k
        for k in range(1, len(moves))
        if moves[k].kind is MoveKind.ARC and moves[k].z_mm == moves[k - 1].z_mm
    ]
    stock: BaseGeometry = shapely.box(-3, -3, 17, 5)
    half = np.linspace(-pi / 2.0, pi / 2.0, 180)
    rim = np.column_stack((np.cos(half), np.sin(half)))
    worst = 0.0
    for k in level:
        line = path(moves, k - 1, k)
        if moves[k - 1].kind is MoveKind.ARC:  # the end of a helix
            stock = stock.difference(path(moves, k, k).buffer(radius, quad_segs=64))
            continue
        places = samples_of(line, 49)
        for here, ahead in pairwise(places):
            # what lies behind the way has been swept by this loop already
            front = rim @ turned(ahead - here)
            x, y = (here + radius * front).T
            standing = shapely.contains_xy(shapely.buffer(stock, -0.002), x, y)
            worst = max(worst, float(standing.mean()) * pi)
        stock = stock.difference(line.buffer(radius, quad_segs=64))
    assert 0.3 < worst <= MOST_RAD * 1.05


def path(moves: tuple[Move, ...], first: int, last: int) -> shapely.LineString:
    part = samples(moves[first - 1 : last + 1], 0.02)
    return shapely.LineString(part[:, :2])


def samples_of(line: shapely.LineString, count: int) -> Floats:
    places = shapely.line_interpolate_point(line, np.linspace(0, 1, count), normalized=True)
    return shapely.get_coordinates(places)


def turned(way: Floats) -> Floats:
    """Return the matrix that turns rows from along x to along ``way``."""
    c, s = way / np.hypot(*way)
    return np.array([[c, s], [-s, c]])
