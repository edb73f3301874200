"""Artwork against closed forms of plane geometry and the published facts of SVG and CSS.

Disc pi r^2; ring pi (R^2 - r^2); regular n-gon on radius R: n/2 R^2 sin(2 pi / n); star of n points
on R with inner corners on r: n R r sin(pi / n); polyline of an arc: sagitta R (1 - cos(delta / 2)).
(Any handbook of mensuration, such as CRC Standard Mathematical Tables, 30th edition, chapter 4.)

Steiner's formula for a convex region of area A and perimeter P grown by r: area A + P r + pi r^2,
perimeter P + 2 pi r (R. Schneider, *Convex Bodies: The Brunn-Minkowski Theory*, 2nd edition,
section 4.1).  Opening by a disc of r takes r^2 (cot(a/2) - (pi - a)/2) off a corner of angle a
(elementary).

W3C, *CSS Values and Units Module Level 3*, section 6.2: 1in = 2.54cm = 25.4mm = 96px = 72pt = 6pc =
101.6q.  W3C, *SVG 2*, section 8.1: without a viewBox one user unit is one px; section 10: y down.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPoint, MultiPolygon, Polygon, box

from flushwork.art.contours import Arc, Bezier, Piece, ellipse
from flushwork.art.placement import Affine, scaling, turning
from flushwork.art.plain_shapes import draw_circle, draw_polygon
from flushwork.art.regions import chords_per_quarter, filled, offset, stroked
from flushwork.art.svg.draw_svg import draw_svg
from flushwork.art.svg.numbers import read_length
from flushwork.art.svg.shape_contours import read_path
from flushwork.core.findings import Source
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.job.records import CircleArt, PolygonArt, SvgArt
from flushwork.kernels.outlines import Points, chord_count, winding_numbers

HERE = Source("job.yaml", 1, 1, "")


@pytest.mark.parametrize("diameter_mm", [0.02, 0.5, 3.175, 60.0, 900.0])
def test_disc_and_ring_within_the_flattening_bound(diameter_mm: float) -> None:
    radius, hole = diameter_mm / 2.0, diameter_mm / 3.0
    disc = draw_circle(CircleArt(diameter_mm, 0.0), HERE, FLATTENING_MM).region
    exact = math.pi * radius**2
    assert exact - FLATTENING_MM * math.pi * diameter_mm <= disc.area <= exact
    assert disc.hausdorff_distance(disc.convex_hull) == 0.0
    ring = draw_circle(CircleArt(diameter_mm, hole), HERE, FLATTENING_MM).region
    exact = math.pi * (radius**2 - hole**2 / 4.0)
    assert abs(ring.area - exact) <= FLATTENING_MM * math.pi * diameter_mm


def test_the_number_of_chords_of_a_published_example() -> None:
    # R 10, tolerance 0.01: steps of 5.125117 degrees, 71 chords for a circle by the exact sagitta
    exact = 2.0 * math.acos(1.0 - 0.01 / 10.0)
    assert math.degrees(exact) == pytest.approx(5.125117, abs=1e-6)
    assert chord_count(10.0, 2.0 * math.pi, 0.01) == 71


@pytest.mark.parametrize(
    ("sides", "inner_mm"), [(3, 0.0), (6, 0.0), (12, 0.0), (5, 16.0), (8, 9.0)]
)
def test_polygons_and_stars(sides: int, inner_mm: float) -> None:
    region = draw_polygon(PolygonArt(sides, 40.0, inner_mm, ()), HERE).region
    if inner_mm:
        exact = sides * 20.0 * inner_mm / 2.0 * math.sin(math.pi / sides)
    else:
        exact = sides / 2.0 * 400.0 * math.sin(2.0 * math.pi / sides)
    assert region.area == pytest.approx(exact, rel=1e-7)


coordinates = st.floats(-40.0, 40.0)
controls = st.lists(st.tuples(coordinates, coordinates), min_size=2, max_size=4).map(np.array)


def exact_points(piece: Piece, shares: Points) -> Points:
    """Evaluate a piece by its definition: de Casteljau's steps, or sine and cosine."""
    if isinstance(piece, Arc):
        angles = piece.start_rad + piece.sweep_rad * shares
        arc: Points = (
            piece.centre
            + np.outer(np.cos(angles), piece.axes[0])
            + np.outer(np.sin(angles), piece.axes[1])
        )
        return arc
    layers = np.repeat(piece.controls[None, :, :], len(shares), axis=0)
    while layers.shape[1] > 1:
        layers = (
            layers[:, :-1] * (1.0 - shares)[:, None, None] + layers[:, 1:] * shares[:, None, None]
        )
    curve: Points = layers[:, 0]
    return curve


