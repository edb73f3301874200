"""Offsets keep their bound, and spiky outlines grow no specks."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import GeometryCollection, MultiPolygon, Point, Polygon

from flushwork.art.regions import chords_per_quarter
from flushwork.fit.discs import OFFSET_MM, grow, polygons, shrink
from tests.fit.shapes import box, disc, many


@pytest.mark.parametrize(("distance", "bound"), [(1.5875, 0.0005), (0.4, 0.005), (12.5, 0.01)])
def test_chords_keep_their_sagitta(distance: float, bound: float) -> None:
    half = math.pi / (4 * chords_per_quarter(distance, bound))
    assert distance * (1.0 - math.cos(half)) <= bound
    wider = math.pi / (4 * max(1, chords_per_quarter(distance, bound) - 1))
    assert distance * (1.0 - math.cos(wider)) > bound or half == wider


def test_a_grown_point_is_a_disc_within_the_bound() -> None:
    rim = shapely.get_coordinates(shapely.segmentize(grow(Point(0, 0), 2.0), 0.01))
    away = np.hypot(*rim.T)
    assert away.max() <= 2.0 + 1e-9
    assert away.min() >= 2.0 - OFFSET_MM


def test_polygons_of_anything() -> None:
    mixed = GeometryCollection([Point(0, 0), box(0, 0, 1, 1), Polygon([(5, 5), (6, 5), (6, 6)])])
    assert polygons(mixed).area == pytest.approx(1.5)
    assert polygons(mixed, 0.6).area == pytest.approx(1.0)
    assert polygons(MultiPolygon()).is_empty
    assert shrink(box(0, 0, 1, 1), 0.6).is_empty


MICRONS = st.integers(0, 30_000).map(lambda count: count / 1000.0)
"""Places of artwork: floats next to zero upset the geometry library."""


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(MICRONS, MICRONS), min_size=3, max_size=6),
        min_size=1,
        max_size=4,
    ),
    st.floats(0.2, 3.0),
)
def test_every_part_of_a_shrunk_region_keeps_its_distance(
    corners: list[list[tuple[float, float]]], distance: float
) -> None:
    spikes = [shapely.buffer(Polygon(points), 0) for points in corners]
    region = many(shapely.union_all([disc(4.0, 15.0, 15.0), *spikes]))
    inner = shrink(region, distance)
    for part in inner.geoms:
        inside = shapely.point_on_surface(part)
        assert inside.distance(region.boundary) >= distance - 0.002
