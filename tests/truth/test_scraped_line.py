"""The scraped line: figures that follow from its closed forms, and the integral behind them."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from flushwork.resin.recess import (
    bright_share,
    keeps,
    mean_recess_mm,
    most_sanding_mm,
    recess_at_mm,
)

WIDTH_MM, DEPTH_MM = 0.794, 0.5
THIN = 1.0 / 5.3
"""3.3 cm3 of resin, 1 of hardener, 1 of thinner."""


def test_the_thinned_line() -> None:
    mean = mean_recess_mm(WIDTH_MM, DEPTH_MM, keeps(THIN, 1.0, 0.03))
    assert mean == pytest.approx(0.106, abs=0.0006)
    assert recess_at_mm(mean, 0.0, 1.0) == pytest.approx(0.160, abs=0.0005)
    assert bright_share(mean, 0.05, 1.0) == pytest.approx(0.83, abs=0.003)
    assert bright_share(mean, 0.05, 1.0) == pytest.approx(math.sqrt(1.0 - 0.05 / (1.5 * mean)))
    assert bright_share(mean, 0.05, 0.0) == 1.0


def test_unthinned_overfilled_and_sanded_is_dull() -> None:
    kept = keeps(0.0, 0.0, 0.03)
    overfilled = mean_recess_mm(WIDTH_MM, DEPTH_MM, kept, proud_mm=0.4)
    assert overfilled < 0.0
    assert bright_share(overfilled, 0.1, 1.0) == bright_share(overfilled, 0.1, 0.0) == 0.0
    # even scraped flush it sinks only by its shrinkage, and 0.1 mm of sanding reaches that
    scraped = mean_recess_mm(WIDTH_MM, DEPTH_MM, kept)
    assert scraped == pytest.approx(0.015)
    assert bright_share(scraped, 0.1, 1.0) == bright_share(scraped, 0.1, 0.0) == 0.0


@pytest.mark.parametrize("pinning", [0.0, 0.3, 0.7, 1.0])
def test_the_profile_holds_the_volume(pinning: float) -> None:
    mean = 0.12
    integral = quad(lambda across: recess_at_mm(mean, across, pinning), 0.0, 1.0)[0]
    assert integral == pytest.approx(mean)


@pytest.mark.parametrize("pinning", [0.2, 0.6, 1.0])
@pytest.mark.parametrize("sanding", [0.02, 0.08, 0.14])
def test_bright_is_where_the_recess_is_deeper(pinning: float, sanding: float) -> None:
    mean, steps = 0.11, 20000
    deeper = sum(
        recess_at_mm(mean, (index + 0.5) / steps, pinning) > sanding for index in range(steps)
    )
    assert bright_share(mean, sanding, pinning) == pytest.approx(deeper / steps, abs=1e-4)


def test_sanding_that_leaves_a_share_is_the_way_back() -> None:
    limit = most_sanding_mm(0.106, 0.6, 1.0)
    assert bright_share(0.106, limit, 1.0) == pytest.approx(0.6)


def test_bare_walls_drink() -> None:
    # a (w + 2 d) over w: 0.02 mm of uptake takes 0.02 * 1.794 / 0.794 mm off the level
    sealed = mean_recess_mm(WIDTH_MM, DEPTH_MM, 0.97)
    bare = mean_recess_mm(WIDTH_MM, DEPTH_MM, 0.97, uptake_mm=0.02)
    assert bare - sealed == pytest.approx(0.02 * 1.794 / 0.794)
