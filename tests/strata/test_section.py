from __future__ import annotations

import numpy as np
import pytest

from flushwork.strata.section import section
from flushwork.strata.steps import Coat, Fill, Plane
from flushwork.strata.tiles import merged_order, slots
from tests.strata.hand_made import FLAT, board, cut, pocket_path, rectangle, run

POCKET = pocket_path(8, 6, FLAT.radius_mm, (-2.0,))


@pytest.mark.parametrize("turn_about_x", [True, False])
def test_both_faces_stand_in_one_height_frame(turn_about_x: bool) -> None:
    spec = board(turn_about_x=turn_about_x)
    behind = (12.0, 60.0 - 18.0) if turn_about_x else (80.0 - 20.0, 12.0)
    replayed = run(
        spec,
        Plane("front", -0.5, "surfaced"),
        cut(FLAT, POCKET, shift=(12, 12), zero_mm=-0.5),
        Fill("front", "a", "teal", rectangle(12, 12, 20, 18), -0.5, 0.0, 0.9),
        cut(FLAT, POCKET, face="back", shift=behind, zero_mm=-1.0),
        Coat("front", "varnish", 0.08),
    )
    found = section(replayed.final, spec, "front", (5.0, 15.0), (35.0, 15.0))
    at = int(np.searchsorted(found.positions_mm, 11.0))
    assert [material for material, _ in found.near] == ["wood", "teal"]
    assert found.near[0][1][at] == pytest.approx(-2.5)
    assert found.near[1][1][at] == pytest.approx(-0.7)
    assert found.far[0][1][at] == pytest.approx(-19.0 + 3.0)
    assert found.near[0][1][0] == pytest.approx(-0.5)
    assert found.far[0][1][0] == pytest.approx(-19.0)
    assert not found.hole.any()
    assert found.coats_mm == (0.08, 0.0)
    assert found.positions_mm[-1] == pytest.approx(30.0)
    np.testing.assert_allclose(found.places_mm[-1], (35.0, 15.0))


def test_a_section_seen_from_the_back_is_the_same_board() -> None:
    replayed = run(board(), cut(FLAT, POCKET, shift=(12, 12)))
    front = section(replayed.final, replayed.spec, "front", (16.05, 5.05), (16.05, 25.05))
    back = section(replayed.final, replayed.spec, "back", (16.05, 54.95), (16.05, 34.95))
    np.testing.assert_allclose(front.near[0][1], -19.0 - back.far[0][1], atol=1e-5)


def test_off_the_blank_and_through_holes_are_holes() -> None:
    replayed = run(board(), cut(FLAT, [(20.0, 20.0, -20.0)]))
    found = section(replayed.final, replayed.spec, "front", (-5.0, 20.0), (30.0, 20.0))
    places = found.places_mm[:, 0]
    assert found.hole[places < -0.01].all()
    assert found.hole[np.abs(places - 20.0) < 1.4].all()
    assert not found.hole[(places > 0.1) & (places < 18.0)].any()


def test_orders_of_materials_merge_without_losing_their_sequence() -> None:
    orders = [
        ("wood", "shellac", "teal"),
        ("wood", "teal", "shellac", "gold", "clear"),
        ("wood", "clear"),
        ("wood", "red", "clear"),
    ]
    merged = merged_order(orders)
    assert merged[0] == "wood"
    for order in orders:
        places = slots(order, merged)
        assert sorted(places) == list(places)
        assert set(places) == set(range(len(order)))
        rest = iter(merged)
        assert all(material in rest for material in order)
