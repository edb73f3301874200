"""Pockets: nothing left that can be reached, nothing cut outside, nothing unsafe."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon

from flushwork.fit.reach import reach
from flushwork.shelf.items import Bit
from flushwork.toolpaths.moves import Move, MoveKind
from tests.fit.shapes import (
    BEND,
    EIGHTH,
    QUARTER,
    SIXTEENTH,
    THIRTYSECOND,
    box,
    disc,
    many,
    slot,
    star,
)
from tests.gcode.cut_samples import (
    left_standing,
    over_the_line,
    pocket,
    straight_falls,
    traced,
    wary,
    with_step,
)

CLEAR = 5.0
REGIONS = {
    "rectangle": box(0, 0, 40, 25),
    "islands": many(
        shapely.difference(box(0, 0, 40, 25), shapely.union(disc(5, 14, 12), box(30, 5, 32, 7)))
    ),
    "bent slot": slot(BEND, EIGHTH.diameter_mm),
    "star": star(8, 30, 12),
    "wedge": many(shapely.Polygon([(0, 0), (60, 8), (60, -8)])),
    "rooms": many(
        shapely.union_all([box(0, 0, 20, 20), box(20, 8, 30, 8 + 3.175), box(30, 0, 50, 20)])
    ),
    "two parts": many(shapely.union(disc(6), box(20, 0, 30, 8))),
    "hole just filled": disc(EIGHTH.radius_mm + 0.004),
    "ribbon": many(shapely.buffer(shapely.LineString(BEND), 1.8, quad_segs=12)),
}


def check(region: MultiPolygon, bit: Bit, floor: float = -2.0) -> None:
    work = pocket(bit, region=region, floor=floor)
    moves = traced(work).moves
    reached = reach(region, bit).reached
    assert max(left_standing(moves, reached, bit, floor), default=0.0) <= 0.02
    assert over_the_line(moves, region, bit, 0.0) < 1e-3
    assert wary(moves, bit, 0.0, CLEAR) == []


@pytest.mark.parametrize("step", [0.4, 0.55, 0.95])
@pytest.mark.parametrize("name", REGIONS)
def test_all_that_is_reached_is_cut_and_nothing_else(name: str, step: float) -> None:
    check(REGIONS[name], with_step(EIGHTH, step))


SIDES = ((0, 20_000), (0, 20_000), (2_000, 14_000), (2_000, 14_000))


def microns(count: int) -> float:
    """Artwork is in microns at the finest; floats near zero upset the geometry library."""
    return count / 1000.0


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(*(st.integers(low, high).map(microns) for low, high in SIDES)),
        min_size=1,
        max_size=4,
    ),
    st.floats(0.25, 0.95),
    st.sampled_from([EIGHTH, SIXTEENTH]),
)
def test_any_union_of_boxes(
    boxes: list[tuple[float, float, float, float]], step: float, bit: Bit
) -> None:
    region = many(shapely.union_all([box(x, y, x + w, y + h) for x, y, w, h in boxes]))
    check(region, with_step(bit, step), floor=-1.0)


def test_nothing_to_cut() -> None:
    found = traced(pocket(EIGHTH, region=box(0, 0, 1, 1)))
    assert len(found.moves) == 1
    assert found.spans == ()
    assert traced(pocket(EIGHTH, region=REGIONS["star"], floor=0.0)).spans == ()


def test_depth_passes_are_even_and_none_too_deep() -> None:
    bit = replace(EIGHTH, pass_mm=0.9)
    moves = traced(pocket(bit, region=box(0, 0, 40, 25))).moves
    level = sorted(
        {
            round(b.z_mm, 6)
            for a, b in pairwise(moves)
            if b.kind is MoveKind.FEED and a.z_mm == b.z_mm and b.z_mm < 0.0
        }
    )
    assert level == pytest.approx([-2.0, -4.0 / 3.0, -2.0 / 3.0], abs=1e-6)


def test_the_wall_comes_last_and_is_climbed() -> None:
    moves = traced(pocket(EIGHTH, region=box(0, 0, 40, 25))).moves
    wall = [(m.x_mm, m.y_mm) for m in moves if m.kind is MoveKind.FEED][-8:]
    ring = shapely.LinearRing(wall)
    r = EIGHTH.radius_mm
    assert ring.bounds == pytest.approx((r, r, 40 - r, 25 - r))
    assert ring.is_ccw, "the wall is on the right of a bit going counter-clockwise inside it"


def test_islands_are_climbed_the_other_way() -> None:
    region = many(shapely.difference(box(0, 0, 40, 25), disc(5, 20, 12)))
    moves = traced(pocket(EIGHTH, region=region, floor=-1.0)).moves
    arcs = [
        (m.turn_rad, before.z_mm == m.z_mm)
        for before, m in pairwise(moves)
        if m.kind is MoveKind.ARC
        and abs(np.hypot(m.x_mm - 20, m.y_mm - 12) - 5 - EIGHTH.radius_mm) < 0.01
        and np.hypot(m.centre_x_mm - 20, m.centre_y_mm - 12) < 0.1
    ]
    assert sum(turn for turn, level in arcs if level) == pytest.approx(-2.0 * np.pi, abs=0.2)
    assert all(turn < 0.0 for turn, _ in arcs)


def test_a_bit_that_cannot_plunge_never_does() -> None:
    bit = replace(EIGHTH, plunges=False)
    for name in ("rectangle", "star", "ribbon", "bent slot"):
        moves = traced(pocket(bit, region=REGIONS[name], floor=-1.0)).moves
        assert straight_falls(moves, 0.0) == [], name


@pytest.mark.parametrize("region", ["star", "islands", "wedge", "rooms"])
def test_a_narrow_bit_takes_only_what_a_wide_one_left(region: str) -> None:
    wide = reach(REGIONS[region], QUARTER).reached
    fine = replace(THIRTYSECOND, pass_mm=1.0)
    work = pocket(fine, region=REGIONS[region], cleared=wide)
    moves = traced(work).moves
    target = many(shapely.difference(reach(REGIONS[region], fine).reached, wide))
    assert max(left_standing(moves, target, fine, -2.0), default=0.0) <= 0.02
    assert over_the_line(moves, REGIONS[region], fine, 0.0) < 1e-3
    alone = traced(replace(work, cleared=MultiPolygon())).moves
    assert length(moves) < 0.7 * length(alone)


def length(moves: tuple[Move, ...]) -> float:
    return float(
        sum(
            np.hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm)
            for a, b in pairwise(moves)
            if b.kind is MoveKind.FEED
        )
    )


def test_what_a_wide_bit_cleared_whole_is_left_alone() -> None:
    region = disc(10)
    work = pocket(EIGHTH, region=region, cleared=reach(region, QUARTER).reached)
    assert traced(work).spans == ()


def test_the_same_every_time() -> None:
    work = pocket(EIGHTH, region=REGIONS["islands"])
    assert traced(work) == traced(work)
