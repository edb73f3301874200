"""Where artwork lands: anchors, mirror, scale, turn, copies, both faces."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon
from shapely.affinity import translate

from flushwork.art.drawn import Shapes
from flushwork.art.placement import place
from flushwork.art.plain_shapes import draw_polygon
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.job.records import CircleArt, Placement, PolygonArt, RectangleArt
from tests.art.face_jobs import artwork, codes, drawn, face, inlay, job
from tests.many import examples

FLAG = PolygonArt(0, 0.0, 0.0, ((0, 0), (20, 0), (4, 3), (0, 10)))
BOX = RectangleArt(20.0, 10.0, 0.0, 0.0)
ONTO = (10.0, 20.0, 190.0, 80.0)


def bounds(placement: Placement, art: PolygonArt | RectangleArt = BOX) -> tuple[float, ...]:
    return tuple(
        round(x, 6) + 0.0 for x in drawn(job(inlay(artwork(art, placement)))).region.bounds
    )


@pytest.mark.parametrize(
    ("anchor", "corner"),
    [
        ("centre", (90, 45)),
        ("lower left", (0, 0)),
        ("lower right", (180, 0)),
        ("upper left", (0, 90)),
        ("upper right", (180, 90)),
        ("left", (0, 45)),
        ("right", (180, 45)),
        ("top", (90, 90)),
        ("bottom", (90, 0)),
    ],
)
def test_anchors_meet_the_same_anchors(anchor: str, corner: tuple[float, float]) -> None:
    got = bounds(Placement(anchor=anchor, x_mm=1.0, y_mm=-2.0))
    assert got[:2] == (corner[0] + 1.0, corner[1] - 2.0)
    # a mirrored flag still stands on the board's corner
    mirrored = bounds(Placement(anchor=anchor, mirror="left-right"), FLAG)
    assert mirrored[:2] == corner


def test_a_turn_is_about_the_anchor_and_counter_clockwise() -> None:
    quarter = Placement(anchor="lower left", x_mm=50.0, y_mm=50.0, turn_rad=math.pi / 2.0)
    assert bounds(quarter) == (40.0, 50.0, 50.0, 70.0)
    assert bounds(Placement(turn_rad=math.pi / 2.0)) == (95.0, 40.0, 105.0, 60.0)


def test_mirror_comes_before_scale_and_turn() -> None:
    placement = Placement(
        anchor="lower left", as_drawn=True, mirror="top-bottom", scale=2.0, turn_rad=math.pi / 2.0
    )
    # the flag hangs below, twice as large, then swings round to the right
    assert bounds(placement, FLAG) == (0.0, 0.0, 20.0, 40.0)


def test_as_drawn_puts_the_artworks_own_zero_on_the_anchor() -> None:
    placement = Placement(anchor="centre", as_drawn=True, x_mm=3.0)
    assert bounds(placement, FLAG) == (103.0, 50.0, 123.0, 60.0)


def test_copies_on_a_grid_and_around() -> None:
    grid = Placement(anchor="lower left", columns=3, rows=2, pitch_x_mm=30.0, pitch_y_mm=15.0)
    made = drawn(job(inlay(artwork(BOX, grid)))).region
    assert len(made.geoms) == 6
    assert tuple(round(x, 6) for x in made.bounds) == (0.0, 0.0, 80.0, 25.0)
    around = drawn(job(inlay(artwork(BOX, Placement(x_mm=30.0, around=4))))).region
    assert len(around.geoms) == 4
    assert tuple(round(x, 6) for x in around.bounds) == (60.0, 10.0, 140.0, 90.0)
    overlapping = drawn(job(inlay(artwork(BOX, Placement(around=4))))).region
    assert overlapping.area == pytest.approx(200.0 + 200.0 - 100.0)


def test_the_flattening_bound_holds_after_scaling() -> None:
    placement = Placement(scale=50.0)
    made = drawn(job(inlay(artwork(CircleArt(1.0, 0.0), placement)))).region
    assert abs(made.area - math.pi * 625.0) < FLATTENING_MM * 2.0 * math.pi * 25.0
    assert made.area == pytest.approx(math.pi * 625.0, rel=4e-4)


placements = st.builds(
    Placement,
    anchor=st.sampled_from(["centre", "lower left", "top", "right"]),
    x_mm=st.floats(-50, 50),
    y_mm=st.floats(-50, 50),
    turn_rad=st.floats(-7, 7),
    mirror=st.sampled_from(["", "left-right", "top-bottom"]),
    scale=st.floats(0.05, 20),
    as_drawn=st.booleans(),
)
SHAPES = draw_polygon(FLAG, artwork(FLAG).source)


@settings(max_examples=80, deadline=None)
@given(placements)
def test_placing_keeps_area_times_scale_squared(placement: Placement) -> None:
    made = place(SHAPES, placement, ONTO).region
    assert made.area == pytest.approx(SHAPES.region.area * placement.scale**2, rel=1e-6)
    assert made.is_valid
    assert made.geoms[0].exterior.is_ccw


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(["left-right", "top-bottom"]), st.sampled_from(["centre", "left", "bottom"]))
def test_mirrored_twice_is_as_before(mirror: str, anchor: str) -> None:
    once = place(SHAPES, Placement(anchor=anchor, mirror=mirror), ONTO)
    twice = place(Shapes(once.region), Placement(anchor=anchor, mirror=mirror), ONTO)
    straight = place(SHAPES, Placement(anchor=anchor), ONTO)
    assert twice.region.symmetric_difference(straight.region).area < 1e-9
    assert once.region.symmetric_difference(straight.region).area > 1.0


def test_the_trim_line_is_mirrored_behind_and_back_artwork_is_not() -> None:
    trim = artwork(RectangleArt(100.0, 60.0, 0.0, 0.0), Placement(anchor="lower left", x_mm=5.0))
    art = artwork(FLAG, Placement(anchor="lower left"))
    both = (inlay(art, name="a"), inlay(art, name="b", face="back"))
    front, back = (face(job(*both, trim=trim), name) for name in ("front", "back"))
    assert front.trim.bounds == pytest.approx((5.0, 0.0, 105.0, 60.0))
    # flipped top to bottom: what lay near lies far
    assert back.trim.bounds == pytest.approx((5.0, 40.0, 105.0, 100.0))
    assert back.trim.geoms[0].exterior.is_ccw
    over_width = face(job(*both, trim=trim, turn_about_x=False), "back")
    assert over_width.trim.bounds == pytest.approx((95.0, 0.0, 195.0, 60.0))
    # seen looking at it, the flag on the back is the same flag
    moved = translate(front.inlays[0].region, 0.0, 40.0)
    assert back.inlays[0].region.symmetric_difference(moved).area < 1e-9


def test_without_a_trim_line_the_blank_is_the_board() -> None:
    made = face(job())
    assert made.trim.equals(made.blank)
    assert made.visible.bounds == (0.0, 0.0, 200.0, 100.0)
    assert [each.name for each in (face(job(), "front"), face(job(), "back"))] == ["front", "back"]


def test_a_hidden_border_leaves_the_middle_in_sight() -> None:
    trim = artwork(RectangleArt(100.0, 60.0, 0.0, 0.0))
    made = face(job(trim=trim, hidden_mm=6.0))
    assert made.visible.bounds == pytest.approx((56.0, 26.0, 144.0, 74.0))
    assert codes(job(trim=trim, hidden_mm=30.0)) == ["hidden-border-covers-all"]


SPOTS = st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 60.0))
TRACED = (
    (52.0071208240188, 46.97995903488583), (34.177645653100484, 29.190038686087625),
    (52.16097042548855, 47.05016902277452), (52.00712082401881, 46.97995903488584),
    (52.141602420029535, 47.03563499701948),
)  # fmt: skip
"""A corner of a traced photo with a spur thinner than its numbers are written."""


@settings(max_examples=examples(60), deadline=None)
@given(st.tuples(SPOTS, SPOTS, SPOTS), st.floats(0.0, 2.0 * math.pi), SPOTS, st.floats(0.0, 6.3))
@example((TRACED[0], TRACED[1], TRACED[2]), math.nan, (8.000000000000007, 21.625000000000007), 0.0)
def test_a_region_with_a_hair_on_it_stays_whole_wherever_it_goes(
    corners: tuple[tuple[float, float], ...],
    way_rad: float,
    to: tuple[float, float],
    turn_rad: float,
) -> None:
    root = corners[0]
    tip = (root[0] + 0.1 * math.cos(way_rad), root[1] + 0.1 * math.sin(way_rad))
    back = (np.nextafter(root[0], 99.0), np.nextafter(root[1], 99.0))
    ring = TRACED if math.isnan(way_rad) else (tip, back, *corners[1:], root)
    hairy = Polygon(ring)
    assume(hairy.is_valid and hairy.area > 1.0)
    onto = Placement(anchor="lower left", as_drawn=True, x_mm=to[0], y_mm=to[1], turn_rad=turn_rad)
    region = place(Shapes(MultiPolygon([hairy])), onto, (0.0, 0.0, 100.0, 100.0)).region
    assert region.is_valid
    assert region.area == pytest.approx(hairy.area, rel=1e-6)
