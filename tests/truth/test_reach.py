"""Rounded corners of an opening by a disc against their closed forms.

A convex corner of interior angle a keeps r^2 (cot(a/2) - (pi - a)/2) of its area, and its tip lies
r (1/sin(a/2) - 1) from what is cut: the area between two tangents to a circle and the circle, and
the distance from their meeting point (elementary plane geometry).
"""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import MultiPolygon, Polygon

from flushwork.fit.reach import gap, reach
from flushwork.shelf.items import Bit, BitKind

BIT = Bit("flat", BitKind.FLAT, 3.175, 1)
R = 1.5875


def test_a_right_angled_corner() -> None:
    found = reach(MultiPolygon([shapely.box(0, 0, 40, 25)]), BIT)
    assert found.lost_mm2 / 4.0 == pytest.approx((1.0 - math.pi / 4.0) * R**2, rel=0.01)
    assert found.lost_mm2 / 4.0 == pytest.approx(0.541, rel=0.01)
    assert found.deepest_mm == pytest.approx(0.657, abs=0.001)


@pytest.mark.parametrize(
    ("degrees", "area", "depth"),
    [
        (30, 2.423054, 2.863703),
        (45, 1.236116, 1.613126),
        (60, 0.684853, 1.0),
        (90, 0.214602, 0.414214),
        (120, 0.0537515, 0.154701),
        (135, 0.0215145, 0.082392),
    ],
)
def test_corners_of_other_angles(degrees: float, area: float, depth: float) -> None:
    half = math.radians(degrees) / 2.0
    assert area == pytest.approx(1.0 / math.tan(half) - (math.pi - 2.0 * half) / 2.0, rel=1e-5)
    assert depth == pytest.approx(1.0 / math.sin(half) - 1.0, rel=1e-5)
    x, y = 40.0 * math.cos(half), 40.0 * math.sin(half)
    found = reach(MultiPolygon([Polygon([(0, 0), (x, -y), (2 * x, 0), (x, y)])]), BIT)
    tip = MultiPolygon(
        [part for part in found.lost.geoms if part.distance(shapely.Point(0, 0)) < 1]
    )
    assert tip.area == pytest.approx(area * R**2, rel=0.01)
    deepest, place = gap(tip, found.reached)
    assert deepest == pytest.approx(depth * R, rel=0.01)
    assert place == pytest.approx((0.0, 0.0), abs=1e-6)


def test_a_square_opened() -> None:
    # square 20, r 3.175: 400 - (4 - pi) r^2
    bit = Bit("flat", BitKind.FLAT, 6.35, 1)
    found = reach(MultiPolygon([shapely.box(0, 0, 20, 20)]), bit)
    assert found.reached.area == pytest.approx(391.34672, rel=5e-5)
