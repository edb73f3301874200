"""Thin bits against the closed forms of beam theory and of milling.

Closed forms: S. Timoshenko, *Strength of Materials*, part I (cantilever under an end load:
F L^3 / 3 E I; bending stress 32 F L / pi d^3).  Chip thinning and engagement: elementary geometry
of a circle cut by a line.
"""

from __future__ import annotations

from dataclasses import replace
from math import acos, degrees, pi, sqrt

import numpy as np
import pytest

from flushwork.fit.cutting_force import (
    ASIDE,
    CARBIDE_E_N_MM2,
    CARBIDE_N_MM2,
    DULL,
    RESIN_STOCK,
    STRESS_SHARE,
    Stock,
    bar_stress_n_mm2,
    bending,
    beside,
    engagement_rad,
    second_moment_mm4,
    stock_of_wood,
    thinning,
    wood_stock,
)
from flushwork.fit.feeds import Limit, deepest_mm, propose
from flushwork.shelf.items import Bit
from flushwork.shelf.tables import starter_shop

MAPLE = stock_of_wood(next(wood for wood in starter_shop().woods if wood.name == "sugar maple"))
THIN = next(bit for bit in starter_shop().bits if bit.diameter_mm == 0.79375)
SHORT = replace(THIN, reach_mm=3.0 * THIN.diameter_mm, flute_mm=3.0 * THIN.diameter_mm)


def bent_by_integration(bit: Bit, cells: int = 20_000) -> tuple[float, float]:
    """Integrate M / EI twice along the bit: tip deflection and greatest stress for 1 N."""
    x = (np.arange(cells) + 0.5) * bit.reach_mm / cells
    thick = np.where(x < bit.flute_mm, 0.8 * bit.diameter_mm, bit.shank_mm)
    curvature = x / (CARBIDE_E_N_MM2 * pi * thick**4 / 64.0)
    tip = float((curvature * x).sum() * bit.reach_mm / cells)
    return tip, float((32.0 * x / (pi * thick**3)).max())


@pytest.mark.parametrize(
    "bit", [SHORT, *(c for c in starter_shop().bits if c.kind in ("flat", "ball"))]
)
def test_deflection_and_stress_are_those_of_a_cantilever(bit: Bit) -> None:
    beam = bending(bit)
    tip, stress = bent_by_integration(bit)
    assert beam.mm_per_n == pytest.approx(tip, rel=0.01)
    assert beam.n_mm2_per_n == pytest.approx(stress, rel=0.01)


def test_the_thin_bit_three_diameters_out_in_hard_maple() -> None:
    """A figure worked by hand, closed form by closed form."""
    found = propose(SHORT, starter_shop().machine, MAPLE)
    chip = 0.010 + 0.010  # the advance, and the wobble that one edge takes on top
    tangential = 0.25 * (40.0 * 0.63 * chip + 2.2 * 0.63)
    force = 2.0 * sqrt(1.0 + 0.5**2) * tangential
    length, thick = 3.0 * 0.79375, 0.8 * 0.79375
    assert found.force_n == pytest.approx(force, rel=0.01)
    assert found.deflection_mm == pytest.approx(
        force * length**3 / (3.0 * 580e3 * pi * thick**4 / 64.0), rel=0.01
    )
    assert found.stress_n_mm2 == pytest.approx(32.0 * force * length / (pi * thick**3), rel=0.01)
    assert found.binds is Limit.CHIP


@pytest.mark.parametrize("pass_mm", [0.25, 0.8, 1.5, 2.3])
@pytest.mark.parametrize("chip_mm", [0.01, 0.03, 0.06])
@pytest.mark.parametrize("hard", [MAPLE, RESIN_STOCK, beside(RESIN_STOCK, MAPLE)])
def test_the_feed_is_limited_before_stress_passes_its_share(
    pass_mm: float, chip_mm: float, hard: Stock
) -> None:
    greedy = replace(SHORT, pass_mm=pass_mm, chip_mm=chip_mm)
    found = propose(greedy, starter_shop().machine, hard)
    assert found.stress_n_mm2 <= STRESS_SHARE * CARBIDE_N_MM2 * (1.0 + 1e-9)
    unheld = DULL * sqrt(1.0 + ASIDE**2) * found.pass_mm * hard.tear_n_mm
    assert found.force_n > unheld, "a force that does not grow with the chip is no cutting force"


