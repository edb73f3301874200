"""What a bit reproduces, what it loses, and where it cannot pass."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon

from flushwork.core.tolerances import SLOT_WIDTH_MM
from flushwork.fit.reach import reach
from tests.fit.shapes import BEND, EIGHTH, QUARTER, SIXTY, box, disc, many, slot, star

PLACES = st.integers(0, 30_000).map(lambda microns: microns / 1000.0)
"""Places on the grid of whole microns that artwork is put on."""


def test_nothing_drawn_is_nothing_lost() -> None:
    found = reach(MultiPolygon(), EIGHTH)
    assert found.reached.is_empty
    assert found.lost_mm2 == 0.0
    assert found.necks == ()


def test_a_bent_slot_exactly_as_wide_as_the_bit_passes() -> None:
    region = slot(BEND, EIGHTH.diameter_mm)
    found = reach(region, EIGHTH)
    assert found.passes
    middle = shapely.LineString(BEND)
    assert shapely.covers(shapely.buffer(found.centres, 0.002), middle)
    cut = shapely.buffer(middle, EIGHTH.radius_mm, quad_segs=64)
    inside = shapely.intersection(cut, region).area
    assert found.reached.area == pytest.approx(inside, abs=0.02)


def test_a_slot_within_the_tolerance_passes() -> None:
    assert reach(slot(BEND, EIGHTH.diameter_mm - 0.9 * SLOT_WIDTH_MM), EIGHTH).passes


def test_a_slot_0_05_mm_narrower_does_not_pass_and_says_where() -> None:
    found = reach(slot(BEND, EIGHTH.diameter_mm - 0.05), EIGHTH)
    assert not found.passes
    assert found.necks
    for neck in found.necks:
        assert neck.width_mm == pytest.approx(EIGHTH.diameter_mm - 0.05, abs=0.001)
        assert shapely.dwithin(shapely.Point(neck.x_mm, neck.y_mm), shapely.LineString(BEND), 0.01)


def test_a_curved_slot_drawn_with_flattened_edges_passes() -> None:
    arc = shapely.buffer(shapely.Point(0, 0), 20, quad_segs=50).exterior
    assert reach(many(shapely.buffer(arc, EIGHTH.radius_mm, quad_segs=9)), EIGHTH).passes


def test_a_passage_between_two_rooms_is_named_at_its_narrowest() -> None:
    rooms = shapely.union_all([box(0, 0, 20, 20), box(20, 8, 30, 10.5), box(30, 0, 50, 20)])
    found = reach(many(rooms), EIGHTH)
    assert len(found.necks) == 1
    neck = found.necks[0]
    assert neck.width_mm == pytest.approx(2.5, abs=1e-3)
    assert 20.0 <= neck.x_mm <= 30.0
    assert neck.y_mm == pytest.approx(9.25, abs=1e-3)


def test_an_arm_too_narrow_is_named_and_lost() -> None:
    found = reach(many(shapely.union(box(0, 0, 20, 20), box(20, 8, 30, 10))), EIGHTH)
    assert [round(neck.width_mm, 3) for neck in found.necks] == [2.0]
    assert found.deepest_mm > 8.0


def test_a_ring_too_narrow_on_one_side_is_named_there() -> None:
    ring = shapely.difference(disc(10), disc(7, x=0.9))
    found = reach(many(ring), EIGHTH)
    assert len(found.necks) == 1
    assert found.necks[0].x_mm > 0.0
    assert found.necks[0].width_mm == pytest.approx(2.1, abs=0.02)


def test_sharp_points_stay_round_but_are_no_necks() -> None:
    found = reach(star(8, 20, 9), EIGHTH)
    assert found.passes
    assert found.lost_mm2 > 1.0


def test_a_region_the_bit_fits_nowhere_in() -> None:
    found = reach(box(0, 0, 2, 1.5), EIGHTH)
    assert not found.passes
    assert found.centres.is_empty
    assert found.reached.is_empty
    assert found.lost_mm2 == pytest.approx(3.0)
    assert found.necks[0].width_mm == pytest.approx(1.5)
    assert found.deepest_mm == pytest.approx(2.5)


def test_a_hole_the_bit_just_fills_passes() -> None:
    found = reach(disc(EIGHTH.radius_mm - 0.005), EIGHTH)
    assert found.passes
    assert found.centres.bounds == pytest.approx((0, 0, 0, 0), abs=0.01)


def test_a_v_bit_reaches_what_its_tip_does() -> None:
    found = reach(box(0, 0, 6, 6), SIXTY)
    assert found.lost_mm2 == pytest.approx(4 * (1 - np.pi / 4) * 0.05**2, rel=0.2)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(PLACES, PLACES, st.floats(1, 12), st.floats(1, 12)),
        min_size=1,
        max_size=4,
    )
)
def test_the_reach_is_the_opening(boxes: list[tuple[float, float, float, float]]) -> None:
    region = many(shapely.union_all([box(x, y, x + w, y + h) for x, y, w, h in boxes]))
    found = reach(region, EIGHTH)
    r = EIGHTH.radius_mm
    opened = shapely.buffer(shapely.buffer(region, -r, quad_segs=64), r, quad_segs=64)
    assert shapely.difference(opened, shapely.buffer(found.reached, 0.005)).area < 0.01
    wider = shapely.buffer(shapely.buffer(region, 0.012 - r, quad_segs=64), r, quad_segs=64)
    assert shapely.difference(found.reached, wider).area < 0.01
    assert shapely.difference(found.reached, region).area < 0.01
    both = shapely.union(found.reached, shapely.buffer(found.lost, 0.003))
    assert shapely.difference(region, both).area < 0.02


def test_the_wider_the_bit_the_more_is_lost() -> None:
    region = star(6, 25, 12)
    assert reach(region, QUARTER).lost_mm2 > reach(region, EIGHTH).lost_mm2
