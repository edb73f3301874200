"""Days as wished on the page: steps put off, days off, a first day; the job file is left alone."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import RunLog, log_path
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.bench_days import days_view
from flushwork.bench.pages.day_wishes import (
    BuildById,
    DayWishes,
    WishError,
    planned,
    wishes_in,
)
from flushwork.bench.pages.today import replanned
from flushwork.core.units.kinds import DAY_MIN
from flushwork.views.stage_views import stage_keys, ticks
from tests.bench.conftest import JOB, ask, noon, waited


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


def test_days_are_planned_from_what_is_ticked_and_show_where_now_is(tmp_path: Path) -> None:
    """Ticked steps lie in the past, the rest begins now, and what was put off stays so."""
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    made = waited(desk).made
    at, keys = f"/doing/{desk.status().generation}/days", stage_keys(made.plan)
    assert "now-line" not in ask(desk, "GET", at).json()["html"], "days without dates have no now"
    now = noon()
    wished = {"first": now.date().isoformat(), "held": [[keys[6], -1, "2026-05-11"]]}
    told = ask(desk, "POST", at, json=wished).json()
    assert told["html"].count("now-line") == 2, "across and down"
    assert "ticked" not in re.sub("are ticked", "", told["html"])
    for stage in (1, 2):
        for piece in ticks(made.job):
            sent = {"stage": keys[stage], "piece": piece, "done": True}
            assert ask(desk, "POST", "/log/tick", json=sent).status_code == 200
    later = ask(desk, "GET", at).json()
    assert later["shown"]
    assert later["wishes"]["held"] == wished["held"]
    log = RunLog(path).read()
    plan = replanned(made, log, wishes_in(log["days"]), now.astimezone())
    assert plan is not None
    left = [step for step in plan.steps if not step.done]
    assert not {1, 2} & {step.stage for step in left}
    zero = dt.datetime.combine(plan.days.first, dt.time())
    held_min = (dt.datetime(2026, 5, 11) - zero).total_seconds() / 60.0
    assert all(step.begin_min >= held_min for step in left if step.stage == 6)
    view = days_view(made, plan, DayWishes(), now.astimezone())
    assert view is not None
    assert view.across is not None
    assert view.across.now is not None
    done = {bar.x + bar.width for bar in view.across.bars if bar.done}
    assert max(done) <= view.across.now + 3.0 < max(bar.x for bar in view.across.bars)
    desk.close()
