"""Speeds, labels, rooms, tools and limits of the shelf, each figure worked out by hand."""

from __future__ import annotations

import math

import pytest

from flushwork.core.keys.quantities import Measured
from flushwork.core.units.kinds import FLUID_OUNCE_CM3, OUNCE_G
from flushwork.shelf import tables
from flushwork.shelf.equipment import MeasuringTool, ToolKind, edge_m_s, greatest_rpm
from flushwork.shelf.hazards import Hazard, by_flash_point
from flushwork.shelf.items import SHOP_AIR
from flushwork.shelf.materials import DENSITY, MOVEMENT, WAIT, WARMTH
from flushwork.shelf.rooms import MonthAir, Room
from flushwork.shelf.working import COMMON_LABELS, LETTER_LABELS, MINUTES, HandTimes, LabelSheet


def test_wide_bits_turn_slower() -> None:
    """Common practice, no source: 24000 rpm to 25 mm, 16000 to 63 mm, 12000 to 90 mm."""
    assert [greatest_rpm(each, 0.0) for each in (25.0, 50.0, 63.0, 63.1, 90.0)] == [
        *(24000.0, 18000.0, 16000.0, 12000.0, 12000.0)
    ]
    assert greatest_rpm(80.0, 9000.0) == 9000.0
    # beyond the widest step its rim is as fast as that of 90 mm at 12000
    assert edge_m_s(120.0, greatest_rpm(120.0, 0.0)) == pytest.approx(edge_m_s(90.0, 12000.0))


def test_a_starter_shop_works_by_day() -> None:
    """Assumed: eight to six, 20 degrees C by day and 16 by night; a shop's own file replaces it."""
    shop = tables.starter_shop()
    assert (shop.hours.opens_h, shop.hours.closes_h) == (8.0, 18.0)
    assert (shop.air.day_from_h, shop.air.day_until_h) == (8.0, 18.0)
    assert (shop.air.day_c, shop.air.night_c) == (20.0, 16.0)
    assert shop.days == (0, 1, 2, 3, 4)


def test_hand_work_grows_with_the_face_by_seven_tenths() -> None:
    # three tenths are the same for any size; ten minutes an hour are a pause: 20 x (0.3 + 0.7 x 2)
    # min on twice the face, in hours of 50
    assert HandTimes(pause_min=10).on_face_min(20, 18.0) == round(34.0 * 60.0 / 50.0)


def test_the_edge_of_a_bit() -> None:
    # pi x 0.058 m x 24000 / 60 s
    assert edge_m_s(58.0, 24000.0) == pytest.approx(72.88, abs=0.01)


def test_tools_that_show_ounces() -> None:
    def scale(step: float) -> bool:
        return MeasuringTool("scale", ToolKind.SCALE, step, 500.0, 0.0).ounces

    def syringe(step: float) -> bool:
        return MeasuringTool("syringe", ToolKind.SYRINGE, step, 30.0, 0.0).ounces

    # an eighth of an ounce, a thousandth, and a sixth of a fluid ounce (a tablespoon of three)
    assert all(scale(part * OUNCE_G) for part in (0.125, 0.001, 0.5))
    assert syringe(FLUID_OUNCE_CM3 / 6.0)
    assert not any(scale(step) for step in (0.01, 0.1, 1.0, 2.0, 0.05))
    assert not any(syringe(step) for step in (0.1, 0.2, 0.5, 1.0, 2.5))
    # as good as 1/64 of an ounce, and yet a round metric figure
    assert not scale(0.443)
    # finer than any part of an ounce: a tenth of a milligram
    assert not any(scale(step) for step in (0.0001, 0.0005))
    # neither a round metric figure nor an even part of an ounce
    assert not scale(0.0123456 * math.pi)


def test_labels_stand_with_gaps_between_and_none_outside() -> None:
    sheet = LabelSheet(60.0, 25.0, 3, 10, 4.0, 2.0)
    # 3 x 60 + 2 x 4 across, 10 x 25 + 9 x 2 down
    assert (sheet.across_mm, sheet.down_mm) == (188.0, 268.0)
    for each in (COMMON_LABELS, LETTER_LABELS):
        assert each.across_mm <= 215.9
        assert each.down_mm <= 297.0


def test_a_month_that_is_not_given_lies_on_the_line_between_its_neighbours() -> None:
    room = Room("loft", (MonthAir("March", 10.0, 0.4), MonthAir("July", 30.0, 0.8)))
    year = dict(zip(range(1, 13), room.year, strict=True))
    assert year[3] == (10.0, 0.4)
    assert year[4] == pytest.approx((15.0, 0.5))
    assert year[6] == pytest.approx((25.0, 0.7))
    # back over the turn of the year: July to March is eight months
    assert year[12] == pytest.approx((30.0 - 5.0 / 8.0 * 20.0, 0.8 - 5.0 / 8.0 * 0.4))
    assert year[1] == pytest.approx((30.0 - 6.0 / 8.0 * 20.0, 0.8 - 6.0 / 8.0 * 0.4))


def test_packaged_rooms_are_driest_when_heated_and_dampest_unheated_in_winter() -> None:
    """Assumed, from memory; the wood of an unheated room is damp all year, of a heated one dry."""
    rooms: dict[str, dict[str, dict[str, float]]] = {}
    for row in tables.rows("rooms"):
        rooms.setdefault(row["name"], {})[row["month"]] = row
    for name, months in rooms.items():
        shares = [row["humidity"] for row in months.values()]
        warmth = [row["at_c"] for row in months.values()]
        # from month to month the air of a room hardly jumps
        around = list(zip(shares, shares[1:] + shares[:1], strict=True))
        assert all(abs(after - before) <= 0.1 + 1e-9 for before, after in around), name
        steps = zip(warmth, warmth[1:] + warmth[:1], strict=True)
        assert all(abs(after - before) <= 5.0 + 1e-9 for before, after in steps), name
        assert all(0.2 <= share <= 0.85 for share in shares), name


@pytest.mark.parametrize(
    ("kind", "least", "most"),
    [
        # lighter than any powder in bulk, heavier than any metal (osmium 22.6, from memory)
        (DENSITY, 0.05, 25.0),
        # three months: no product for a shop waits longer
        (WAIT, 0.0, 90 * 86400.0),
        (WARMTH, -60.0, 120.0),
        # no wood moves 2 % for one percent of moisture (Wood Handbook table 13-5: 0.0046 at most)
        (MOVEMENT, 0.0, 0.02),
        # the air a shop can be worked in
        (SHOP_AIR, -20.0, 50.0),
        # half a minute to a working day
        (MINUTES, 30.0, 8 * 3600.0),
    ],
)
def test_limits_are_as_wide_as_what_there_is(kind: Measured, least: float, most: float) -> None:
    assert (kind.least, kind.most) == pytest.approx((least, most))


def test_liquids_are_classed_by_their_flash_point() -> None:
    """Below 23 degrees C, up to 60, above (Regulation (EC) No 1272/2008, from memory)."""
    told = [by_flash_point(each) for each in (12.0, 22.9, 23.0, 60.0, 60.1, None)]
    very, plain = (Hazard.VERY_FLAMMABLE,), (Hazard.FLAMMABLE,)
    assert told == [very, very, plain, plain, (), ()]
