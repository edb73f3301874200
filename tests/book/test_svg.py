"""The SVG writer: small, true to the region, safe."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from flushwork.views.drawing import svg


def read_back(data: str) -> BaseGeometry:
    """Read closed relative paths in hundredths of a mm, even-odd."""
    shape: BaseGeometry = MultiPolygon()
    for ring in filter(None, data.split("z")):
        head, steps = ring.removeprefix("M").split("l")
        x, y = map(int, head.split())
        points = [(x / 100, y / 100)]
        numbers = [int(text) for text in re.findall(r"-?\d+", steps)]
        for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
            x, y = x + dx, y + dy
            points.append((x / 100, y / 100))
        shape = shape.symmetric_difference(Polygon(points))
    return shape


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0, 300),
    st.floats(0, 200),
    st.floats(1.0, 60.0),
    st.floats(0.1, 0.8),
    st.integers(3, 60),
)
def test_a_path_stays_within_its_bound_of_the_region(
    x: float, y: float, radius: float, inner: float, sides: int
) -> None:
    ring = Point(x, y).buffer(radius, quad_segs=sides)
    hole = Point(x, y).buffer(radius * inner, quad_segs=sides)
    region = MultiPolygon([Polygon(ring.exterior, [hole.exterior])])
    again = read_back(svg.region_path(region))
    bound = svg.SIMPLIFY_MM + 0.5**0.5 / svg.GRID_PER_MM + 1e-9
    assert shapely.hausdorff_distance(again.boundary, region.boundary, densify=0.2) <= bound


def test_a_circle_costs_few_bytes() -> None:
    region = MultiPolygon([Point(50, 50).buffer(20, quad_segs=400)])
    assert len(svg.region_path(region)) < 1000


def test_lines_stay_open_and_straight_ones_keep_two_points() -> None:
    line = LineString([(0, 0), (5, 0), (10, 0), (20, 0)])
    assert svg.line_path(line) == "M0 0l2000 0"


def test_nothing_is_written_for_an_empty_region() -> None:
    assert svg.region_path(MultiPolygon()) == ""
    assert svg.path("", fill="red") == ""


def test_a_frame_mirrors_about_the_middle_of_the_blank() -> None:
    plain = svg.Frame(340, 190, 0.5, 10, 2)
    about_length = svg.Frame(340, 190, 0.5, 10, 2, flip_y=True)
    about_width = svg.Frame(340, 190, 0.5, 10, 2, flip_x=True)
    assert plain.place(0, 0) == (10, 2 + 95)
    assert about_length.place(30, 20) == plain.place(30, 170)
    assert about_width.place(30, 20) == plain.place(310, 20)


def test_the_matrix_and_the_place_agree() -> None:
    for flip_x, flip_y in ((False, False), (True, False), (False, True)):
        frame = svg.Frame(340, 190, 0.5, 10, 2, flip_x, flip_y)
        a, b, c, d, e, f = map(float, frame.matrix[7:-1].split())
        x, y = frame.place(12.34, 56.78)
        assert abs(a * 1234 + c * 5678 + e - x) < 1e-3
        assert abs(b * 1234 + d * 5678 + f - y) < 1e-3


def test_text_is_escaped_and_free_of_what_xml_forbids() -> None:
    hostile = "</text><script>alert('&')</script>\x00\x1f\ud800"
    whole = svg.drawing([svg.words(hostile, 1, 2, 3)], 10, 10, hostile)
    root = ET.fromstring(whole)  # noqa: S314 - our own text, read to show that it is well formed
    assert not [each for each in root.iter() if each.tag.endswith("script")]
    assert "<script>alert('&')</script>" in "".join(root.itertext())


def test_a_box_keeps_its_corners() -> None:
    assert read_back(svg.region_path(MultiPolygon([box(1, 2, 3.5, 4)]))).equals(box(1, 2, 3.5, 4))
