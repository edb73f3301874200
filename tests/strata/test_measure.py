from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, box

from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.measure import area_where, compare, least_wood_between_faces, thickness_map
from flushwork.strata.replay import choose_cell_mm
from flushwork.strata.steps import Fill
from tests.strata.hand_made import (
    FLAT,
    board,
    cut,
    inlay_volume_mm3,
    many,
    pocket_path,
    rectangle,
    run,
)

POCKET = pocket_path(12, 8, FLAT.radius_mm, (-2.0,))
REGION = rectangle(12, 12, 24, 20)


def test_thickness_and_area_of_a_fill() -> None:
    replayed = run(
        board(), cut(FLAT, POCKET, shift=(12, 12)), Fill("front", "a", "teal", REGION, 0, 0, 1.0)
    )
    stack = replayed.final.front
    everywhere = thickness_map(stack, replayed.spec, "teal")
    inside = thickness_map(stack, replayed.spec, "teal", rectangle(14, 14, 16, 16))
    assert everywhere.values.shape == (600, 800)
    assert inside.values.shape == (20, 20)
    np.testing.assert_allclose(inside.values, 2.0, atol=1e-6)
    area = 96.0 - (4.0 - math.pi) * FLAT.radius_mm**2
    assert area_where(everywhere, at_least=1.0) == pytest.approx(area, rel=0.01)
    half = area_where(everywhere, at_least=1.0, region=rectangle(12, 12, 18, 20))
    assert half == pytest.approx(area / 2.0, rel=0.01)
    total = inlay_volume_mm3(stack, replayed.spec, "teal")
    parts = [
        inlay_volume_mm3(stack, replayed.spec, "teal", rectangle(*sides))
        for sides in ((12, 12, 17.33, 20), (17.33, 12, 24, 20))
    ]
    assert sum(parts) == pytest.approx(total, rel=1e-6)
    assert inlay_volume_mm3(stack, replayed.spec, "red", REGION) == 0.0


def test_no_wood_between_where_no_cell_lies() -> None:
    replayed = run(board())
    assert (
        least_wood_between_faces(replayed.final, replayed.spec, rectangle(100, 100, 110, 110))
        is None
    )
    assert least_wood_between_faces(replayed.final, replayed.spec, MultiPolygon()) is None
    whole = least_wood_between_faces(replayed.final, replayed.spec)
    assert whole is not None
    assert whole.wood_between_mm == pytest.approx(19.0)


def test_cut_as_meant_differs_only_in_its_corners() -> None:
    replayed = run(board(), cut(FLAT, POCKET, shift=(12, 12)))
    found = compare(replayed.final.front, replayed.spec, REGION, -2.0)
    assert found.missed_mm2 == pytest.approx((4.0 - math.pi) * FLAT.radius_mm**2, rel=0.05)
    assert found.beyond_mm2 == 0.0
    assert found.beyond_at is None
    assert found.missed_at is not None
    corner = min(math.dist(found.missed_at, point) for point in ((12, 12), (24, 12), (24, 20)))
    assert corner < 1.0 or math.dist(found.missed_at, (12, 20)) < 1.0


def test_a_missed_and_an_overcut_place_are_found() -> None:
    one = Bit("1 mm", BitKind.FLAT, 1.0, 9)
    line = LineString([(12.0, 30.0), (40.0, 30.0)])
    short = [(12.0, 30.0, -1.0), (30.0, 30.0, -1.0)]
    stray = [(20.0, 30.0, -1.0), (20.0, 32.0, -1.0)]
    replayed = run(board(), cut(one, short, stray))
    found = compare(replayed.final.front, replayed.spec, many(line.buffer(0.5)), -1.0)
    assert found.missed_mm2 == pytest.approx(10.0, rel=0.02)
    assert found.beyond_mm2 == pytest.approx(1.5 + math.pi / 8.0, rel=0.02)
    assert found.missed_at is not None
    assert found.beyond_at is not None
    assert 30.0 < found.missed_at[0] < 40.6
    assert found.missed_half_mm == pytest.approx(0.5, abs=0.11)
    assert found.beyond_half_mm == pytest.approx(0.5, abs=0.11)
    assert math.dist(found.beyond_at, (20.0, 31.5)) < 1.3


def test_a_pocket_cut_too_shallow_is_missed() -> None:
    replayed = run(board(), cut(FLAT, POCKET, shift=(12, 12)))
    found = compare(replayed.final.front, replayed.spec, REGION, -4.0)
    assert found.missed_mm2 == pytest.approx(0.5 * REGION.area, rel=0.05)


def test_a_floor_above_the_face_is_refused() -> None:
    replayed = run(board())
    with pytest.raises(ValueError, match="below the face"):
        compare(replayed.final.front, replayed.spec, many(Point(5, 5).buffer(1)), 0.0)


@pytest.mark.parametrize(
    ("narrowest", "cell"), [(3.0, 0.1), (0.794, 0.1), (0.5, 0.05), (0.2, 0.033)]
)
def test_choice_of_the_cell(narrowest: float, cell: float) -> None:
    assert choose_cell_mm(narrowest) == cell


def test_region_shares_add_up() -> None:
    replayed = run(board())
    mapped = thickness_map(replayed.final.front, replayed.spec, "teal", many(box(1, 1, 3, 3)))
    assert area_where(mapped, at_most=0.0, region=many(Point(2, 2).buffer(0.9, quad_segs=32))) == (
        pytest.approx(math.pi * 0.81, rel=1e-3)
    )
