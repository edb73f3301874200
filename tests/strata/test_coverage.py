from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import MultiPolygon, Point, Polygon, box

from flushwork.kernels.coverage import coverage
from flushwork.strata.planes import region_edges, shares_by_tile
from flushwork.strata.tiles import Window
from tests.strata.hand_made import board, many, rectangle

CELL = 0.5


def twin(region: MultiPolygon, window: Window) -> NDArray[np.float64]:
    """Each cell as a box, cut with the region by a geometry library."""
    left = (window.column + np.arange(window.columns)) * CELL
    bottom = (window.row + np.arange(window.rows)) * CELL
    cells = shapely.box(
        left[None, :], bottom[:, None], left[None, :] + CELL, bottom[:, None] + CELL
    )
    areas: NDArray[np.float64] = shapely.area(shapely.intersection(cells, region)) / CELL**2
    return areas


def raster(region: MultiPolygon, window: Window) -> NDArray[np.float32]:
    return coverage(
        region_edges(region),
        window.column * CELL,
        window.row * CELL,
        CELL,
        window.columns,
        window.rows,
    )


@settings(max_examples=25, deadline=None)
@given(
    x=st.floats(-2.0, 12.0),
    y=st.floats(-2.0, 12.0),
    radius=st.floats(0.1, 6.0),
    sides=st.integers(3, 9),
    hole=st.floats(0.1, 0.8),
)
def test_coverage_is_the_area_in_each_cell(
    x: float, y: float, radius: float, sides: int, hole: float
) -> None:
    angles = np.linspace(0.3, 0.3 + math.tau, sides, endpoint=False)
    outer = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]
    inner = [(x + hole * (p - x), y + hole * (q - y)) for p, q in outer]
    region = many(Polygon(outer, [inner]))
    window = Window(0, 0, 20, 16)
    np.testing.assert_allclose(raster(region, window), twin(region, window), atol=1e-6)


def test_edges_on_cell_borders() -> None:
    region = rectangle(1.0, 1.5, 4.0, 3.0)
    shares = raster(region, Window(0, 0, 12, 12))
    assert set(np.unique(shares)) == {0.0, 1.0}
    assert shares.sum() * CELL**2 == pytest.approx(4.5)


@pytest.mark.parametrize("clockwise", [False, True])
def test_ring_direction_does_not_matter(clockwise: bool) -> None:
    ring = box(1.1, 1.2, 3.3, 4.4, ccw=not clockwise)
    shares = raster(many(ring), Window(0, 0, 12, 12))
    assert shares.sum() * CELL**2 == pytest.approx(2.2 * 3.2, rel=1e-6)


def test_tiles_of_a_large_region_add_up_to_its_area_on_the_blank() -> None:
    spec = board()
    region = many(Point(70.0, 30.0).buffer(25.0))
    inside = region.intersection(box(0, 0, 80, 60)).area
    total = sum(float(share.sum(dtype=np.float64)) for _, share in shares_by_tile(spec, region))
    assert total * spec.cell_mm**2 == pytest.approx(inside, rel=1e-6)


def test_an_empty_region_covers_nothing() -> None:
    assert list(shares_by_tile(board(), MultiPolygon())) == []
    assert list(shares_by_tile(board(), rectangle(200, 200, 210, 210))) == []
