"""Shapes by numbers, lines and curves, and what is wrong with them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from flushwork.art.strokes import smooth_curve
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.job.records import (
    Art,
    CircleArt,
    Job,
    Placement,
    PolygonArt,
    RectangleArt,
    StrokeArt,
)
from tests.art.face_jobs import artwork, codes, drawn, inlay, job, refused

OWN_ZERO = Placement(anchor="lower left", as_drawn=True)
STAR = PolygonArt(5, 40.0, 16.0, ())


def made_of(*arts: Art) -> Job:
    return job(inlay(*(artwork(art, OWN_ZERO) for art in arts)))


def lines(*points: tuple[float, float], width_mm: float = 2.0, smooth: bool = False,
          closed: bool = False, ends: str = "round") -> StrokeArt:  # fmt: skip
    return StrokeArt((points,), width_mm, smooth, closed, ends)


def test_a_star_points_up_and_is_symmetric() -> None:
    region = drawn(made_of(STAR)).region
    assert region.bounds[3] == pytest.approx(20.0)
    assert region.centroid.distance(Point(0, 0)) < 1e-6
    assert len(region.geoms[0].exterior.coords) == 11


def test_a_frame_is_hollow_with_rounded_corners() -> None:
    region = drawn(made_of(RectangleArt(60.0, 40.0, 6.0, 1.5))).region
    outer = 2400.0 - (4.0 - math.pi) * 36.0
    inner = 57.0 * 37.0 - (4.0 - math.pi) * 4.5**2
    assert region.area == pytest.approx(outer - inner, abs=FLATTENING_MM * 20.0 * math.pi)
    assert len(region.geoms[0].interiors) == 1


def test_a_corner_radius_as_large_as_it_can_be() -> None:
    region = drawn(made_of(RectangleArt(60.0, 40.0, 20.0, 0.0))).region
    assert region.area == pytest.approx(20.0 * 40.0 + math.pi * 400.0, abs=0.7)


def test_ends_of_a_line() -> None:
    area = {
        ends: drawn(made_of(lines((0, 0), (30, 0), ends=ends))).region.area
        for ends in ("flat", "square", "round")
    }
    assert area["flat"] == pytest.approx(60.0)
    assert area["square"] == pytest.approx(64.0)
    assert area["round"] == pytest.approx(60.0 + math.pi, abs=0.02)


def test_a_line_without_a_width_is_a_bare_stroke() -> None:
    made = drawn(made_of(lines((0, 0), (30, 0), (30, 30), width_mm=0.0)))
    assert made.region.is_empty
    assert made.strokes.length == pytest.approx(60.0)


def test_a_closed_line_is_a_ring_without_ends() -> None:
    made = drawn(made_of(lines((0, 0), (30, 0), (30, 20), (0, 20), closed=True, ends="flat")))
    assert made.region.area == pytest.approx(32.0 * 22.0 - 28.0 * 18.0 - (4.0 - math.pi), abs=0.03)
    assert made.strokes.geoms[0].is_closed
    again = drawn(made_of(lines((0, 0), (30, 0), (30, 20), (0, 20), (0, 0), closed=True)))
    assert again.region.equals(made.region)


def test_several_lines_cross_and_count_once() -> None:
    art = StrokeArt((((0, 10), (20, 10)), ((10, 0), (10, 20))), 2.0, False, False, "flat")
    made = drawn(made_of(art))
    assert made.region.area == pytest.approx(40.0 + 40.0 - 4.0)
    assert len(made.strokes.geoms) == 2


def test_a_smooth_curve_passes_through_its_points_and_has_no_loop() -> None:
    points = np.array([(0, 0), (1, 0), (1.1, 8), (20, 8.5), (20.2, 0)], dtype=np.float64)
    for closed in (False, True):
        contour = smooth_curve(points, closed=closed)
        for start, piece in zip(points, contour.pieces, strict=False):
            assert LineString(np.vstack([start, piece.points(0.001)])).is_simple
        curve = LineString(contour.points(0.001))
        assert max(curve.distance(Point(place)) for place in points) < 1e-9
    made = drawn(made_of(lines(*((float(x), float(y)) for x, y in points), smooth=True)))
    assert made.strokes.length > LineString(points).length


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=8, unique=True
    ),
    st.booleans(),
)
def test_smooth_curves_stay_near_their_points(
    places: list[tuple[float, float]], closed: bool
) -> None:
    points = np.array(places)
    gaps = np.hypot(*np.diff(np.concatenate([points, points[:1]]), axis=0).T)
    if gaps.min() < 1e-3:
        return
    curve = smooth_curve(points, closed=closed).points(0.01)
    assert np.isfinite(curve).all()
    # no piece varies further from its chord than the longest chord
    chord = LineString(np.concatenate([points, points[:1]]) if closed else points)
    assert max(chord.distance(Point(place)) for place in curve) <= gaps.max()


@pytest.mark.parametrize(
    ("art", "code"),
    [
        (CircleArt(0.0, 0.0), "circle-without-size"),
        (CircleArt(-3.0, 0.0), "circle-without-size"),
        (CircleArt(10.0, 10.0), "ring-without-wood"),
        (CircleArt(10.0, -1.0), "ring-without-wood"),
        (PolygonArt(2, 10.0, 0.0, ()), "polygon-without-area"),
        (PolygonArt(5, 0.0, 0.0, ()), "polygon-without-area"),
        (PolygonArt(5, 10.0, 10.0, ()), "star-without-points"),
        (PolygonArt(0, 0.0, 0.0, ((0, 0), (5, 5), (10, 10))), "polygon-without-area"),
        (PolygonArt(0, 0.0, 0.0, ((0, 0), (5, 5))), "polygon-without-area"),
        (PolygonArt(0, 0.0, 0.0, ((0, 0), (9, 9), (9, 0), (0, 9))), "polygon-crosses-itself"),
        (RectangleArt(0.0, 5.0, 0.0, 0.0), "rectangle-without-size"),
        (RectangleArt(9.0, 5.0, 2.6, 0.0), "rectangle-corner-too-round"),
        (RectangleArt(9.0, 5.0, 0.0, 2.5), "frame-without-middle"),
        (lines(), "line-without-length"),
        (lines((3, 4)), "line-without-length"),
        (lines((3, 4), (3, 4), smooth=True), "line-without-length"),
        (StrokeArt((), 1.0, False, False, "round"), "line-without-length"),
        (lines((3, 4), (5, 4), ends="pointed"), "line-ends-unknown"),
        (RectangleArt(1e6, 1e6, 0.0, 0.0), "artwork-absurdly-far"),
        (lines((0, 0), (1e7, 0)), "artwork-absurdly-far"),
    ],
)
def test_artwork_that_makes_no_sense(art: Art, code: str) -> None:
    assert codes(made_of(art)) == [code]


def test_the_place_of_a_degenerate_line_is_given() -> None:
    (finding,) = refused(made_of(lines((3, 4), (3, 4))))
    assert "line number 1 has all its points in one place, at 3, 4 mm" in finding.message


def test_bare_lines_do_not_go_with_areas() -> None:
    made = made_of(lines((0, 0), (9, 0), width_mm=0.0), CircleArt(5.0, 0.0))
    assert codes(made) == ["bare-line-among-areas"]
    together = made_of(lines((0, 0), (9, 0)), CircleArt(5.0, 0.0))
    assert drawn(together).strokes.is_empty
