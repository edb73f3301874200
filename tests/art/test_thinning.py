"""Thinned outlines stay within their bound, and what was drawn straight keeps its ends."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Polygon

from flushwork.art.regions import STRAIGHT_MM, thinned


def a_stadium(long_mm: float, radius_mm: float) -> MultiPolygon:
    return MultiPolygon(
        [shapely.buffer(LineString([(0, 0), (long_mm, 0)]), radius_mm, quad_segs=64)]
    )


def test_half_circles_lose_points_and_the_straight_sides_stay_where_they_were() -> None:
    before = a_stadium(30.0, 5.0)
    after = thinned(before, 0.004)
    assert shapely.get_num_coordinates(after) < 0.6 * shapely.get_num_coordinates(before)
    assert shapely.hausdorff_distance(before, after, densify=0.01) <= 0.004
    corners = {(round(x, 9), round(y, 9)) for x, y in shapely.get_coordinates(after)}
    assert {(0.0, 5.0), (30.0, 5.0), (0.0, -5.0), (30.0, -5.0)} <= corners


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(2_000, 40_000), min_size=3, max_size=24),
    st.floats(0.0005, 0.01),
)
def test_any_outline_stays_within_the_bound(spokes: list[int], bound_mm: float) -> None:
    angles = np.linspace(0.0, 2.0 * math.pi, len(spokes), endpoint=False)
    radii = np.array(spokes) / 1000.0
    star = Polygon(np.column_stack((radii * np.cos(angles), radii * np.sin(angles))))
    before = MultiPolygon([Polygon(shapely.buffer(star, 0.5, quad_segs=32).exterior)])
    after = thinned(before, bound_mm)
    assert after.is_valid
    assert shapely.hausdorff_distance(before, after, densify=0.01) <= bound_mm + 1e-9
    long = [
        pair
        for pair in pairwise(before.geoms[0].exterior.coords)
        if math.dist(*pair) >= STRAIGHT_MM
    ]
    kept = set(after.geoms[0].exterior.coords)
    assert all(end in kept for pair in long for end in pair)


@pytest.mark.parametrize("quads", [1, 2, 3])
def test_small_outlines_are_left_as_they_are(quads: int) -> None:
    dot = MultiPolygon([shapely.buffer(shapely.Point(1, 2), 0.003, quad_segs=quads)])
    after = thinned(dot, 0.0001)
    assert shapely.equals(after, dot)
    assert not thinned(dot, 0.1).is_empty
