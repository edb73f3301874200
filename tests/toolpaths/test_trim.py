"""Trimming: the part untouched, parted from its blank but for its tabs."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon

from flushwork.toolpaths.moves import MoveKind
from flushwork.toolpaths.orders import TrimCut
from tests.fit.shapes import QUARTER, box, disc, many
from tests.gcode.cut_samples import Floats, cutting, swept_at, traced, wary

ROUNDED = many(shapely.buffer(box(10, 10, 190, 110), 8.0, quad_segs=16))


def trim(region: MultiPolygon, tabs: int) -> TrimCut:
    return TrimCut("leaf", QUARTER, 0.0, -18.3, region, tabs, tab_mm=6.0, tab_height_mm=2.3)


def test_the_part_is_not_touched_and_the_cut_goes_all_the_way_round() -> None:
    moves = traced(trim(ROUNDED, 0)).moves
    whole = swept_at(moves, QUARTER, -1e-3)
    assert shapely.intersection(whole, shapely.buffer(ROUNDED, -0.005)).area == 0.0
    floor = swept_at(moves, QUARTER, -18.3)
    assert not shapely.intersects(floor, shapely.buffer(ROUNDED, -0.01))
    ring = shapely.buffer(ROUNDED, 2.0 * QUARTER.radius_mm - 0.02)
    outside = shapely.difference(ring, shapely.buffer(ROUNDED, 0.02))
    assert shapely.difference(outside, floor).area < 0.01
    assert wary(moves, QUARTER, 0.0, 5.0) == []


KERF = shapely.buffer(ROUNDED, QUARTER.radius_mm, quad_segs=64).exterior


@pytest.mark.parametrize("tabs", [2, 4, 5])
def test_tabs_stay_on_straight_parts_narrowest_in_the_middle_of_the_kerf(tabs: int) -> None:
    moves = traced(trim(ROUNDED, tabs)).moves
    whole = shapely.difference(KERF, shapely.buffer(swept_at(moves, QUARTER, -18.3), 0.01))
    bridges = shapely.get_parts(shapely.line_merge(whole))
    assert len(bridges) == tabs
    for bridge in bridges:
        # 45 degree flanks of 2.3 mm on either side of the 6 mm on top
        assert bridge.length == pytest.approx(6.0 + 2.0 * 2.3, abs=0.05)
        assert np.ptp(bridge.coords, axis=0).min() == pytest.approx(0.0, abs=1e-6)
    tops = [p for p in cutting(moves) if abs(p[:, 2] + 16.0).max() < 1e-6]
    # the axis stays up a diameter longer than the 6 mm of wood it leaves
    for top in tops[-tabs:]:
        assert np.ptp(top[:, :2], axis=0).max() == pytest.approx(6.0 + QUARTER.diameter_mm)
    over = swept_at(moves, QUARTER, -16.0)
    assert shapely.difference(KERF, shapely.buffer(over, 0.01)).length == 0.0


def test_round_outlines_have_tabs_too() -> None:
    moves = traced(trim(disc(40), 3)).moves
    high = [m for m in moves if m.kind is MoveKind.FEED and abs(m.z_mm + 16.0) < 1e-6]
    assert high


def test_the_part_is_on_the_right() -> None:
    moves = traced(trim(ROUNDED, 0)).moves
    ring = [(p[0, 0], p[0, 1]) for p in cutting(moves) if p[:, 2].max() <= -18.3 + 1e-9]
    assert not shapely.LinearRing(ring).is_ccw


def test_the_bit_comes_down_in_the_waste() -> None:
    moves = traced(trim(ROUNDED, 4)).moves
    first = next(m for m in moves if m.kind is MoveKind.FEED)
    assert ROUNDED.distance(shapely.Point(first.x_mm, first.y_mm)) > QUARTER.radius_mm + 1.0


def test_no_pass_too_deep() -> None:
    moves = traced(trim(ROUNDED, 0)).moves
    lap: list[Floats] = [p for p in cutting(moves) if p[:, 2].min() < 0.0]
    along = 0.0
    for points in lap:
        along += float(np.hypot(*np.diff(points[:, :2], axis=0).T).sum())
        falls = float(points[:, 2].min())
        total = shapely.buffer(ROUNDED, QUARTER.radius_mm).length
        assert falls >= -QUARTER.pass_mm * (along / total + 0.01) - 1e-6


def test_a_cut_out_inside_comes_first() -> None:
    part = many(shapely.difference(box(0, 0, 80, 60), disc(12, 40, 30)))
    moves = traced(trim(part, 2)).moves
    first = next(m for m in moves if m.kind is MoveKind.FEED)
    assert np.hypot(first.x_mm - 40, first.y_mm - 30) < 12
    whole = swept_at(moves, QUARTER, -1e-3)
    assert shapely.intersection(whole, shapely.buffer(part, -0.005)).area == 0.0
