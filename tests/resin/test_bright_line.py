from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.resin.recess import (
    Sanding,
    bright_share,
    cap_left_mm,
    keeps,
    mean_recess_mm,
    odds_bright,
    propose,
    recess_wanted_mm,
    touch_up_g,
)

SANDING = Sanding(0.05, 0.02)


def kept_all(share: float, depth_mm: float) -> float:
    """Return what is left where all the thinner leaves at any depth."""
    assert depth_mm > 0.0
    return keeps(share, 1.0, 0.03)


def test_odds_are_what_many_sandings_show() -> None:
    rng = random.Random(7)  # noqa: S311
    tries = 20000
    hits = sum(
        bright_share(0.1, rng.gauss(SANDING.mean_mm, SANDING.variation_mm), 1.0) >= 0.6
        for _ in range(tries)
    )
    assert odds_bright(0.1, 0.6, SANDING, 1.0) == pytest.approx(hits / tries, abs=0.01)


@given(
    width=st.floats(0.4, 2.0),
    wanted=st.floats(0.3, 0.9),
    confidence=st.floats(0.55, 0.99),
    sanding=st.builds(Sanding, st.floats(0.02, 0.15), st.floats(0.0, 0.05)),
    pinning=st.floats(0.0, 1.0),
)
@settings(max_examples=60, deadline=None)
def test_every_proposal_keeps_its_promise(
    width: float, wanted: float, confidence: float, sanding: Sanding, pinning: float
) -> None:
    for found in propose(
        width,
        wanted,
        confidence,
        sanding,
        kept=kept_all,
        deepest_mm=3.0,
        pinning=pinning,
    ):
        assert found.depth_mm <= 3.0
        kept = keeps(found.thinner_share, 1.0, 0.03)
        assert found.odds >= confidence - 1e-9
        # cut to the hundredth, and no deeper than that asks for
        assert found.depth_mm == pytest.approx(round(found.depth_mm, 2), abs=1e-9)
        needed = recess_wanted_mm(wanted, confidence, sanding, pinning)
        assert mean_recess_mm(width, found.depth_mm - 0.0101, kept) <= needed + 1e-9
        if sanding.variation_mm > 0.0:
            # nine tenths of the promise would not do at nine tenths of the recess asked for
            needed = recess_wanted_mm(wanted, confidence, sanding, pinning)
            assert odds_bright(0.9 * needed, wanted, sanding, pinning) < confidence


def test_more_thinner_asks_for_less_depth() -> None:
    found = propose(0.794, 0.6, 0.9, SANDING, kept=kept_all, deepest_mm=3.0, pinning=1.0)
    assert [each.thinner_share for each in found] == sorted({x.thinner_share for x in found})
    depths = [each.depth_mm for each in found]
    assert depths == sorted(depths, reverse=True)
    assert found


def test_the_whole_width_of_a_pinned_line_cannot_be_promised() -> None:
    assert math.isinf(recess_wanted_mm(1.0, 0.9, SANDING, 1.0))
    nothing = propose(0.794, 1.0, 0.9, SANDING, kept=kept_all, deepest_mm=5.0, pinning=1.0)
    assert nothing == ()


def test_overfilled_and_sanded_has_no_chance() -> None:
    overfilled = mean_recess_mm(0.794, 0.5, 0.97, proud_mm=0.4)
    assert odds_bright(overfilled, 0.1, SANDING, 1.0) == 0.0


def test_sanding_without_variation_is_all_or_nothing() -> None:
    assert odds_bright(0.106, 0.6, Sanding(0.05, 0.0), 1.0) == 1.0
    assert odds_bright(0.106, 0.6, Sanding(0.15, 0.0), 1.0) == 0.0


def test_a_cap_is_as_thick_as_the_recess_less_its_sanding() -> None:
    assert cap_left_mm(0.1, 0.05, 1.0) == pytest.approx(0.1)
    assert cap_left_mm(0.1, 0.2, 0.0) == pytest.approx(-0.1)


def test_the_touch_up_batch_is_the_share_expected_to_miss() -> None:
    whole = 640.0 * 0.8 * 1.5 / 1000.0 * 1.12
    assert whole == pytest.approx(0.86, abs=0.005)
    assert touch_up_g(640.0, 0.8, 1.5, 0.9, 1.12) == pytest.approx(0.1 * whole)
