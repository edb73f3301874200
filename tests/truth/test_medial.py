"""The medial axis and V carving against closed forms, and widths against a distance transform.

Rectangle a <= b: a middle segment b - a and four diagonals of a / sqrt 2, greatest radius a / 2.
V-carve volume of a polygon with an inscribed circle of radius r that touches every side:
A r / (3 tan(t / 2)); of a rectangle: a^2 (3 b - a) / (12 tan(t / 2)): volumes of the pyramid and
of the hipped roof over the outline (elementary solid geometry).  A straight groove plunged with a
conical tool: L d^2 tan(t / 2) + (pi / 3) d^3 tan^2(t / 2).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from shapely import MultiLineString, MultiPolygon, Polygon

from flushwork.fit.discs import axis_of
from flushwork.shelf.items import Bit, BitKind
from tests.fit.shapes import disc, many, star
from tests.gcode.cut_samples import engraving, heights_of, line, traced


def v_bit(degrees: float) -> Bit:
    return Bit(
        "V-bit", BitKind.V_BIT, 20.0, 1, angle_rad=math.radians(degrees), pass_mm=20.0, flute_mm=20
    )


def test_the_axis_of_a_rectangle() -> None:
    axis = axis_of(MultiPolygon([shapely.box(1, 2, 11, 6)]))
    ends = axis.points[axis.edges]
    length = np.hypot(*(ends[:, 0, :2] - ends[:, 1, :2]).T).sum()
    assert length == pytest.approx(6.0 + 2.0 * math.sqrt(2.0) * 4.0, abs=1e-6)
    assert axis.points[:, 2].max() == pytest.approx(2.0, abs=1e-6)


def test_the_axis_of_a_disc_is_its_middle() -> None:
    axis = axis_of(disc(5.0))
    assert axis.edges.shape == (0, 2)
    assert axis.points[0] == pytest.approx((0.0, 0.0, 5.0), abs=0.01)


def test_the_axis_of_a_ring_is_a_ring() -> None:
    axis = axis_of(many(shapely.difference(disc(5.0), disc(3.0))))
    assert np.hypot(*axis.points[:, :2].T) == pytest.approx(4.0, abs=0.01)
    assert axis.points[:, 2] == pytest.approx(1.0, abs=0.01)
    ends = axis.points[axis.edges]
    length = np.hypot(*(ends[:, 0, :2] - ends[:, 1, :2]).T).sum()
    assert length == pytest.approx(8.0 * math.pi, rel=1e-3)


SHAPES = {
    "star": star(5, 10, 4),
    "ell": many(shapely.union(shapely.box(0, 0, 10, 3), shapely.box(0, 0, 3, 8))),
    "two holes": many(
        shapely.difference(
            shapely.box(-9, -6, 9, 6), shapely.union(disc(2.0, x=-4.0), disc(3.0, x=4.0))
        )
    ),
    "bow": many(shapely.buffer(shapely.LineString([(0, 0), (5, 4), (9, -3)]), 1.3, quad_segs=9)),
}


@pytest.mark.parametrize("name", SHAPES)
def test_radii_agree_with_a_distance_transform(name: str) -> None:
    region = SHAPES[name]
    cell = 0.02
    x0, y0, x1, y1 = (value for value in region.bounds)
    xs = np.arange(x0 - 5 * cell, x1 + 5 * cell, cell)
    ys = np.arange(y0 - 5 * cell, y1 + 5 * cell, cell)
    inside = np.asarray(shapely.contains_xy(region, *np.meshgrid(xs, ys)), dtype=np.bool_)
    away = np.asarray(distance_transform_edt(inside)) * cell
    axis = axis_of(region)
    columns = np.rint((axis.points[:, 0] - xs[0]) / cell).astype(int)
    rows = np.rint((axis.points[:, 1] - ys[0]) / cell).astype(int)
    assert away[rows, columns] == pytest.approx(axis.points[:, 2], abs=1.5 * cell)
    assert away.max() == pytest.approx(axis.points[:, 2].max(), abs=1.5 * cell)


@pytest.mark.parametrize("name", SHAPES)
def test_discs_along_the_axis_reach_the_whole_outline(name: str) -> None:
    region = SHAPES[name]
    axis = axis_of(region)
    ends = axis.points[axis.edges]
    counts = np.ceil(np.hypot(*(ends[:, 0] - ends[:, 1])[:, :2].T) / 0.02).astype(int) + 1
    places = np.concatenate(
        [
            a + (b - a) * np.linspace(0, 1, n)[:, None]
            for (a, b), n in zip(ends, counts, strict=True)
        ]
    )
    rim = shapely.get_coordinates(shapely.segmentize(region.boundary, 0.1))
    short = [float(np.min(np.hypot(*(places[:, :2] - q).T) - places[:, 2])) for q in rim]
    assert max(short) <= 0.01
    away = shapely.distance(shapely.points(places[:, :2]), region.boundary)
    assert places[:, 2] == pytest.approx(away, abs=0.004)


def carved(region: MultiPolygon, degrees: float, cell: float = 0.05) -> tuple[float, float]:
    """Return volume and depth of the V carving, swept over a grid by brute force."""
    bit = v_bit(degrees)
    moves = traced(engraving(bit, region=region, floor=-15.0)).moves
    x0, y0, x1, y1 = region.bounds
    xs: NDArray[np.float64] = np.arange(x0 + cell / 2, x1, cell)
    ys: NDArray[np.float64] = np.arange(y0 + cell / 2, y1, cell)
    heights = heights_of(moves, bit, xs, ys)
    return -float(heights.sum()) * cell * cell, -float(heights.min())


@pytest.mark.parametrize(
    ("region", "degrees", "volume", "depth"),
    [
        (MultiPolygon([Polygon([(0, 0), (4, 0), (0, 3)])]), 90, 2.0, 1.0),
        (MultiPolygon([shapely.box(0, 0, 6, 6)]), 90, 36.0, 3.0),
        (disc(3.0, segments=60), 90, 28.27433, 3.0),
        (MultiPolygon([shapely.box(0, 0, 10, 4)]), 60, 60.04443, 3.46410),
    ],
)
def test_carved_volumes(region: MultiPolygon, degrees: float, volume: float, depth: float) -> None:
    got = carved(region, degrees)
    assert got[0] == pytest.approx(volume, rel=0.01)
    assert got[1] == pytest.approx(depth, abs=0.06)


def test_a_straight_groove() -> None:
    bit = v_bit(60)
    lines = MultiLineString([[(0.0, 0.0), (40.0, 0.0)]])
    moves = traced(line(bit, lines=lines, floor=-3.0)).moves
    cell = 0.05
    xs: NDArray[np.float64] = np.arange(-2 + cell / 2, 42, cell)
    ys: NDArray[np.float64] = np.arange(-2 + cell / 2, 2, cell)
    heights = heights_of(moves, bit, xs, ys)
    assert -heights.sum() * cell * cell == pytest.approx(217.27087, rel=0.005)
