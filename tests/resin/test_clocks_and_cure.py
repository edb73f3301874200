from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.resin.cure import cure_ends, hours_for_dose, temperature_c, wait_until_sandable_s
from flushwork.shelf.items import Air
from tests.resin.shelf_samples import COATING

COLD_SHOP = Air(day_c=16.0, night_c=8.0, day_from_h=8.0, day_until_h=18.0, humidity=0.5)
HOUR_S = 3600.0


def test_a_cold_shop_has_two_ends() -> None:
    # 24 h at 25 C, floor 15 C, poured Monday 18:00 (common practice: twice as fast per 10 C)
    ends = cure_ends(24.0 * HOUR_S, COATING, COLD_SHOP, 18.0)
    assert ends.earlier_s / HOUR_S == pytest.approx(62.66, abs=0.01)  # Thursday, a quarter to nine
    assert ends.later_s / HOUR_S == pytest.approx(114.79, abs=0.01)  # Saturday, ten to one
    assert ends.cold_h_per_day == 14.0


def test_a_warm_box_takes_thirty_two_hours() -> None:
    box = Air(21.0, 21.0, 8.0, 18.0, 0.5)
    ends = cure_ends(24.0 * HOUR_S, COATING, box, 18.0)
    assert ends.earlier_s == ends.later_s
    assert ends.earlier_s / HOUR_S == pytest.approx(31.67, abs=0.01)


def test_the_wait_is_the_later_end_even_where_that_is_never() -> None:
    assert wait_until_sandable_s(COATING, COLD_SHOP) / HOUR_S == pytest.approx(114.79, abs=0.01)
    icy = replace(COLD_SHOP, day_c=12.0)
    ends = cure_ends(COATING.sandable_s, COATING, icy, icy.day_until_h)
    assert math.isinf(ends.later_s)
    assert math.isinf(wait_until_sandable_s(COATING, icy))


def test_the_day_begins_and_ends_on_the_clock() -> None:
    assert [temperature_c(COLD_SHOP, hour) for hour in (7.9, 8.0, 17.9, 18.0, 26.0, 32.0)] == [
        8.0,
        16.0,
        16.0,
        8.0,
        8.0,
        16.0,
    ]


@given(
    dose_h=st.floats(0.5, 80.0),
    start_h=st.floats(0.0, 23.9),
    day_c=st.floats(10.0, 30.0),
    night_c=st.floats(2.0, 20.0),
)
@settings(max_examples=60, deadline=None)
def test_the_dose_is_the_integral_of_the_rate(
    dose_h: float, start_h: float, day_c: float, night_c: float
) -> None:
    air = Air(day_c, night_c, 8.0, 18.0, 0.5)

    hours = hours_for_dose(dose_h, 25.0, air, start_h)
    steps = 4000
    step = hours / steps
    summed = sum(
        2.0 ** ((temperature_c(air, start_h + (index + 0.5) * step) - 25.0) / 10.0) * step
        for index in range(steps)
    )
    assert summed == pytest.approx(dose_h, rel=0.01)


@given(later=st.floats(15.1, 30.0), sooner=st.floats(0.1, 5.0))
@settings(max_examples=25, deadline=None)
def test_a_warmer_shop_never_waits_longer(later: float, sooner: float) -> None:
    cool, warm = Air(later, 15.0, 8.0, 18.0, 0.5), Air(later + sooner, 15.0, 8.0, 18.0, 0.5)
    assert wait_until_sandable_s(COATING, warm) <= wait_until_sandable_s(COATING, cool)
