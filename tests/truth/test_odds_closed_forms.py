"""Odds against closed forms, and chains of tolerances against published values."""

from __future__ import annotations

import time
from dataclasses import replace
from math import erf, sqrt

import numpy as np
import pytest
from shapely import MultiLineString

from flushwork.checks.odds.odds import SEED, draw, holds, place_odds, run_odds
from flushwork.checks.odds.variation import (
    FLAT_SIGMAS,
    Critical,
    CriticalQuantity,
    Variation,
    mixing,
)
from flushwork.checks.rules.board.thickness_rules import Link, chain
from flushwork.checks.seam_cover import (
    Repeatability,
    margin_mm,
    places_along,
    two_sided,
    variation_at_mm,
    weakest,
)
from flushwork.core.findings import Subject

X = Variation(("shift x", 2), 0.04, "mm", False, "")
Y = Variation(("shift y", 2), 0.05, "mm", False, "")
TURN = Variation(("turn", 2), 0.001, "rad", False, "")
WET = Variation(("moisture", 2), 0.05, "", True, "")


def seam(
    line: list[tuple[float, float]], margin: float, *variations: Variation
) -> CriticalQuantity:
    places = places_along(MultiLineString([line]))
    arms = places.at_mm
    by = {
        X.key: places.across[:, 0],
        Y.key: places.across[:, 1],
        TURN.key: -places.across[:, 0] * arms[:, 1] + places.across[:, 1] * arms[:, 0],
        WET.key: np.ones(len(arms)),
    }
    return CriticalQuantity(
        Critical.SEAM_COVER,
        (Subject("inlay", "line"),),
        "front",
        "mm",
        0.0,
        np.full(len(arms), margin),
        {variation.key: by[variation.key] for variation in variations},
        variations,
        arms,
        both_ways=True,
    )


def phi(value: float) -> float:
    return 0.5 * (1.0 + erf(value / sqrt(2.0)))


@pytest.mark.parametrize("margin", [0.03, 0.05, 0.08, 0.12, 0.2])
def test_a_straight_seam_is_covered_as_often_as_the_normal_law_says(margin: float) -> None:
    straight = seam([(-80.0, 7.0), (80.0, 7.0)], margin, X, Y)
    sampled = run_odds((straight,), 1, 0).quantities[0].odds
    closed = 2.0 * phi(margin / Y.sd) - 1.0
    assert sampled == pytest.approx(closed, abs=0.01)
    assert two_sided(margin, Y.sd) == pytest.approx(closed, abs=1e-12)
    assert place_odds(straight) == pytest.approx(np.full(len(straight.nominal), closed), abs=1e-9)


def test_a_slanting_seam_counts_both_shifts_by_its_direction() -> None:
    slanting = seam([(-30.0, -30.0), (30.0, 30.0)], 0.08, X, Y)
    variation = sqrt((X.sd**2 + Y.sd**2) / 2.0)
    sampled = run_odds((slanting,), 1, 0).quantities[0].odds
    assert sampled == pytest.approx(2.0 * phi(0.08 / variation) - 1.0, abs=0.01)


@pytest.mark.parametrize("half_mm", [60.0, 120.0])
def test_a_turned_piece_fails_first_at_its_ends(half_mm: float) -> None:
    turned = seam([(-half_mm, 0.0), (half_mm, 0.0)], 0.1, TURN)
    arm = float(np.abs(turned.coefficients[TURN.key]).max())
    assert arm == pytest.approx(half_mm, abs=1.01)  # the middle of the last stretch
    closed = 2.0 * phi(0.1 / (TURN.sd * arm)) - 1.0
    sampled = run_odds((turned,), 1, 0).quantities[0].odds
    assert sampled == pytest.approx(closed, abs=0.01)


def test_a_known_growth_moves_the_odds_to_one_side() -> None:
    assert two_sided(0.1, 0.05, 0.03) == pytest.approx(phi(1.4) - phi(-2.6), abs=1e-12)
    assert two_sided(0.1, 0.05, 0.1) == pytest.approx(0.5, abs=1e-4)
    assert two_sided(0.0, 0.05) == 0.0
    assert two_sided(0.1, 0.0, 0.05) == 1.0


def test_the_weakest_place_is_the_one_farthest_from_the_middle() -> None:
    places = places_along(MultiLineString([[(-50.0, 0.0), (90.0, 0.0)]]))
    setup = Repeatability(0.02, 0.001, (0.0, 0.0))
    index, odds = weakest(places, np.zeros(len(places.at_mm)), setup, margin_mm(0.3, 0.05))
    assert places.at_mm[index, 0] == pytest.approx(89.0, abs=1.1)
    x_mm = float(places.at_mm[index, 0])
    variation = variation_at_mm(setup, (x_mm, 0.0), places.across[index])
    assert variation == pytest.approx(sqrt(0.02**2 + (0.001 * x_mm) ** 2), abs=1e-12)
    assert odds == pytest.approx(2.0 * phi(0.1 / variation) - 1.0, abs=1e-9)


