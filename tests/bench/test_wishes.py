"""Days as wished on the page: steps put off, days off, a first day; the job file is left alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import log_path
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.bench_days import days_view
from flushwork.bench.pages.day_wishes import (
    BuildById,
    DayWishes,
    WishError,
    planned,
    wishes_in,
)
from flushwork.core.units.kinds import DAY_MIN
from flushwork.views.stage_views import stage_keys
from tests.bench.conftest import JOB, ask, waited


def test_a_step_put_off_begins_no_sooner_and_the_rest_follows(snapshot: Snapshot) -> None:
    own = snapshot.made.schedule
    assert own is not None
    key = stage_keys(snapshot.made.plan)[4]
    plan = planned(BuildById(snapshot.made), DayWishes(held=((key, 1, "2024-01-04"),)))
    steps = [step for step in plan.steps if step.stage == 4]
    moved = [step for step in steps if plan.pieces[1] in step.pieces]
    assert all(step.begin_min >= 3 * DAY_MIN for step in moved)
    assert any(step.begin_min < 3 * DAY_MIN for step in steps if step not in moved)
    assert plan.finish_min > own.finish_min
    view = days_view(snapshot.made, plan, DayWishes(held=((key, 1, "2024-01-04"),)))
    assert view is not None
    assert view.across is not None
    assert {(bar.key, bar.piece) for bar in view.across.bars if bar.held} == {(key, 1)}


def test_nothing_is_done_on_a_day_off(snapshot: Snapshot) -> None:
    plan = planned(BuildById(snapshot.made), DayWishes(off=("2024-01-01", "2024-01-03")))
    days = {step.begin_min // DAY_MIN for step in plan.steps}
    assert 0 not in days
    assert 2 not in days
    view = days_view(snapshot.made, plan)
    assert view is not None
    assert view.across is not None
    assert [mark.day for mark in view.across.marks if mark.off] == [0, 2]


def test_a_first_day_makes_dates(snapshot: Snapshot) -> None:
    plan = planned(BuildById(snapshot.made), DayWishes(first="2027-03-01"))
    assert plan.days.dated
    assert plan.days.date(0).isoformat() == "2027-03-01"


def test_no_wish_is_the_plan_of_the_job(snapshot: Snapshot) -> None:
    plan = planned(BuildById(snapshot.made), DayWishes())
    assert snapshot.made.schedule is not None
    assert plan.finish_min == snapshot.made.schedule.finish_min


@pytest.mark.parametrize(
    "sent",
    [
        {"first": 3},
        {"first": "tomorrow"},
        {"off": "2027-03-01"},
        {"off": ["2027-13-01"]},
        {"held": [["a", 1]]},
        {"held": [["a", "1", "2027-03-01"]]},
        {"held": [["a", -2, "2027-03-01"]]},
        {"held": [["a", True, "2027-03-01"]]},
    ],
)
def test_what_is_no_wish_is_refused(sent: dict[str, Any]) -> None:
    with pytest.raises(WishError):
        wishes_in(sent)


def test_wishes_outlive_a_reload_and_reach_the_calendar(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    snapshot = waited(desk)
    at = f"/doing/{snapshot.generation}/days"
    assert ask(desk, "GET", f"{at}.ics").status_code == 409, "no dates, no calendar"
    told = ask(desk, "POST", at, json={"first": "2027-03-01", "off": ["2027-03-02"]}).json()
    assert told["wished"]
    assert "2027-03" in told["now"]
    again = ask(desk, "GET", at).json()
    assert again["wishes"] == told["wishes"]
    ics = ask(desk, "GET", f"{at}.ics")
    assert ics.status_code == 200
    assert "20270301" in ics.text
    assert "DTSTART:20270302" not in ics.text
    assert ask(desk, "POST", at, json={"off": 3}).status_code == 400
    assert not ask(desk, "POST", at, json={}).json()["wished"]
    assert "days" not in log_path(path).read_text("utf-8")
    assert path.read_text("utf-8") == JOB
    desk.close()
