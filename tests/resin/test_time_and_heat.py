from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.resin.before_gel import fill_time_s, pot_life_s
from flushwork.resin.cup.batches import plan_pours
from flushwork.resin.cup.heat import (
    biot,
    critical_cylinder,
    critical_slab,
    cup_critical,
    cup_limit_g,
    heating,
)
from flushwork.resin.pours import PourRequest, Served
from tests.resin.shelf_samples import COATING, TENTH_SCALE, make_mix, make_shop


def test_pot_life_by_temperature_and_mass() -> None:
    assert pot_life_s(COATING, 15.0, 50.0) == pytest.approx(3000.0)
    assert pot_life_s(COATING, 25.0, 1600.0) == pytest.approx(750.0)
    assert pot_life_s(COATING, 25.0, 1.0) == COATING.pot_life_s


def test_a_slow_run_is_poured_in_several_batches() -> None:
    served = tuple(Served(f"pocket {number}", "front", 0.2, 0.0) for number in range(7))
    warm = make_shop(TENTH_SCALE)
    warm = replace(warm, air=replace(warm.air, day_c=25.0))
    request = PourRequest(3, make_mix(), 20, served, fill_s=7 * 18.0)
    pours = plan_pours([request], warm)
    assert [pour.pieces for pour in pours] == [7, 7, 6]
    assert all(pour.working_s <= pour.pot_life_s for pour in pours)
    assert sum(pour.needed_cm3 for pour in pours) == pytest.approx(20 * 1.4)
    assert fill_time_s(served) == pytest.approx(7 * 18.0 + 1.4 * 2.0)


def test_a_cup_bears_at_least_what_the_endless_cylinder_and_slab_bear() -> None:
    tall = cup_critical(10.0, 1000.0)
    assert tall == pytest.approx(critical_cylinder(biot(10.0)))
    # a wide flat cup loses its heat at the top, like a slab of twice its height
    thin = cup_critical(100.0, 10.0)
    assert thin / 100.0**2 == pytest.approx(critical_slab(biot(10.0)) / 10.0**2)


def test_the_label_rules_what_one_cup_may_hold() -> None:
    assert cup_limit_g(COATING, 25.0, 1.1) == COATING.pot_mass_g
    # a colder shop is not credited with more than the label says
    assert cup_limit_g(COATING, 10.0, 1.1) == COATING.pot_mass_g
    assert cup_limit_g(replace(COATING, cup_g=180.0), 20.0, 1.1) == 180.0


def test_a_warmer_cup_holds_what_is_no_farther_past_its_limit_than_the_labels() -> None:
    most_g = cup_limit_g(COATING, 35.0, 1.1)
    label = heating(COATING.pot_mass_g, 1.1, COATING.pot_life_s)
    assert heating(most_g, 1.1, COATING.pot_life_s / 2.0) == pytest.approx(label)
    # between a half to the power 3 (all resistance at the wall) and 1.5 (none of it)
    assert 100.0 / 8.0 < most_g < 100.0 / 2.0**1.5


@given(warm=st.floats(25.0, 45.0), more=st.floats(0.1, 10.0), label=st.floats(5.0, 2000.0))
@settings(max_examples=40, deadline=None)
def test_the_warmer_the_less_one_cup_may_hold(warm: float, more: float, label: float) -> None:
    resin = replace(COATING, cup_g=label)
    assert cup_limit_g(resin, warm + more, 1.1) < cup_limit_g(resin, warm, 1.1) <= label + 1e-6