def test_pieces_fail_apart_unless_they_share_what_strays() -> None:
    apart = run_odds((seam([(-9.0, 0.0), (9.0, 0.0)], 0.08, Y),), 3, 1)
    piece = 2.0 * phi(0.08 / Y.sd) - 1.0
    assert apart.piece == pytest.approx(piece, abs=0.01)
    assert apart.expected_good == pytest.approx(3.0 * piece, abs=0.03)
    assert apart.all_good == pytest.approx(piece**3, abs=0.015)
    assert apart.test_good == pytest.approx(piece, abs=0.015)
    together = run_odds((seam([(-9.0, 0.0), (9.0, 0.0)], 0.08, WET),), 3, 1)
    shared = 2.0 * phi(0.08 / WET.sd) - 1.0
    assert together.all_good == pytest.approx(shared, abs=0.015)
    assert together.expected_good == pytest.approx(3.0 * shared, abs=0.04)


def test_the_same_seed_gives_the_same_odds_and_another_nearly_the_same() -> None:
    found = (seam([(-80.0, 7.0), (80.0, 7.0)], 0.07, X, Y, TURN),)
    first, again = run_odds(found, 3, 1, seed=SEED), run_odds(found, 3, 1, seed=SEED)
    assert (first.piece, first.all_good) == (again.piece, again.all_good)
    other = run_odds(found, 3, 1, seed=SEED + 1)
    assert other.piece == pytest.approx(first.piece, abs=0.02)


def test_the_ruling_variation_is_named_and_halving_it_helps_most() -> None:
    found = seam([(-80.0, 0.0), (80.0, 0.0)], 0.07, Y, TURN)
    told = run_odds((found,), 1, 0).quantities[0]
    assert told.dominant == "turn in setup 2"
    assert told.share == pytest.approx(0.0792**2 / (0.0792**2 + 0.05**2), abs=0.01)
    other = float(place_odds(found, {Y.key: 0.5}).min())
    assert told.halved > other > float(place_odds(found).min())


def test_draws_have_the_variation_asked_for() -> None:
    drawn = draw((X, WET), 20_000, 2)
    assert drawn[X.key].std() == pytest.approx(X.sd, rel=0.02)
    assert np.array_equal(drawn[WET.key][:, 0], drawn[WET.key][:, 1])
    assert not np.array_equal(drawn[X.key][:, 0], drawn[X.key][:, 1])
    assert holds(seam([(0.0, 0.0), (1.0, 0.0)], 9.0, X), {X.key: drawn[X.key]}).all()


def test_normal_shares_within_one_to_four_deviations() -> None:
    # the standard normal law, as its tables print it
    for sigmas, share in ((1, 0.6826895), (2, 0.9544997), (3, 0.9973002), (4, 0.9999367)):
        assert two_sided(float(sigmas), 1.0) == pytest.approx(share, abs=5e-8)


def test_chains_come_to_published_sums() -> None:
    # worked values that public texts on tolerance chains print, worked again by hand
    ten = chain(Link(1.0, 0.1) for _ in range(10))
    assert ten.worst_mm == pytest.approx(1.0)
    assert ten.usual_mm == pytest.approx(0.31623, abs=5e-6)
    gap = chain((Link(40, 0.10), Link(25, 0.05, -1), Link(2, 0.03, -1), Link(10, 0.05, -1)))
    assert gap.nominal_mm == pytest.approx(3.0)
    assert gap.worst_mm == pytest.approx(0.23)
    assert gap.usual_mm == pytest.approx(0.126095, abs=5e-7)
    three = chain((Link(0, 0.20), Link(0, 0.10), Link(0, 0.15)))
    assert three.worst_mm == pytest.approx(0.45)
    assert three.usual_mm == pytest.approx(0.26926, abs=5e-6)


def test_a_margin_that_strays_itself_is_summed_over_its_own_law() -> None:
    # the blur of the old edge narrows the line by N(0, 0.015): the mean of 2 Phi(m / s) - 1 over it
    blur = Variation(("edge blur", 1), 0.015, "mm", False, "")
    sharp = seam([(-80.0, 7.0), (80.0, 7.0)], 0.08, Y)
    ones = np.ones(len(sharp.nominal))
    blurred = replace(sharp, variations=(Y, blur), narrowing={blur.key: -ones})
    steps = np.linspace(-6.0, 6.0, 4801)
    law = np.exp(-(steps**2) / 2.0)
    within = [2.0 * phi(max(0.0, 0.08 + 0.015 * step) / Y.sd) - 1.0 for step in steps]
    closed = float(np.sum(law * within) / np.sum(law))
    assert place_odds(blurred) == pytest.approx(np.full(len(ones), closed), abs=1e-5)
    assert run_odds((blurred,), 1, 0).quantities[0].odds == pytest.approx(closed, abs=0.01)
    assert closed < place_odds(sharp)[0]