def greatest_gap(piece: Piece, tolerance_mm: float) -> float:
    """Return how far the curve varies from the chord of its own step, by sampling."""
    start = exact_points(piece, np.array([0.0]))
    corners = np.concatenate([start, piece.points(tolerance_mm)])
    steps = len(corners) - 1
    worst = 0.0
    for inner in np.linspace(0.0, 1.0, 9)[1:-1]:
        shares = (np.arange(steps) + inner) / steps
        chord = corners[:-1] * (1.0 - inner) + corners[1:] * inner
        worst = max(worst, float(np.hypot(*(exact_points(piece, shares) - chord).T).max()))
    return worst


@settings(max_examples=80, deadline=None)
@given(controls, st.sampled_from([0.001, FLATTENING_MM, 0.1]))
def test_flattened_bezier_curves_keep_the_bound(points: Points, tolerance_mm: float) -> None:
    assert greatest_gap(Bezier(points.astype(np.float64)), tolerance_mm) <= tolerance_mm * 1.0001


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.01, 200.0), st.floats(0.01, 200.0), st.floats(-3.0, 3.0), st.floats(-6.3, 6.3),
    st.sampled_from([0.001, FLATTENING_MM, 0.1]),
)  # fmt: skip
def test_flattened_arcs_keep_the_bound(
    wide: float, high: float, turn: float, sweep: float, tolerance_mm: float
) -> None:
    axes = turning(turn).after(scaling(wide, high)).apply_directions(np.eye(2))
    arc = Arc(np.array([3.0, 4.0]), axes, 0.3, sweep)
    assert greatest_gap(arc, tolerance_mm) <= tolerance_mm * 1.0001


@settings(max_examples=40, deadline=None)
@given(
    st.tuples(*[st.floats(-3, 3)] * 6), st.floats(1.0, 20.0), st.floats(1.0, 20.0)
)  # fmt: skip
def test_maps_commute_with_flattening(numbers: tuple[float, ...], wide: float, high: float) -> None:
    """The image of an ellipse is drawn as an ellipse: area times the determinant."""
    affine = Affine(*numbers)
    mapped = ellipse(1.0, 2.0, wide, high).mapped(affine)
    region = filled([mapped.points(FLATTENING_MM)])
    exact = math.pi * wide * high * abs(affine.determinant)
    perimeter = 2.0 * math.pi * max(wide, high) * affine.stretch
    assert abs(region.area - exact) <= FLATTENING_MM * perimeter + 1e-4


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(coordinates, coordinates), min_size=3, max_size=12, unique=True),
    st.floats(0.05, 30.0),
)
def test_steiners_formula(points: list[tuple[float, float]], grow_mm: float) -> None:
    # the hull of points that all but fall together is not to be relied on
    hull = MultiPoint([(round(x, 6), round(y, 6)) for x, y in points]).convex_hull
    if not isinstance(hull, Polygon) or hull.area < 1.0:
        return
    grown = offset(hull, grow_mm)
    area = hull.area + hull.length * grow_mm + math.pi * grow_mm**2
    length = hull.length + 2.0 * math.pi * grow_mm
    assert area - FLATTENING_MM * length <= grown.area <= area + 1e-6
    # a chord that lies s inside an arc of radius r is shorter by a share of s / (3 r); as much
    # again, for arcs that are no whole number of chords
    short = 2.0 * math.pi * FLATTENING_MM * 2.0 / 3.0
    assert length - short - 1e-6 <= grown.length <= length + 1e-6


def test_published_numbers_of_offsets() -> None:
    square = box(0, 0, 20, 20)
    assert offset(square, 3.0).area == pytest.approx(668.27433, abs=0.005 * 6.0 * math.pi)
    assert offset(square, -3.0).area == pytest.approx(14.0**2)
    swept = offset(offset(square, -3.175), 3.175)
    assert swept.area == pytest.approx(391.34672, abs=0.005 * 4.0 * math.pi * 3.175)
    # corners of 60 degrees lose 0.684853 r^2 each
    triangle = draw_polygon(PolygonArt(3, 60.0, 0.0, ()), HERE).region
    lost = triangle.area - offset(offset(triangle, -2.0), 2.0).area
    assert lost == pytest.approx(3.0 * 0.684853 * 4.0, abs=0.005 * 8.0 * math.pi)


