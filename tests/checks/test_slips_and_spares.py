"""The headline says what it counts, slips are told once, and spares follow from the odds."""

from __future__ import annotations

import re
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.odds_on_page import summary as page_summary
from flushwork.book.figure_chapters import summary
from flushwork.checks.no_return_points import SLIP, SURELY, Risk, right_share, risk_of, spares_for
from flushwork.checks.odds.odds import RunOdds
from flushwork.pipeline import build
from flushwork.views.check_views import no_returns_view
from flushwork.views.drawing.drawing_marks import Space
from tests.checks.hearing import written
from tests.checks.test_no_return import JOB
from tests.many import examples


def run(piece: float, pieces: int) -> RunOdds:
    return RunOdds(pieces, 0, 1000, piece, piece * pieces, piece**pieces, 1.0, (), ())


@pytest.fixture(scope="module")
def risk(tmp_path_factory: pytest.TempPathFactory) -> Risk:
    made = build(written(tmp_path_factory.mktemp("slips"), JOB), check=False)
    return risk_of(made)


@settings(max_examples=examples(40), deadline=None)
@given(st.floats(0.2, 1.0), st.integers(1, 6))
def test_spares_are_the_fewest_that_do(right: float, pieces: int) -> None:
    found = spares_for(pieces, right)
    if found is None or pieces + found > 11:
        return

    def enough(started: int) -> float:
        total = 0.0
        for fates in product((0, 1), repeat=started):
            if sum(fates) >= pieces:
                chance = 1.0
                for fate in fates:
                    chance *= right if fate else 1.0 - right
                total += chance
        return total

    assert enough(pieces + found) >= SURELY - 1e-9
    assert not found or enough(pieces + found - 1) < SURELY + 1e-9


@settings(max_examples=examples(40), deadline=None)
@given(st.floats(0.3, 0.999), st.floats(0.3, 0.999), st.integers(1, 30))
def test_worse_odds_never_want_fewer_spares(one: float, other: float, pieces: int) -> None:
    worse, better = (spares_for(pieces, each) for each in sorted((one, other)))
    assert better is not None or worse is None
    assert worse is None or better is None or better <= worse


@settings(max_examples=examples(40), deadline=None)
@given(st.floats(0.0, 1.0), st.integers(1, 30))
def test_the_headline_says_that_it_counts_no_mistakes(piece: float, pieces: int) -> None:
    told = run(piece, pieces)
    assert "If no mistakes are made" in summary(told)
    page = page_summary(told)
    good = "come out right" in page or "hardly one is lost" in page
    assert not good or "no mistakes" in page or "Nothing" in page


def test_the_assumed_slip_is_told_once(risk: Risk) -> None:
    view = no_returns_view(risk, Space(170.0, 52.0))
    right = right_share(risk.odds, risk.points)
    assert right == pytest.approx(risk.odds.piece * (1.0 - SLIP) ** len(risk.points))
    assert f"at each of {len(risk.points)} stages" in view.note
    assert f"{100 * right:.0f} of 100 pieces come out right" in view.note
    for no_return, told in zip(risk.points, view.no_returns, strict=True):
        shown = re.match(r"(under )?([0-9.e-]+) in 100 by what varies$", told.odds)
        assert shown is not None, told.odds
        limit = 0.01 if shown[1] else 100 * no_return.varies
        assert float(shown[2]) == pytest.approx(limit, rel=0.06)
