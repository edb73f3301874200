from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.resin.composition import HARDENER, RESIN
from flushwork.resin.cup.cards import after_resin_g, mend
from flushwork.resin.cup.tool_readings import MixRatio

RATIO = MixRatio(0.44, 1.15, 1.0, 0.03)


def test_after_eleven_point_four_grams_the_display_must_read_sixteen_point_four() -> None:
    display = after_resin_g(11.4, RATIO, 0.1)
    assert display.target_g == pytest.approx(16.4)
    assert display.low_g <= 16.4 <= display.high_g
    assert display.fine


def test_what_else_stands_in_the_cup_is_on_the_display() -> None:
    assert after_resin_g(11.4, RATIO, 0.1, beside_g=0.5).target_g == pytest.approx(16.9)


def test_a_batch_too_small_for_the_scale_says_so() -> None:
    assert not after_resin_g(0.6, RATIO, 0.1).fine


@given(
    resin=st.floats(12.0, 300.0),
    off=st.tuples(st.floats(-0.05, 0.05), st.floats(-0.05, 0.05)),
    end=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_at_either_stop_limit_the_ratio_holds(
    resin: float, off: tuple[float, float], end: bool
) -> None:
    display = after_resin_g(resin, RATIO, 0.1)
    if not display.fine:
        return
    shown = display.high_g if end else display.low_g
    true_resin, true_hardener = resin + off[0], shown - resin + off[1]
    assert abs(true_hardener / true_resin / 0.44 - 1.0) <= 0.03 + 1e-6


def test_too_much_hardener_is_met_with_resin() -> None:
    found = mend(11.4, 5.6, RATIO)
    assert found.kind == RESIN
    assert found.over == pytest.approx(5.6 / 5.016 - 1.0)
    assert (11.4 + found.add_g) * 0.44 == pytest.approx(5.6)


def test_too_little_is_topped_up_and_a_hair_is_left_alone() -> None:
    short = mend(11.4, 4.5, RATIO)
    assert short.kind == HARDENER
    assert short.add_g == pytest.approx(0.516)
    assert mend(11.4, 5.05, RATIO).kind == ""
