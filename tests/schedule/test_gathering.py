"""One colour poured twice on one day, each time too little to measure: out of one cup."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.book.compose import book_view
from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.resin.before_gel import MIXING_S
from flushwork.resin.cup.batches import in_one_cup, too_small
from tests.small_jobs import changed, found, made

TWICE = (
    changed(
        "  holes:",
        "    - {name: dot, circle: 8 mm, at: [0 mm, 18 mm], depth: 2 mm, fill: dark,\n"
        "       after: [plate]}\n  holes:",
    )
    + "pieces: 1\ntest pieces: 1\n"
)
AHEAD = TWICE + "test piece ahead: until the first sanding\n"


@pytest.fixture(scope="module")
def ahead(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made(tmp_path_factory.mktemp("ahead"), AHEAD)


def test_the_second_pour_of_the_test_piece_goes_with_the_first_of_the_others(ahead: Build) -> None:
    """Once its first sanding is done, both are cut and filled on the same day."""
    (second,) = (pour for pour in ahead.pours if pour.out_of)
    first = next(pour for pour in ahead.pours if pour.number == second.out_of)
    assert first.also_fills == (second.number,)
    assert (first.mix, first.first == second.first) == (second.mix, False)
    assert second.parts == ()
    assert second.batch_g == 0.0
    density = first.batch_g / first.batch_cm3
    into = first.needed_cm3 + second.needed_cm3
    assert first.batch_cm3 >= into - 0.005
    assert first.surplus_g == pytest.approx(
        (first.batch_cm3 - first.needed_cm3 - first.allowance_cm3 - first.also_cm3) * density,
        abs=0.05,
    )
    assert first.also_cm3 >= second.needed_cm3
    assert ahead.schedule is not None
    steps = {step.pour: step for step in ahead.schedule.steps if step.pour}
    one, two = steps[first.number], steps[second.number]
    assert one.begin_min // DAY_MIN == two.begin_min // DAY_MIN
    assert two.end_min - one.begin_min <= first.pot_life_s / 60
    cups = found(ahead, "batch-below-tools")
    assert not cups or second.mix.name in cups[0].message


def test_its_card_says_where_it_comes_from(ahead: Build) -> None:
    (second,) = (pour for pour in ahead.pours if pour.out_of)
    sheets = [card.pours for card in book_view(ahead, {}, dt.date(2027, 1, 1)).cards]
    cards = {pour.number: pour for sheet in sheets if sheet is not None for pour in sheet.pours}
    assert cards[second.number].steps == ()
    assert any("keep pour" in note for note in cards[second.number].notes)
    assert any("also fills pour" in note for note in cards[second.out_of].notes)


def test_what_can_be_measured_is_left_alone(tmp_path: Path) -> None:
    large = AHEAD.replace("depth: 2 mm, fill", "depth: 9 mm, fill")
    large = large.replace(
        "circle: 8 mm, at: [0 mm, 18 mm]", "rectangle: 44 mm x 10 mm, at: [0 mm, 18 mm]"
    )
    result = made(tmp_path, large)
    assert not any(too_small(pour) for pour in result.pours)
    assert not any(pour.out_of for pour in result.pours)


def test_a_cup_that_would_gel_first_is_not_shared(ahead: Build) -> None:
    (second,) = (pour for pour in ahead.pours if pour.out_of)
    first = next(pour for pour in ahead.pours if pour.number == second.out_of)
    alone = replace(first, also_fills=(), working_s=first.pot_life_s)
    other = replace(second, out_of=0, batch_g=alone.batch_g, working_s=MIXING_S + 60.0)
    assert in_one_cup(alone, other, ahead.job.shop) is None
    quick = replace(alone, working_s=MIXING_S + 60.0)
    assert in_one_cup(quick, other, ahead.job.shop) is not None
