"""Pieces on a plank: apart, off defects and edges, in the grain, near the best packing known.

Squares of 1 to n: the area of the least rectangle that holds them is A038666 of the On-Line
Encyclopedia of Integer Sequences (after R. E. Korf and others), its sides are those told in Ed
Pegg's problem "Packing with consecutive squares", both read. Discs: rows as in the densest packing
of the plane, by geometry.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from flushwork.cutlist.kept_apart import HAIR_MM
from flushwork.cutlist.packing import PackedKind, Packing, pack
from tests.many import examples

LEAST_OF_SQUARES = {8: (14, 15), 12: (23, 29)}


def lying(found: Packing, kinds: list[PackedKind]) -> list[BaseGeometry]:
    outlines = {kind.name: kind.outline for kind in kinds}
    return [seat.of(outlines[seat.kind]) for seat in found.seats]


@pytest.mark.parametrize("count", LEAST_OF_SQUARES)
def test_squares_of_many_sizes_waste_at_most_five_percent_more_than_the_best(count: int) -> None:
    high, long = LEAST_OF_SQUARES[count]
    scale = 10.0
    kinds = [
        PackedKind(f"{at}", box(0, 0, scale * at, scale * at), 1, (0,))
        for at in range(1, count + 1)
    ]
    found = pack(kinds, (scale * 3 * long, scale * high), gap_mm=0.0)
    assert not found.left_out
    best = sum(at**2 for at in range(1, count + 1)) / (high * long)
    assert (1.0 - found.share) - (1.0 - best) <= 0.05


def test_discs_lie_as_close_as_in_the_densest_packing_of_a_strip() -> None:
    # in a strip two discs high they lie in rows, each in the gaps of the one before: the height
    # of a row is that of an equilateral triangle
    across, rows = 40.0, 6
    disc = shapely.Point(0, 0).buffer(across / 2.0, quad_segs=64)
    high = 2.5 * across + 0.5
    found = pack([PackedKind("disc", disc, 2 * rows)], (600.0, high), gap_mm=0.0)
    least = across * (1.0 + (rows - 1) * math.sqrt(3.0) / 2.0)
    assert not found.left_out
    assert found.used_mm <= 1.05 * least


@st.composite
def outlines(draw: st.DrawFn) -> Polygon:
    """Draw a star-shaped outline, often far from convex."""
    count = draw(st.integers(3, 9))
    radii = [draw(st.floats(6.0, 40.0)) for _ in range(count)]
    turns = [2.0 * math.pi * (at + draw(st.floats(0.0, 0.6))) / count for at in range(count)]
    shape = Polygon([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True)])
    return shape if shape.is_valid and shape.area > 50.0 else box(-10, -6, 10, 6)


LOST_IN_A_UNION = Polygon(
    [
        (34.33894880518251, 6.770272886306326),
        (20.57516346133821, 25.800438921444982),
        (-10.856661257670746, 31.16300541244684),
        (-29.73197264077983, 14.318163390879421),
        (-6.306782075316934, -3.037186173822906),
        (-0.33965870070818177, -18.996963756533127),
        (19.328183857620736, -24.23677595650893),
    ]
)
"""Its sum with itself, united without a grid, lost a fifth of its area."""


@given(
    st.lists(outlines(), min_size=1, max_size=3),
    st.integers(1, 5),
    st.floats(0.5, 9.0),
    st.floats(0.0, 12.0),
    st.lists(st.tuples(st.floats(0, 300), st.floats(0, 200), st.floats(2, 40)), max_size=3),
    st.sampled_from([(0,), (0, 2), (0, 1, 2, 3)]),
)
@example([box(-10, -6, 10, 6), box(-10, -6, 10, 6), LOST_IN_A_UNION], 3, 5.75, 0.0, [], (0, 2))
@settings(max_examples=examples(8), deadline=None)
def test_nothing_overlaps_nothing_lies_on_a_defect_and_the_order_is_stable(
    shapes: list[Polygon],
    each: int,
    gap: float,
    margin: float,
    knots: list[tuple[float, float, float]],
    quarters: tuple[int, ...],
) -> None:
    kinds = [PackedKind(f"{at}", shape, each, quarters) for at, shape in enumerate(shapes)]
    defects = [shapely.Point(x, y).buffer(r / 2.0) for x, y, r in knots]
    size = (300.0, 200.0)
    found = pack(kinds, size, gap_mm=gap, margin_mm=margin, defects=defects, placings=120)
    again = pack(kinds, size, gap_mm=gap, margin_mm=margin, defects=defects, placings=120)
    assert found == again
    placed = lying(found, kinds)
    assert len(placed) + sum(count for _, count in found.left_out) == each * len(kinds)
    slack = 4.0 * HAIR_MM
    for at, one in enumerate(placed):
        for other in placed[:at]:
            assert one.distance(other) >= gap - slack
        for knot in defects:
            assert one.distance(knot) >= gap / 2.0 - slack
        west, south, east, north = one.bounds
        assert min(west, south, size[0] - east, size[1] - north) >= margin - slack
    assert {seat.quarters for seat in found.seats} <= set(quarters)
    whole = sum(Polygon(one.exterior).area for one in placed if isinstance(one, Polygon))
    assert found.share == pytest.approx(whole / max(found.used_mm * size[1], 1e-9))


LEAVES_A_LINE = Polygon([(6.0, 0.0), (-3.0, 5.196152422706632), (-3.5, -6.06217782649107)])


@given(outlines(), st.floats(1.0, 6.0))
@example(LEAVES_A_LINE, 1.0)
@settings(max_examples=examples(6), deadline=None)
def test_where_as_many_as_fit_are_asked_for_no_more_are_refused_than_one_more(
    shape: Polygon, gap: float
) -> None:
    size = (220.0, 140.0)
    filled = pack([PackedKind("a", shape)], size, gap_mm=gap, margin_mm=3.0)
    count = len(filled.seats)
    assert count >= 1
    asked = pack([PackedKind("a", shape, count)], size, gap_mm=gap, margin_mm=3.0)
    assert not asked.left_out
    assert asked.used_mm <= filled.used_mm + 1e-6
    more = pack([PackedKind("a", shape, count + 1)], size, gap_mm=gap, margin_mm=3.0)
    assert more.left_out == (("a", 1),)


def test_pieces_are_read_in_rows_from_the_far_edge() -> None:
    found = pack([PackedKind("a", box(0, 0, 40, 30), 6)], (150.0, 80.0), gap_mm=5.0, margin_mm=4.0)
    places = np.array([(seat.x_mm, seat.y_mm) for seat in found.seats])
    assert len(places) == 6
    assert (places[:3, 1] > places[3:, 1]).all()
    assert (np.diff(places[:3, 0]) > 0).all()
    assert (np.diff(places[3:, 0]) > 0).all()


def test_rows_that_do_not_nest_are_tried_where_they_hold_more() -> None:
    disc = shapely.Point(0, 0).buffer(45.0, quad_segs=64)
    found = pack([PackedKind("disc", disc, 12)], (400.0, 310.0), gap_mm=4.175, margin_mm=6.0)
    assert not found.left_out