def test_a_deep_full_width_pass_is_fed_slower_and_says_why() -> None:
    own = propose(replace(SHORT, pass_mm=1.4, chip_mm=0.03), starter_shop().machine, MAPLE)
    assert own.binds in (Limit.STRESS, Limit.DEFLECTION)
    assert own.too_much
    assert own.feed_mm_min < 18000 * 2 * 0.03


def test_resin_is_cut_shallower_not_slower_by_the_chip() -> None:
    own = propose(
        replace(SHORT, pass_mm=2.8, chip_mm=0.03),
        starter_shop().machine,
        beside(RESIN_STOCK, MAPLE),
    )
    assert own.too_much
    assert own.chip_mm == pytest.approx(0.03)
    assert own.pass_mm < 1.4


def test_the_machine_binds_where_it_is_short_of_something() -> None:
    stout = next(bit for bit in starter_shop().bits if bit.diameter_mm == 6.35)
    bench = starter_shop().machine
    slow = propose(stout, replace(bench, feed_mm_min=1000.0), MAPLE)
    assert (slow.feed_mm_min, slow.binds) == (1000.0, Limit.FEED)
    lazy = propose(stout, replace(bench, acceleration_mm_s2=20.0), MAPLE)
    assert lazy.feed_mm_min == pytest.approx(60.0 * sqrt(2.0 * 20.0 * 10.0))
    assert lazy.binds is Limit.RUN_UP
    weak = propose(stout, replace(bench, spindle_w=60.0), MAPLE)
    assert weak.binds is Limit.POWER
    assert weak.power_w == pytest.approx(30.0, rel=0.01)
    assert weak.chip_mm == pytest.approx(stout.chip_mm)
    assert propose(THIN, bench, RESIN_STOCK).binds is Limit.MELTING


@pytest.mark.parametrize(
    ("share", "factor"),
    [(0.5, 1.0), (0.25, 1.1547), (0.15, 1.4003), (0.1, 1.6667), (0.05, 2.2942), (0.03, 2.9311)],
)
def test_chip_thinning(share: float, factor: float) -> None:
    assert thinning(share * 6.0, 6.0) == pytest.approx(factor, abs=5e-5)
    edge = acos(1.0 - 2.0 * share)
    assert engagement_rad(share * 6.0, 6.0) == pytest.approx(edge)
    if share < 0.5:
        assert thinning(share * 6.0, 6.0) == pytest.approx(1.0 / np.sin(edge))


def test_engagement_of_a_quarter_is_sixty_degrees() -> None:
    assert degrees(engagement_rad(0.25, 1.0)) == pytest.approx(60.0)
    assert degrees(engagement_rad(0.1, 1.0)) == pytest.approx(36.870, abs=5e-4)


def test_wood_lies_in_the_range_of_the_handbooks() -> None:
    """10 to 60 N/mm2 at a chip of a tenth of a millimetre."""
    for wood in starter_shop().woods:
        found = wood_stock(wood.name, wood.gravity).specific_n_mm2(0.1)
        assert 10.0 <= found <= 60.0, wood.name


def test_second_moment_and_stress() -> None:
    assert second_moment_mm4(3.175) == pytest.approx(4.98821, abs=5e-6)
    assert second_moment_mm4(0.8 * 3.175) == pytest.approx(2.04317, abs=5e-6)
    assert bar_stress_n_mm2(20.0, 25.0, 3.175) == pytest.approx(32 * 20 * 25 / (pi * 3.175**3))


def test_the_finish_pass_is_no_deeper_than_it_stands() -> None:
    found = propose(THIN, starter_shop().machine, MAPLE)
    deep = deepest_mm(found, 0.08)
    assert 0.25 < deep < THIN.flute_mm
    assert deepest_mm(found, 0.2) < deep