@pytest.mark.parametrize("distance_mm", [0.004, 0.1, 1.5875, 40.0])
def test_the_chords_of_an_offset_keep_their_bound(distance_mm: float) -> None:
    quarter = chords_per_quarter(distance_mm)
    sagitta = distance_mm * (1.0 - math.cos(math.pi / (4.0 * quarter)))
    assert sagitta <= FLATTENING_MM * (1.0 + 1e-9)
    if quarter > 1:
        fewer = distance_mm * (1.0 - math.cos(math.pi / (4.0 * (quarter - 1))))
        assert fewer > FLATTENING_MM
    grown = offset(MultiPolygon([box(0, 0, 50, 50)]), distance_mm)
    exact = 2500.0 + 200.0 * distance_mm + math.pi * distance_mm**2
    assert 0.0 <= exact - grown.area <= 2.0 * math.pi * distance_mm * FLATTENING_MM + 1e-6


def test_a_stroke_with_round_ends_is_a_stadium() -> None:
    region = stroked([LineString([(0, 0), (30, 0)])], 4.0)
    assert region.area == pytest.approx(120.0 + 4.0 * math.pi, abs=0.005 * 4.0 * math.pi)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [("1in", 25.4), ("2.54cm", 25.4), ("25.4mm", 25.4), ("96px", 25.4), ("72pt", 25.4),
     ("6pc", 25.4), ("101.6Q", 25.4), ("1px", 0.264583), ("1", 0.264583)],
)  # fmt: skip
def test_units_of_css(text: str, length_mm: float) -> None:
    assert read_length(text)[0] * 25.4 / 96.0 == pytest.approx(length_mm, abs=1e-6)


def test_a_user_unit_without_a_view_box_is_one_px(tmp_path: Path) -> None:
    text = '<svg xmlns="http://www.w3.org/2000/svg" width="10in" height="1in">{}</svg>'
    (tmp_path / "a.svg").write_text(text.format('<rect y="48" width="96" height="48"/>'), "utf-8")
    made = draw_svg(SvgArt("a.svg", (), None), tmp_path, HERE, FLATTENING_MM)
    # y counts down in the file and up on the face: the lower half of the page
    assert made.region.bounds == pytest.approx((0.0, 0.0, 25.4, 12.7))


def test_an_arc_too_small_for_its_ends_grows() -> None:
    """SVG 2, appendix B.2.5: radii too small are scaled up until the arc just spans its ends."""
    (contour,) = read_path("M0 0A1 1 0 0 1 20 0z")
    region = filled([contour.points(FLATTENING_MM)])
    assert region.area == pytest.approx(50.0 * math.pi, abs=FLATTENING_MM * 10.0 * math.pi)


@pytest.mark.parametrize(("flags", "quarters"), [("0 0", 1), ("0 1", 1), ("1 0", 3), ("1 1", 3)])
def test_the_four_arcs_between_two_points(flags: str, quarters: int) -> None:
    """SVG 2, section 9.3.8: large-arc picks the longer way, sweep the side."""
    (contour,) = read_path(f"M10 0A10 10 0 {flags} 0 10z")
    area = filled([contour.points(FLATTENING_MM)]).area
    segment = 100.0 * (math.pi / 2.0 - 1.0) / 2.0
    exact = segment if quarters == 1 else math.pi * 100.0 - segment
    assert area == pytest.approx(exact, abs=FLATTENING_MM * 20.0 * math.pi)


def test_winding_numbers_count_turns() -> None:
    angles = np.linspace(0.0, 6.0 * math.pi, 301)
    spiral = np.column_stack([np.cos(angles), np.sin(angles)]) * (5.0 - angles / 6.0)[:, None]
    outline = np.concatenate([spiral, spiral[:1]])
    points = np.array([[0.1, 0.1], [9.0, 0.0], [0.0, 4.0]])
    turns = winding_numbers(points, outline[:-1], outline[1:])
    assert turns.tolist() == [3, 0, 1]
    back = outline[::-1]
    assert winding_numbers(points, back[:-1], back[1:]).tolist() == [-3, 0, -1]
