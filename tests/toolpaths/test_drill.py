"""Holes: pecked, bored where wider, refused where narrower."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import Point

from flushwork.gcode.program import gcode_file
from flushwork.toolpaths.moves import MoveKind
from flushwork.toolpaths.orders import DrillCut
from tests.fit.shapes import EIGHTH
from tests.gcode.cut_samples import order_of, swept_at, traced
from tests.gcode.text_samples import MACHINE

PLACES = ((5.0, 5.0), (25.0, 5.0), (5.0, 25.0))


def holes(diameter: float, floor: float, *, flat: bool = True) -> DrillCut:
    return DrillCut("leaf", EIGHTH, 0.0, floor, PLACES, diameter, flat)


def test_holes_are_drilled_in_the_order_given() -> None:
    found = traced(holes(3.175, -6.35))
    assert [(hole.x, hole.y) for hole in found.drills] == list(PLACES)
    for hole in found.drills:
        own = found.moves[hole.first : hole.last + 1]
        assert {(move.x_mm, move.y_mm) for move in own} == {(hole.x, hole.y)}
        assert min(move.z_mm for move in own) == -6.35 == hole.floor
        assert own[0].z_mm == hole.top == 1.0
        assert own[-1].z_mm == found.moves[hole.first - 1].z_mm == 5.0


def test_pecks_are_a_diameter_and_chips_are_lifted_out() -> None:
    found = traced(holes(3.175, -8.0))
    hole = found.drills[0]
    own = found.moves[hole.first : hole.last + 1]
    depths = [move.z_mm for move in own if move.kind is MoveKind.FEED]
    assert depths == pytest.approx([1 - 3.175, 1 - 6.35, -8.0])
    assert hole.peck == pytest.approx(3.175)
    lifted = [move.z_mm for move in own if move.kind is MoveKind.RAPID and move.z_mm >= 1.0]
    assert lifted == [1.0, 1.0, 1.0, 5.0]


def fields(count: int) -> tuple[tuple[float, float], ...]:
    return tuple((8.0 * (k % 25), 8.0 * (k // 25)) for k in range(count))


@pytest.mark.parametrize("cycles", [False, True])
@pytest.mark.parametrize("flat", [False, True])
def test_between_pecks_nothing_is_climbed_for_nothing(cycles: bool, flat: bool) -> None:
    """Of 500 holes three pecks deep no way above the wood is run but to the next hole."""
    deep = replace(holes(3.175, -8.0, flat=flat), points=fields(500))
    machine = replace(MACHINE, dialect=replace(MACHINE.dialect, cycles=cycles))
    file = gcode_file(replace(order_of(deep), machine=machine))
    assert file.problems == ()
    assert len(re.findall("G83", file.text)) == (500 if cycles and not flat else 0)
    moves = file.program.moves
    above = sum(
        abs(max(b.z_mm, 1.0) - max(a.z_mm, 1.0)) for a, b in pairwise(moves[2:]) if b.z_mm != a.z_mm
    )
    assert above == pytest.approx(500 * 2 * 4.0, rel=0.01)
    pecks = [b.z_mm for a, b in pairwise(moves) if b.kind is MoveKind.FEED and b.z_mm < a.z_mm]
    assert len(pecks) == 1500
    assert min(pecks) == -8.0
    across = [
        min(a.z_mm, b.z_mm)
        for a, b in pairwise(moves)
        if math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm)) > 1e-6
    ]
    assert min(across) == 5.0


def test_a_shallow_hole_is_one_peck() -> None:
    hole = traced(holes(3.175, -1.5)).drills[0]
    assert hole.peck == pytest.approx(2.5)


def test_a_flat_floor_gets_two_turns() -> None:
    found = traced(holes(3.175, -6.0))
    dwell = next(move for move in found.moves if move.kind is MoveKind.DWELL)
    assert dwell.dwell_s * dwell.spindle_rpm / 60.0 == pytest.approx(2.0)
    plain = traced(holes(3.175, -6.0, flat=False))
    assert all(move.kind is not MoveKind.DWELL for move in plain.moves)
    assert plain.drills[0].dwell_s == 0.0


@pytest.mark.parametrize("diameter", [3.3, 5.0, 8.0, 14.0])
def test_a_wider_hole_is_bored_round_and_whole(diameter: float) -> None:
    found = traced(holes(diameter, -4.0))
    assert found.drills == ()
    cut = swept_at(found.moves, EIGHTH, -4.0)
    for place in PLACES:
        around = Point(place).buffer(diameter / 2.0, quad_segs=64)
        own = cut.intersection(Point(place).buffer(diameter / 2.0 + 1.0))
        assert own.symmetric_difference(around).area == pytest.approx(0.0, abs=0.03 * diameter)


def test_boring_winds_down_by_the_depth_of_pass() -> None:
    moves = traced(holes(8.0, -4.0)).moves
    falls = [a.z_mm - b.z_mm for a, b in pairwise(moves) if b.kind is MoveKind.ARC]
    assert max(falls) <= EIGHTH.pass_mm + 1e-9
    assert all(m.turn_rad == pytest.approx(2 * np.pi) for m in moves if m.kind is MoveKind.ARC)


def test_a_narrower_hole_is_refused() -> None:
    with pytest.raises(ValueError, match="narrower than"):
        traced(holes(3.0, -4.0))
