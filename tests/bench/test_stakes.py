"""What is at stake before each point of no return: on the page, the strip and the phone."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.machine_views import screens
from flushwork.bench.pages.odds_on_page import stakes_data, stakes_of
from flushwork.bench.pages.whole_page import page_context
from flushwork.bench.server.rendering import rendered_parts
from flushwork.checks.no_return_points import IRREVERSIBLE, risk_of
from flushwork.views.check_views import money_and_work
from tests.bench.conftest import ask


def test_every_step_with_no_way_back_has_a_no_return_and_no_other(snapshot: Snapshot) -> None:
    found = stakes_of(snapshot)
    assert found is not None
    for stage, stake in zip(snapshot.made.plan.stages, found.stages, strict=True):
        assert stake.stage == stage.number
        assert (stake.no_return is not None) == (stage.kind in IRREVERSIBLE)
    assert found.dearest is not None
    assert max(stake.stake for stake in found.stages) == 1.0


def test_a_piece_grows_dearer_from_step_to_step_as_the_no_returns_say(snapshot: Snapshot) -> None:
    found = stakes_of(snapshot)
    assert found is not None
    held = [stake.held for stake in found.stages]
    assert all(0.0 <= first <= then <= 1.0 for first, then in pairwise(held))
    risk = risk_of(snapshot.made)
    for no_return in risk.points:
        stake = next(each for each in found.stages if each.stage == no_return.stage)
        assert stake.no_return is not None
        assert stake.no_return.in_piece == money_and_work(
            no_return.before_min, no_return.before_cost, risk.spending.currency
        )
    least, most = risk.points[0], risk.points[-1]
    by_money = most.before_cost is not None and least.before_cost is not None
    ratio = (
        float(least.before_cost or 0) / float(most.before_cost or 1)
        if by_money
        else least.before_min / most.before_min
    )
    by_stage = {stake.stage: stake.held for stake in found.stages}
    assert by_stage[least.stage] / by_stage[most.stage] == pytest.approx(ratio, rel=1e-6)


def test_the_page_is_told_them_behind_the_check(built: Desk, snapshot: Snapshot) -> None:
    link = f"/asking/{snapshot.generation}/stakes"
    told = ask(built, "GET", link).json()
    assert told == stakes_data(snapshot)
    no_return_stages = [each for each in told["stages"] if each["html"]]
    assert no_return_stages
    for each in no_return_stages:
        assert "Go on only when" in each["html"]
        assert each["short"] in each["html"]
        assert "<script" not in each["html"]
    assert "<svg" in told["run"]
    assert ask(built, "GET", "/asking/1/stakes").status_code == 410
    assert stakes_of(replace(snapshot, coarse=True)) is None


def test_cuts_and_pours_leave_room_for_the_no_return_before_them(snapshot: Snapshot) -> None:
    parts = rendered_parts(snapshot, "metric")["parts"]
    begun = dict.fromkeys(snapshot.made.cut_stages)
    for stage in begun:
        assert parts["cuts"].count(f'data-no-return="{stage}"') == 1
    for pour in snapshot.made.pours:
        assert f'data-no-return="{pour.stage}"' in parts["pours"]


def test_the_phone_tells_them_on_their_step_and_on_the_one_before(
    built: Desk, snapshot: Snapshot
) -> None:
    stakes = stakes_of(snapshot)
    seen = screens(page_context(snapshot.made, "metric", coarse=False), stakes)
    for here, then in pairwise(seen):
        assert here.no_return_after == then.no_return
    no_return_stages = [screen for screen in seen if screen.no_return is not None]
    assert [screen.number for screen in no_return_stages] == [
        stage.number for stage in snapshot.made.plan.stages if stage.kind in IRREVERSIBLE
    ]
    page = ask(built, "GET", "/machine").text
    assert page.count(">Point of no return<") == len(no_return_stages)
    assert page.count("A point of no return") == sum(
        screen.no_return_after is not None for screen in seen
    )
    assert all(
        not screen.no_return
        for screen in screens(page_context(snapshot.made, "metric", coarse=True))
    )
