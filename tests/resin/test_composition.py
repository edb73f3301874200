from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.job.records import MixPigment
from flushwork.resin.composition import (
    HARDENER,
    PIGMENT,
    RESIN,
    THINNER,
    compose,
    from_parts,
    mix_ratio_by_weight,
    volume_parts_to_weight,
    weight_parts_to_volume,
)
from tests.resin.shelf_samples import COATING, ETHANOL, FIVE_TO_ONE, FLAKE, make_mix

shares = st.floats(0.0, 0.4)


def test_three_parts_measured_give_the_thinner_share_by_volume() -> None:
    made = from_parts(FIVE_TO_ONE, 3.3, 1.0, ETHANOL, 1.0)
    assert made.volume_of(THINNER) / made.volume_cm3 == pytest.approx(0.189, abs=0.0005)
    assert made.volume_cm3 == pytest.approx(5.3)


def test_a_bulk_density_typed_in_gives_both_shares() -> None:
    flaked = from_parts(FIVE_TO_ONE, 5.0, 1.0, pigments=[(FLAKE, 0.4 * 0.33)])
    assert flaked.mass_of(PIGMENT) == pytest.approx(0.132)
    assert flaked.mass_of(PIGMENT) / flaked.mass_g == pytest.approx(0.132 / 6.882)
    assert flaked.volume_of(RESIN) / flaked.volume_cm3 == pytest.approx(5.0 / (6.0 + 0.132 / 2.8))


def test_a_volume_ratio_weighed_as_if_by_weight_is_a_fifth_over() -> None:
    right = volume_parts_to_weight(1.0, 1.0, 0.83)
    assert right == pytest.approx(0.83)
    assert 1.0 / (1.0 + right) == pytest.approx(0.546, abs=0.0005)


def test_two_to_one_by_volume_in_weight() -> None:
    assert 100.0 * volume_parts_to_weight(0.5, 1.15, 0.95) == pytest.approx(41.304, abs=0.001)
    mixed = (2.0 * 1.15 + 0.95) / 3.0
    assert mixed == pytest.approx(1.08333, abs=1e-5)


def test_the_job_may_measure_another_ratio_than_the_resins_own() -> None:
    mix = make_mix(resin=COATING)
    assert mix_ratio_by_weight(mix) == pytest.approx(0.44)
    assert mix_ratio_by_weight(make_mix(resin=FIVE_TO_ONE)) == pytest.approx(0.2 / 1.15)


@given(
    thinner=shares,
    flake=st.floats(0.001, 0.1),
    volume=st.floats(0.1, 500.0),
)
@settings(max_examples=50, deadline=None)
def test_shares_to_parts_and_back(thinner: float, flake: float, volume: float) -> None:
    mix = make_mix(thinner_share=thinner, pigments=(MixPigment(FLAKE, flake),))
    made = compose(mix, volume)
    assert made.volume_cm3 == pytest.approx(volume)
    assert made.mass_of(HARDENER) / made.mass_of(RESIN) == pytest.approx(0.44)
    liquid = made.volume_of(RESIN, HARDENER, THINNER)
    assert made.volume_of(THINNER) / liquid == pytest.approx(thinner, abs=1e-12)
    assert made.mass_of(PIGMENT) / made.mass_of(RESIN, HARDENER) == pytest.approx(flake)


def test_kinds_add_up_to_the_whole() -> None:
    made = compose(make_mix(thinner_share=0.1, pigments=(MixPigment(FLAKE, 0.03),)), 10.0)
    assert made.mass_of(RESIN, HARDENER, THINNER, PIGMENT) == pytest.approx(made.mass_g)
    total = sum(made.mass_of(kind) / made.mass_g for kind in (RESIN, HARDENER, THINNER, PIGMENT))
    assert total == pytest.approx(1.0)


def test_weight_and_volume_ratios_are_each_others_way_back() -> None:
    ratios = [0.1, 0.44, 1.0]
    there = [volume_parts_to_weight(ratio, 1.15, 0.95) for ratio in ratios]
    assert [weight_parts_to_volume(ratio, 1.15, 0.95) for ratio in there] == pytest.approx(ratios)
    assert all(low < high for low, high in pairwise(there))
