"""Moves a machine can run: no more lines a second than it takes, and no plunge a bit may not do."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon

from flushwork.fit.feeds import own_pass_mm
from flushwork.gcode.program import gcode_file
from flushwork.shelf.items import Bit
from flushwork.toolpaths.moves import Move, MoveKind, Program
from flushwork.toolpaths.orders import Cut, CutOrder, EngraveCut, LineCut, Operation, TrimCut
from flushwork.toolpaths.speeds import TOGETHER, eased, greatest_rate, operation_feeds
from tests.fit.shapes import EIGHTH, QUARTER, SIXTEENTH, SIXTY, THIRTYSECOND, box, disc, many, star
from tests.gcode.cut_samples import engraving, line, order_of, pocket, straight_falls
from tests.many import examples

BITS = (THIRTYSECOND, SIXTEENTH, EIGHTH, QUARTER)


@st.composite
def regions(draw: st.DrawFn) -> MultiPolygon:
    """Anything from a room hardly wider than a bit to a star with a slit."""
    bit = draw(st.sampled_from(BITS))
    wide = bit.diameter_mm * draw(st.sampled_from([1.0, 1.004, 1.01, 1.03, 1.08, 1.3, 2.4, 7.0]))
    kind = draw(st.integers(0, 5))
    turn = draw(st.floats(0.0, 90.0))
    shape: shapely.geometry.base.BaseGeometry
    if kind == 0:
        shape = box(0, 0, wide, wide * draw(st.sampled_from([1.0, 1.01, 1.1, 3.0])))
    elif kind == 1:
        shape = disc(wide / 2.0)
    elif kind == 2:
        shape = star(draw(st.integers(3, 9)), wide * 1.5, wide * draw(st.floats(0.4, 0.9)))
    elif kind == 3:
        inside = draw(st.floats(0.5, 8.0))
        shape = shapely.difference(disc(inside + wide), disc(inside))
    elif kind == 4:
        shape = shapely.union_all([box(0, 0, wide, wide), box(wide * 0.5, wide * 0.4, 20, wide)])
    else:
        wave = [(x / 4.0, math.sin(x / 5.0) * draw(st.floats(0.2, 3.0))) for x in range(60)]
        shape = shapely.buffer(shapely.LineString(wave), wide / 2.0, quad_segs=16)
    return many(shapely.affinity.rotate(shape, turn, origin=(0, 0)))


def asked(order: CutOrder, lines_s: float, *, arcs: bool = True) -> CutOrder:
    machine = order.machine
    return replace(
        order,
        machine=replace(machine, lines_s=lines_s, dialect=replace(machine.dialect, arcs=arcs)),
    )


@settings(max_examples=examples(25), deadline=None)
@given(
    region=regions(),
    bit=st.sampled_from(BITS),
    depth=st.floats(0.3, 5.0),
    lines_s=st.sampled_from([40.0, 100.0, 200.0, 1000.0]),
    arcs=st.booleans(),
)
@example(box(0, 0, 3.2, 3.2), EIGHTH, 3.0, 200.0, True)
@example(disc(0.81), SIXTEENTH, 2.0, 200.0, True)
@example(box(0, 0, 0.85, 0.85), THIRTYSECOND, 2.0, 100.0, False)
def test_no_pocket_asks_for_more_lines_than_the_machine_takes(
    region: MultiPolygon, bit: Bit, depth: float, lines_s: float, arcs: bool
) -> None:
    work = pocket(bit, region=region, floor=-depth)
    file = gcode_file(asked(order_of(work), lines_s, arcs=arcs))
    assert file.problems == ()
    rate, move = greatest_rate(file.program)
    assert rate <= lines_s, file.program.moves[move : move + TOGETHER]
    most = max(own_pass_mm(bit, melts=False), bit.pass_mm)
    assert max(straight_falls(file.program.moves, 0.0), default=0.0) <= most + 6e-3


@settings(max_examples=examples(12), deadline=None)
@given(region=regions(), bit=st.sampled_from(BITS), depth=st.floats(0.3, 4.0))
@example(disc(0.857), SIXTEENTH, 1.0)
@example(many(shapely.affinity.rotate(box(0, 0, 1.032, 1.032), 3.0, (0, 0))), THIRTYSECOND, 1.0)
def test_a_bit_that_cannot_plunge_never_does_in_any_room_it_can_move_in(
    region: MultiPolygon, bit: Bit, depth: float
) -> None:
    blunt = replace(bit, plunges=False)
    work = pocket(blunt, region=region, floor=-depth)
    room = [part for part in work.centres.geoms if part.length > 0.3]
    work = replace(work, centres=MultiPolygon(room))
    file = gcode_file(asked(order_of(work), 200.0))
    assert greatest_rate(file.program)[0] <= 200.0
    assert straight_falls(file.program.moves, 0.0) == []


@settings(max_examples=examples(10), deadline=None)
@given(
    region=regions(),
    kind=st.sampled_from([EngraveCut, TrimCut, LineCut]),
    lines_s=st.sampled_from([60.0, 200.0]),
)
def test_nor_does_any_other_work(region: MultiPolygon, kind: type[Cut], lines_s: float) -> None:
    lines = MultiLineString([ring.coords for part in region.geoms for ring in [part.exterior]])
    one: Operation
    if kind is EngraveCut:
        one = engraving(SIXTY, region=region)
    elif kind is TrimCut:
        one = TrimCut("leaf", EIGHTH, 0.0, -2.0, region)
    else:
        one = line(EIGHTH, lines=lines)
    file = gcode_file(asked(order_of(one), lines_s))
    assert greatest_rate(file.program)[0] <= lines_s


@settings(max_examples=examples(40), deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.0, 0.5), st.floats(10.0, 4000.0)), max_size=60),
    st.floats(20.0, 800.0),
)
def test_only_feeds_change_and_only_downward(
    steps: list[tuple[float, float]], lines_s: float
) -> None:
    x, moves = 0.0, []
    for way, feed in steps:
        x += way
        moves.append(Move(MoveKind.FEED, x, 0.0, -1.0, feed))
    after = eased(moves, (0.0, 0.0, -1.0), lines_s, True)
    for a, b in zip(moves, after, strict=True):
        assert replace(b, feed_mm_min=a.feed_mm_min) == a
        assert b.feed_mm_min <= a.feed_mm_min
    if all(way > 1e-6 for way, _ in steps):
        assert greatest_rate(Program((0.0, 0.0, -1.0), tuple(after)))[0] <= lines_s


@pytest.mark.parametrize("bit", BITS)
@pytest.mark.parametrize("wider", [0.0, 0.002, 0.005])
@pytest.mark.parametrize("inside", [2.0, 5.0, 11.0])
def test_a_ring_one_bit_wide_is_one_circle(bit: Bit, wider: float, inside: float) -> None:
    """A helix down and one turn on the floor, with no seam, no second lap and no lift between."""
    ring = many(
        shapely.difference(
            disc(inside + bit.diameter_mm + wider, segments=90), disc(inside, segments=90)
        )
    )
    file = gcode_file(order_of(pocket(bit, region=ring, floor=-0.9)))
    moves = file.program.moves
    level = [
        move
        for before, move in pairwise(moves)
        if move.kind in (MoveKind.ARC, MoveKind.FEED)
        and move.z_mm == pytest.approx(-0.9)
        and before.z_mm == pytest.approx(-0.9)
    ]
    assert {move.kind for move in level} == {MoveKind.ARC}
    assert sum(abs(move.turn_rad) for move in level) == pytest.approx(2.0 * math.pi, abs=0.05)
    radius = inside + (bit.diameter_mm + wider) / 2.0
    for move in level:
        away = math.dist((move.x_mm, move.y_mm), (move.centre_x_mm, move.centre_y_mm))
        assert away == pytest.approx(radius, abs=0.01)
    assert sum(m.kind is MoveKind.RAPID and m.z_mm < 4.9 for m in moves) == 1


def test_the_feeds_of_a_plunge_are_kept() -> None:
    work = pocket(EIGHTH, region=box(0, 0, 3.2, 3.2), floor=-3.0)
    order = order_of(work)
    plunge = operation_feeds(work, order.machine).plunge_mm_min
    falls = [
        move.feed_mm_min
        for before, move in pairwise(gcode_file(order).program.moves)
        if move.kind is MoveKind.FEED and move.z_mm < min(before.z_mm, 0.0)
    ]
    assert falls
    assert np.allclose(falls, plunge, rtol=0.01)
