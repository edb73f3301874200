"""Cuts, pours, days, the shelf, the screens and the log: records and routes, without a browser."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import LogError, RunLog, log_path
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.film.bit_paths import path_data, stage_of
from flushwork.bench.pages.bench_days import days_view
from flushwork.bench.pages.machine_views import screens
from flushwork.bench.pages.shelf_views import shelf_view
from flushwork.bench.pages.whole_page import page_context
from flushwork.checks.rules.work.stock_rules import needs
from flushwork.resin.pours import Pour
from flushwork.schedule.waits import planned_wait_s
from flushwork.shelf.working import OnHand, StockKind
from flushwork.usecases.weigh import follow, for_pieces, weighable, with_hardener
from flushwork.views.figures import Lengths
from tests.bench.conftest import JOB, PAGE, ask, waited

INCHES = """\
flushwork: 2
title: A tag
blank: {wood: white ash, length: 3 in, width: 1 1/2 in, thickness: 1/4 in}
cell: 0.1 mm
"""
"""Read no further: what it is written in is seen before it is built."""


def test_a_path_ends_where_its_file_ends_and_takes_as_long(snapshot: Snapshot) -> None:
    for file in snapshot.made.gcode_files:
        data = path_data(snapshot.made, file)
        points = np.array(data["points"]).reshape(-1, 3)
        at_s = np.array(data["at_s"])
        assert len(points) == len(at_s)
        assert np.all(np.diff(at_s) >= -0.011)
        assert at_s[-1] == pytest.approx(data["runs_s"], abs=0.02)
        assert data["runs_s"] == pytest.approx(file.cut_s, rel=1e-6)
        last = file.program.moves[-1]
        x0, y0 = file.order.origin_mm
        assert points[-1] == pytest.approx((last.x_mm + x0, last.y_mm + y0, last.z_mm), abs=1e-3)
        assert data["stage"] == stage_of(snapshot.made, file) > 0


def test_gcode_files_are_handed_out_only_in_step_with_the_saved_job(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    first = waited(desk)
    link = f"/doing/{first.generation}/file/0"
    given = ask(desk, "GET", link)
    assert given.status_code == 200
    assert given.text == first.made.gcode_files[0].text
    assert first.made.gcode_files[0].file_name in given.headers["content-disposition"]
    assert ask(desk, "GET", f"/doing/{first.generation}/file/99").status_code == 404
    desk.try_text(PAGE, JOB.replace("depth: 2 mm", "depth: 1.8 mm"))
    second = waited(desk, PAGE)
    assert ask(desk, "GET", link).text == first.made.gcode_files[0].text
    for what in ("file/0", "days.ics"):
        assert ask(desk, "GET", f"/doing/{second.generation}/{what}").status_code == 409
    path.write_text(JOB + "# theirs\n", encoding="utf-8")
    assert ask(desk, "GET", link).status_code in (409, 410)
    third = waited(desk)
    assert third.text == JOB + "# theirs\n"
    assert ask(desk, "GET", f"/doing/{third.generation}/file/0").status_code == 200
    desk.close()


def pour_of(snapshot: Snapshot) -> Pour:
    pour = snapshot.made.pours[0]
    assert weighable(pour)
    return pour


def test_weighing_follows_what_really_went_in(snapshot: Snapshot) -> None:
    """11.4 g of a resin that takes 100:44 wants 5.016 g of hardener: the scale must read 16.42."""
    pour = pour_of(snapshot)
    assert pour.mix.ratio_hardener / pour.mix.ratio_resin == pytest.approx(0.44)
    told = follow(pour, 11.4, 0.0, None)
    assert told.target_g == pytest.approx(16.416, abs=told.step_g)
    assert told.low_g <= told.target_g <= told.high_g
    over = follow(pour, 11.4, 0.0, 11.4 + 5.016 * 1.1)
    assert over.kind == "resin"
    assert over.add_g == pytest.approx(1.14, abs=0.01)
    under = follow(pour, 11.4, 0.3, 11.7 + 5.016 * 0.9)
    assert under.kind == "hardener"
    assert under.add_g == pytest.approx(0.5016, abs=0.001)
    assert follow(pour, 11.4, 0.0, 16.4).kind == ""
    for resin_g, total_g in ((0.0, None), (11.4, 11.0)):
        with pytest.raises(ValueError, match=r"resin|hardener"):
            follow(pour, resin_g, 0.0, total_g)


def test_a_card_for_other_amounts(snapshot: Snapshot) -> None:
    pour = pour_of(snapshot)
    one = for_pieces(snapshot.made, pour, 1)
    assert one.needed_cm3 == pytest.approx(pour.needed_cm3 / 2.0)
    assert one.batch_cm3 >= one.needed_cm3 + pour.allowance_cm3 - 1e-9
    hardener = next(part for part in one.parts if part.kind == "hardener")
    assert with_hardener(snapshot.made, pour, hardener.mass_g).pieces == 1
    with pytest.raises(ValueError, match="not enough"):
        with_hardener(snapshot.made, pour, hardener.mass_g * 0.5)


def test_routes_of_a_pour(built: Desk, snapshot: Snapshot) -> None:
    base = f"/doing/{snapshot.generation}/pour/{pour_of(snapshot).number}"
    pockets = ask(built, "GET", f"{base}/pockets").json()["pockets"]
    assert [pocket["name"] for pocket in pockets] == ["plate"]
    ring = np.array(pockets[0]["rings"][0])
    assert np.ptp(ring, axis=0) == pytest.approx((30.0, 20.0), abs=0.01)
    told = ask(
        built, "POST", f"{base}/weighed", json={"resin_g": 11.4, "beside_g": 0, "shown_g": None}
    )
    assert told.json()["target_g"] == pytest.approx(16.4, abs=0.1)
    card = ask(built, "POST", f"{base}/scaled", json={"pieces": 1}).json()
    assert card["pieces"] == 1
    assert "<script>alert" not in card["html"]
    for body in ({"pieces": 0}, {"pieces": "x"}, {"hardener_g": 0.01}, {"hardener_g": True}):
        answer = ask(built, "POST", f"{base}/scaled", json=body)
        assert answer.status_code == 400, body
        assert answer.json()["error"].endswith(".")


def test_the_days_are_those_of_the_schedule(built: Desk, snapshot: Snapshot) -> None:
    view = days_view(snapshot.made)
    plan = snapshot.made.schedule
    assert view is not None
    assert plan is not None
    for chart in (view.across, view.down):
        assert chart is not None
        boxes = [bar for bar in chart.bars if bar.kind != "wait"]
        assert len(boxes) == sum(len(step.pieces) for step in plan.steps)
        for bar in chart.bars:
            assert 0.0 <= bar.x <= bar.x + bar.width <= chart.width + 2.0
            assert 0.0 <= bar.y <= bar.y + bar.height <= chart.height + 2.0


def test_on_a_phone_the_days_run_down_in_time_and_the_pieces_stand_side_by_side(
    snapshot: Snapshot,
) -> None:
    view = days_view(snapshot.made)
    assert view is not None
    assert view.down is not None
    chart = view.down
    assert all(
        first.y + first.height == pytest.approx(then.y) for first, then in pairwise(chart.marks)
    )
    for bar in chart.bars:
        if bar.kind == "wait":
            continue
        day = chart.marks[bar.day]
        assert day.y <= bar.y <= day.y + day.height, "a step lies in its day"
    lanes = {bar.piece: (bar.x, bar.x + bar.width) for bar in chart.bars if bar.kind != "wait"}
    ends = [lanes[piece] for piece in sorted(lanes)]
    assert all(first[1] < then[0] for first, then in pairwise(ends))
    assert all(end - begin >= 38.0 for begin, end in ends), "wide enough for a finger"
    assert all(mark.label for mark in chart.marks)


def test_days_without_a_plan_and_their_calendar(built: Desk, snapshot: Snapshot) -> None:
    view = days_view(snapshot.made)
    assert view is not None
    assert days_view(replace(snapshot.made, schedule=None)) is None
    answer = ask(built, "GET", f"/doing/{snapshot.generation}/days.ics")
    assert answer.status_code == (200 if view.dated else 409)


def test_a_dated_job_gives_a_calendar(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB.replace("pieces: 2", "begin: 2026-05-04"), encoding="utf-8")
    desk = Desk(path)
    desk.open()
    snapshot = waited(desk)
    answer = ask(desk, "GET", f"/doing/{snapshot.generation}/days.ics")
    assert answer.status_code == 200
    assert answer.text.startswith("BEGIN:VCALENDAR")
    assert "20260504" in answer.text
    chart = ask(desk, "GET", f"/doing/{snapshot.generation}/days").json()["html"]
    assert ">4 May<" in chart, "no reader takes a month for a day"
    desk.close()


def test_a_page_speaks_the_units_the_job_is_written_in(tmp_path: Path, built: Desk) -> None:
    assert 'data-units="metric"' in ask(built, "GET", "/").text
    assert 'data-units="inch"' in ask(built, "GET", "/?units=inch").text
    path = tmp_path / "lid.yaml"
    path.write_text(INCHES, encoding="utf-8")
    desk = Desk(path)
    assert 'data-units="inch"' in ask(desk, "GET", "/").text
    assert 'data-units="metric"' in ask(desk, "GET", "/?units=metric").text
    desk.close()


def test_the_shelf_marks_what_the_job_uses(snapshot: Snapshot) -> None:
    boards = shelf_view(snapshot.made, Lengths("metric"))
    used = {thing.name for board in boards for thing in board.things if thing.used}
    assert {"sugar maple", "coating epoxy", "deep teal flake"} <= used
    assert all(thing.source for board in boards for thing in board.things if board.things)
    assert all(len(thing.figures) == len(board.head) for board in boards for thing in board.things)


def test_the_shelf_tells_what_is_on_hand_beside_what_the_job_takes(snapshot: Snapshot) -> None:
    assert not any(board.stocked for board in shelf_view(snapshot.made, Lengths("metric")))
    job = snapshot.made.job
    assert job.finish is not None
    wanted = needs(snapshot.made)
    takes = wanted[StockKind.RESIN, "coating epoxy"].amount("g")
    on_hand = (
        OnHand(StockKind.RESIN, "coating epoxy", 4.0 * takes, "g", job.source),
        OnHand(StockKind.HARDENER, "coating epoxy", 0.1, "g", job.source),
        OnHand(StockKind.PIGMENT, "red powder", 12.0, "g", job.source),
        OnHand(StockKind.WOOD, "sugar maple", 5.0, "", job.source),
        OnHand(StockKind.FINISH, job.finish.finish.name, 350.0, "cm3", job.source),
        OnHand(StockKind.SEALER, "another sealer", 200.0, "cm3", job.source),
    )
    stocked = replace(job, shop=replace(job.shop, on_hand=on_hand))
    boards = shelf_view(replace(snapshot.made, job=stocked), Lengths("metric"))
    lines = {thing.name: thing.stock for board in boards for thing in board.things if thing.stock}
    resin, hardener = lines["coating epoxy"]
    assert resin.words.startswith("Resin, ")
    assert (resin.there, resin.short) == (100.0, False)
    assert resin.takes == pytest.approx(25.0)
    assert hardener.short
    assert hardener.words.endswith(" short")
    assert hardener.takes == 100.0
    assert [each.words for each in lines["red powder"]] == ["12 g on hand"]
    (finish,) = lines[job.finish.finish.name]
    assert "this job takes about " in finish.words, "nobody reads it as measured"
    assert finish.takes > 0.0
    assert [each.words for each in lines["sugar maple"]] == ["5 on hand; this job takes 2: 3 left"]


def test_every_stage_has_a_screen_with_its_clock(snapshot: Snapshot) -> None:
    views = screens(page_context(snapshot.made, "metric", coarse=False))
    assert [view.number for view in views] == [stage.number for stage in snapshot.made.plan.stages]
    fill = next(view for view in views if view.kind == "fill")
    assert [timer.lasts_s for timer in fill.timers] == [60.0 * snapshot.made.pours[0].pot_life_min]
    cure = next(view for view in views if view.kind == "cure")
    plan, schedule = snapshot.made.plan, snapshot.made.schedule
    planned_s = planned_wait_s(plan, schedule, plan.stage(cure.number))
    assert cure.timers[0].lasts_s == planned_s
    cut = next(view for view in views if view.kind == "cut")
    assert cut.checks
    assert cut.files
    assert len({view.key for view in views}) == len(views)
    assert views[-1].after == ""


def test_the_log_outlives_a_restart(tmp_path: Path) -> None:
    job = tmp_path / "lid.yaml"
    log = RunLog(job)
    log.tick("Cut plate (front)", "1", done=True)
    log.tick("Cut plate (front)", "2", done=True)
    log.tick("Cut plate (front)", "1", done=False)
    log.note("Cut plate (front)", "burr at the corner <b>")
    log.begin("Pot life", 1.7e9, 1800.0)
    log.begin("Pot life", 1.8e9, 1800.0)
    again = RunLog(job).read()
    assert again["ticks"] == {"Cut plate (front)": ["2"]}
    assert again["notes"] == {"Cut plate (front)": "burr at the corner <b>"}
    assert [timer["begun_s"] for timer in again["timers"]] == [1.8e9]
    assert RunLog(job).end("Pot life")["timers"] == []
    assert "note" not in RunLog(job).note("Cut plate (front)", "  ")["notes"]


def test_a_no_return_passed_is_kept_line_by_line(tmp_path: Path) -> None:
    job, stage = tmp_path / "lid.yaml", "Cut plate (front)"
    log = RunLog(job)
    log.tick_no_return(stage, "the test piece is cut", done=True)
    log.tick_no_return(stage, "the pins are in <b>", done=True)
    log.tick_no_return(stage, "the test piece is cut", done=False)
    assert RunLog(job).read()["no_returns"] == {stage: ["the pins are in <b>"]}
    assert RunLog(job).tick_no_return(stage, "the pins are in <b>", done=False)["no_returns"] == {}


def test_a_strange_log_is_never_overwritten(tmp_path: Path) -> None:
    job = tmp_path / "lid.yaml"
    log_path(job).write_text("[1, 2]", encoding="utf-8")
    with pytest.raises(LogError, match="no log"):
        RunLog(job).tick("a", "1", done=True)
    assert log_path(job).read_text("utf-8") == "[1, 2]"


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/log/tick", {"stage": "", "piece": "1", "done": True}),
        ("/log/tick", {"stage": "x" * 301, "piece": "1"}),
        ("/log/no-return", {"stage": "a", "line": "", "done": True}),
        ("/log/no-return", {"stage": "a", "line": "x" * 1001, "done": True}),
        ("/log/note", {"stage": "a", "text": "x" * 4001}),
        ("/log/timer", {"name": "a", "begun_s": -1, "lasts_s": 5}),
        ("/log/timer", {"name": "a", "begun_s": 1.7e9, "lasts_s": 1e9}),
        ("/log/timer", {"name": "a", "begun_s": None, "lasts_s": 5}),
    ],
)
def test_nonsense_is_not_logged(built: Desk, path: str, body: dict[str, object]) -> None:
    answer = ask(built, "POST", path, json=body)
    assert answer.status_code == 400
    assert "error" in answer.json()
    assert not log_path(built.path).exists()


def test_pages_beside_the_job_show_names_as_text(built: Desk) -> None:
    for path in ("/machine", "/shelf", "/?units=inch"):
        page = ask(built, "GET", path)
        assert page.status_code == 200
        assert "<script>alert" not in page.text
        assert json.dumps(page.text).count("<b>lid</b>") == 0