def test_two_readings_off_by_up_to_a_bound_stay_within_it() -> None:
    # two rectangles of half-width a add to a triangle of half-width 2 a and deviation 2 a / sqrt 6
    # (JCGM 100, 2008, 4.3.9); within t of it lie 1 - (1 - t / 2 a)^2
    rng = np.random.default_rng(7)
    sums = rng.uniform(-1.0, 1.0, 200_000) + rng.uniform(-1.0, 1.0, 200_000)
    reading = mixing(1, 2.0)
    assert reading.sd == pytest.approx(float(sums.std()), rel=0.01)
    drawn = draw((reading,), 200_000, 1)[reading.key][:, 0]
    assert np.abs(drawn).max() <= 2.0
    for within in (0.4, 1.0, 1.6, 2.0):
        one = CriticalQuantity(
            Critical.RATIO, (Subject("mix", "mix"),), "front", "", 0.0, np.array([within]),
            {reading.key: np.ones(1)}, (reading,), np.zeros((1, 2)), both_ways=True,
        )  # fmt: skip
        closed = 1.0 - (1.0 - within / 2.0) ** 2
        assert place_odds(one)[0] == pytest.approx(closed, abs=1e-9)
        assert float((np.abs(drawn) < within).mean()) == pytest.approx(closed, abs=0.01)
        assert float((np.abs(sums) < within).mean()) == pytest.approx(closed, abs=0.01)


def test_each_stage_spoils_of_what_is_good_until_then() -> None:
    first = replace(seam([(-9.0, 0.0), (9.0, 0.0)], 0.08, Y), stage=3)
    then = replace(seam([(0.0, -9.0), (0.0, 9.0)], 0.06, X), stage=7)
    told = run_odds((then, first), 2, 0, samples=40_000)
    assert [item.stage for item in told.stages] == [3, 7]
    spoils = (2.0 * (1.0 - phi(0.08 / Y.sd)), 2.0 * (1.0 - phi(0.06 / X.sd)))
    for item, closed in zip(told.stages, spoils, strict=True):
        assert item.spoils == pytest.approx(closed, abs=0.01)
    left = (1.0 - told.stages[0].spoils) * (1.0 - told.stages[1].spoils)
    assert told.piece == pytest.approx(left, abs=1e-9)


def test_what_helps_most_comes_first() -> None:
    found = seam([(-80.0, 0.0), (80.0, 0.0)], 0.07, Y, TURN)
    told = run_odds((found,), 1, 0, samples=40_000)
    assert [item.what for item in told.tightenings] == ["turn", "shift y"]
    least = [place_odds(found, {key: 0.5}).min() for key in (TURN.key, Y.key)]
    for item, weakest_place in zip(told.tightenings, least, strict=True):
        assert told.piece < item.piece <= float(weakest_place) + 0.01


def test_ten_thousand_samples_of_a_long_seam_take_seconds() -> None:
    angles = np.linspace(0.0, 6.28, 600)
    ring = [(150.0 * np.cos(a), 90.0 * np.sin(a)) for a in angles]
    began = time.process_time()
    told = run_odds((seam(ring, 0.15, X, Y, TURN),), 3, 1, samples=10_000)
    assert time.process_time() - began < 4.0
    assert told.samples == 10_000
    assert len(told.maps[0].odds) >= 500


def test_a_range_of_nine_readings_is_three_deviations() -> None:
    # L. H. C. Tippett, Biometrika 17 (1925): the mean range of nine normal readings is 2.970
    nine = np.random.default_rng(3).normal(0.0, 1.0, (200_000, 9))
    ranges = nine.max(axis=1) - nine.min(axis=1)
    assert pytest.approx(float(ranges.mean()), abs=0.01) == FLAT_SIGMAS


def test_of_a_parted_blank_each_piece_stands_by_its_own_places() -> None:
    # four pieces with margins of their own, all moved alike by the setup
    margins = np.array([0.03, 0.05, 0.08, 0.2])
    blank = CriticalQuantity(
        Critical.HOLE_WALL,
        (Subject("inlay", "rings"),),
        "front",
        "mm",
        0.0,
        margins,
        {Y.key: np.ones(4)},
        (Y,),
        np.zeros((4, 2)),
    )
    whole = run_odds((blank,), 1, 0)
    parted = run_odds((replace(blank, parted=4, piece_of=np.arange(4)),), 1, 0)
    closed = [phi(margin / Y.sd) for margin in margins]
    assert (whole.pieces, parted.pieces) == (1, 4)
    assert whole.piece == pytest.approx(closed[0], abs=0.01)
    assert parted.piece == pytest.approx(sum(closed) / 4.0, abs=0.01)
    assert parted.expected_good == pytest.approx(sum(closed), abs=0.04)
    assert parted.all_good == pytest.approx(closed[0], abs=0.01)
    # what the whole blank stands or falls by takes all of its pieces with it
    common = run_odds((replace(seam([(-9.0, 0.0), (9.0, 0.0)], 0.08, Y), parted=4),), 2, 0)
    assert common.pieces == 8
    assert common.all_good == pytest.approx(common.piece**2, abs=0.01)
