from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.resin.cup.tool_pairs import best_pair, least_pair, measure_pair, smallest_by
from flushwork.resin.cup.tool_readings import (
    MixRatio,
    fills,
    ratio_interval,
    reading_error,
    smallest_batch,
)
from tests.resin.shelf_samples import FINE_SCALE, SMALL_SYRINGE, SYRINGE, TENTH_SCALE

HUNDRED_TO_44 = MixRatio(0.44, 1.15, 1.0, 0.03)
FIVE_TO_ONE = MixRatio(1.0 / 5.0, 1.0, 1.0, 0.05)


@pytest.mark.parametrize(
    ("hardener", "least_g"), [(83.0, 13.5), (44.0, 15.71), (25.0, 20.8), (18.0, 25.8)]
)
def test_the_least_batch_on_a_tenth_gram_scale(hardener: float, least_g: float) -> None:
    # common practice, no source: one display step on each weighing, three per cent
    share = 100.0 / (100.0 + hardener)
    assert smallest_batch(share, 1.0 - share, 0.1, 0.1, 0.03) == pytest.approx(least_g, abs=0.1)


def test_a_fine_scale_is_limited_by_drops() -> None:
    least = smallest_by(FINE_SCALE, FINE_SCALE, HUNDRED_TO_44)
    assert least == pytest.approx(4.7, abs=0.05)


def test_ten_grams_wanted_become_sixteen() -> None:
    pair = least_pair(TENTH_SCALE, TENTH_SCALE, HUNDRED_TO_44, 10.3)
    assert pair is not None
    assert [pair.resin, pair.hardener] == pytest.approx([11.2, 4.9])
    assert pair.worst < 0.03


def test_both_displays_may_stop_anywhere_in_their_spans_and_the_ratio_holds() -> None:
    pair = least_pair(TENTH_SCALE, TENTH_SCALE, HUNDRED_TO_44, 10.3)
    assert pair is not None
    for resin in pair.resin_span:
        for hardener in pair.hardener_span:
            for sign in (-1.0, 1.0):
                ratio = (hardener + sign * 0.05) / (resin - sign * 0.05)
                assert abs(ratio / 0.44 - 1.0) <= 0.03
    assert pair.resin_span[1] - pair.resin_span[0] >= 0.1 - 1e-9
    assert pair.hardener_span[1] - pair.hardener_span[0] >= 0.1 - 1e-9


def test_five_to_one_by_a_syringe_read_to_half_a_mark() -> None:
    worst = [
        measure_pair(SYRINGE, SYRINGE, FIVE_TO_ONE, batch / 6.0).error
        for batch in (6.0, 12.0, 30.0)
    ]
    # (1 +- 0.1) / (5 -+ 0.1), (2 +- 0.1) / (10 -+ 0.1), (5 +- 0.1) / (25 -+ 0.3: three fills)
    assert [each.high for each in worst] == pytest.approx(
        [1.1 / 4.9 * 5.0 - 1.0, 2.1 / 9.9 * 5.0 - 1.0, 5.1 / 24.7 * 5.0 - 1.0]
    )
    assert [each.worst for each in worst] == pytest.approx([0.1224, 0.0606, 0.0324], abs=1e-4)
    assert [each.low for each in worst] == pytest.approx([-0.1176, -0.0594, -0.0316], abs=1e-4)


def test_the_least_batch_of_five_to_one_inside_five_per_cent() -> None:
    pair = least_pair(SYRINGE, SYRINGE, FIVE_TO_ONE, 0.0)
    assert pair is not None
    assert pair.mass_g == pytest.approx(18.0)
    smaller = measure_pair(SYRINGE, SYRINGE, FIVE_TO_ONE, pair.hardener - 0.2)
    assert smaller.error.worst > 0.05


def test_a_syringe_is_filled_again_and_errs_again() -> None:
    assert fills(SYRINGE, 25.0) == 3
    assert fills(SYRINGE, 24.0) == 2
    assert reading_error(SYRINGE, 25.0) == pytest.approx(0.3)


def test_an_error_as_large_as_the_part_leaves_the_ratio_open() -> None:
    assert math.isinf(ratio_interval(1.0, 1.0, 1.0, 0.1).high)


@given(
    resin=st.floats(1.0, 100.0),
    hardener=st.floats(1.0, 100.0),
    resin_error=st.floats(0.0, 0.5),
    hardener_error=st.floats(0.0, 0.5),
    where=st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0)),
)
@settings(max_examples=100, deadline=None)
def test_no_pair_of_errors_leaves_the_interval(
    resin: float,
    hardener: float,
    resin_error: float,
    hardener_error: float,
    where: tuple[float, float],
) -> None:
    found = ratio_interval(resin, hardener, resin_error, hardener_error)
    true = (hardener + where[1] * hardener_error) / (resin + where[0] * resin_error)
    off = true / (hardener / resin) - 1.0
    assert found.low - 1e-9 <= off <= found.high + 1e-9


@given(parts=st.floats(0.15, 1.0), least_g=st.floats(0.5, 200.0), tolerance=st.floats(0.02, 0.08))
@settings(max_examples=60, deadline=None)
def test_the_best_pair_lands_on_marks_inside_the_tolerance(
    parts: float, least_g: float, tolerance: float
) -> None:
    tools = (TENTH_SCALE, FINE_SCALE, SYRINGE, SMALL_SYRINGE)
    pair = best_pair(tools, MixRatio(parts, 1.12, 0.97, tolerance), least_g)
    assert pair is not None
    assert pair.mass_g >= least_g - 1e-6
    for tool, amount in ((pair.resin_tool, pair.resin), (pair.hardener_tool, pair.hardener)):
        assert amount / tool.step == pytest.approx(round(amount / tool.step), abs=1e-6)
    true = pair.hardener_g / pair.resin_g / parts - 1.0
    assert abs(true) <= pair.worst <= tolerance + 1e-9
