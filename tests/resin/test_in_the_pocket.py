from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flushwork.job.records import MixPigment
from flushwork.resin.before_gel import (
    escape,
    fluid_time_to_gel_s,
    sinking_mm,
    smallest_escaping_mm,
    stokes_mm_s,
    viscosity_at_pa_s,
)
from flushwork.resin.bleed import bleed_mm
from flushwork.shelf.items import Pigment
from tests.resin.shelf_samples import COATING, DYE, FLAKE, make_mix


@pytest.mark.parametrize(
    ("diameter_mm", "viscosity", "minutes"),
    [(0.1, 0.7, 6.0), (0.1, 3.0, 25.0), (0.05, 0.7, 23.0), (0.05, 3.0, 100.0)],
)
def test_bubbles_through_three_millimetres(
    diameter_mm: float, viscosity: float, minutes: float
) -> None:
    # computed figures in workshop use, rounded
    seconds = 3.0 / stokes_mm_s(diameter_mm, 1100.0, viscosity)
    assert seconds / 60.0 == pytest.approx(minutes, rel=0.05)


def test_the_smallest_bubble_just_gets_out() -> None:
    fluid = fluid_time_to_gel_s(COATING.pot_life_s)
    smallest = smallest_escaping_mm(3.0, 0.7, fluid, 1100.0)
    assert stokes_mm_s(smallest, 1100.0, 0.7) * fluid == pytest.approx(3.0)


def test_gel_comes_before_an_endless_rise() -> None:
    assert fluid_time_to_gel_s(1500.0) == pytest.approx(1500.0 / math.log(2.0) * (1.0 - 1.0 / 8.0))


def test_remedies_follow_from_the_numbers() -> None:
    found = escape(COATING, 3.0, 20.0, 1100.0)
    assert found.vacuum_mm == pytest.approx(found.smallest_mm / 2.1639, rel=1e-4)
    assert found.shallower_mm == pytest.approx(found.smallest_mm / math.sqrt(2.0))
    # warmth thins the resin a little more than it shortens its life
    assert 0.9 * found.smallest_mm < found.warmer_mm < found.smallest_mm


def test_viscosity_halves_every_nine_degrees() -> None:
    assert viscosity_at_pa_s(0.7, 34.0, 25.0) == pytest.approx(0.35)


def test_flakes_sink_and_dye_does_not() -> None:
    def sinks(pigment: Pigment) -> float:
        return sinking_mm(make_mix(pigments=(MixPigment(pigment, 0.03),)), 25.0)

    assert sinks(DYE) == 0.0
    assert sinks(replace(FLAKE, flake_mm=2.0 * FLAKE.flake_mm)) == pytest.approx(2.0 * sinks(FLAKE))
    assert sinking_mm(make_mix(), 25.0) == 0.0


def test_bleed_by_pores_and_seal() -> None:
    lengths = [bleed_mm(pores, 0.7, 1800.0) for pores in ("closed", "semi", "open")]
    assert lengths == sorted(lengths)
    assert lengths[0] > 0.0
