"""One thing in hand: its sheet beside the wood, lit wherever it is shown, named by the address."""

from __future__ import annotations

import datetime as dt
import itertools
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page, ViewportSize, expect

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import RunLog
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.day_wishes import DayWishes
from flushwork.bench.pages.things import index_data, keyed_findings, rings, things_in, things_of
from flushwork.bench.pages.today import at_stage, begun, replanned, today_view
from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.usecases.plan import spending
from flushwork.views.stage_views import stage_keys, ticks
from tests.bench.conftest import Served, ask, hold, keep
from tests.bench.test_access import violations
from tests.many import examples
from tests.small_jobs import made as made_of

DESK: ViewportSize = {"width": 1440, "height": 900}
SCREENS = 3.0
"""So many screens of a sheet are scrolled through at most."""

DATED = """\
flushwork: 2
title: Two colours
pieces: 2
test pieces: 1
begin: 2027-03-01
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 12 mm}
cell: 0.2 mm
trim line: {rectangle: 76 mm x 56 mm}
mixes:
  teal: {resin: coating epoxy, pigments: [{name: deep teal flake, share: 3 %}]}
front:
  inlays:
    - {name: plate, rectangle: 30 mm x 20 mm, depth: 2 mm, fill: teal}
back:
  inlays:
    - {name: plate behind, circle: 12 mm, depth: 2 mm, fill: teal}
"""


@pytest.fixture(scope="module")
def dated(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made_of(tmp_path_factory.mktemp("dated"), DATED)


def test_ties_go_both_ways_and_name_what_the_plan_does(dated: Build) -> None:
    things = things_in(dated)
    for key, tied in things.ties.items():
        for other in tied:
            assert key in things.ties[other], (key, other)
    for stage in dated.plan.stages:
        names = {key.split("/", 2)[2] for key in things.of(f"stage/{stage.number}", "inlay")}
        assert names == {name for name in stage.subjects if name.startswith("plate")}
        days = {
            step.begin_min // DAY_MIN + 1
            for step in (dated.schedule.steps if dated.schedule else ())
            if step.stage == stage.number
        }
        assert things.of(f"stage/{stage.number}", "day") == tuple(f"day/{n}" for n in sorted(days))
    for pour in dated.pours:
        served = {f"inlay/{each.face}/{each.subject}" for each in pour.serves}
        assert set(things.of(f"pour/{pour.number}", "inlay")) == served


def test_every_finding_has_one_address_and_those_it_is_told_of(dated: Build) -> None:
    keyed = keyed_findings(dated)
    assert len({key for key, _ in keyed}) == len(keyed) == len(dated.findings)
    things = things_in(dated)
    inlays = {
        each.inlay.name: f"inlay/{each.inlay.face}/{each.inlay.name}" for each in dated.inlays
    }
    for key, finding in keyed:
        told = {s.name for each in finding.each for s in each.subjects if s.kind == "inlay"}
        assert {inlays[name] for name in told} == set(things.of(key, "inlay"))


def test_every_thing_has_a_sheet_that_leads_to_all_it_is_tied_to(
    built: Desk, snapshot: Snapshot
) -> None:
    things = things_of(snapshot)
    assert {key.split("/")[0] for key in things.words} == {
        "inlay", "holes", "stage", "setup", "bit", "pour", "day", "finding",
    }  # fmt: skip
    for key in things.words:
        answer = ask(built, "GET", f"/thing/{snapshot.generation}/of/{key.replace('?', '%3F')}")
        assert answer.status_code == 200, key
        html = answer.json()["html"]
        assert "<script>" not in html
        for tied in things.ties.get(key, ()):
            assert f'data-key="{tied}"' in html.replace("&lt;", "<").replace("&gt;", ">"), tied
    assert ask(built, "GET", f"/thing/{snapshot.generation}/of/inlay/front/none").status_code == 404
    assert ask(built, "GET", "/thing/1/of/stage/1").status_code == 410


def test_a_sheet_tells_how_a_step_is_done_and_what_it_adds(built: Desk, snapshot: Snapshot) -> None:
    spent = spending(snapshot.made)
    for stage in snapshot.made.plan.stages:
        told = ask(built, "GET", f"/thing/{snapshot.generation}/of/stage/{stage.number}").json()
        for words in ("Do", "Good when", "If not"):
            assert f"<b>{words}</b>" in told["html"], (stage.title, words)
        minutes = spent.at(stage.number).minutes
        if minutes < 60.0:
            assert f"{minutes:.1f} min of work" in told["html"]


def test_shapes_are_those_that_are_cut(snapshot: Snapshot) -> None:
    shapes = index_data(snapshot)["shapes"]
    for drawn in snapshot.made.inlays:
        shape = shapes[f"inlay/{drawn.inlay.face}/{drawn.inlay.name}"]
        area = sum(
            abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise(ring)) / 2.0)
            for ring in shape["rings"]
        )
        assert area == pytest.approx(drawn.region.area, rel=0.01)
        for x, y in itertools.chain.from_iterable(rings(drawn.region)):
            assert 0.0 <= x <= 90.0
            assert 0.0 <= y <= 70.0


def ticked(made: Build, log: RunLog, count: int, at: dt.datetime) -> None:
    """Tick the first ``count`` stages for all pieces, an hour after one another, ending ``at``."""
    keys = stage_keys(made.plan)
    for stage in made.plan.stages[:count]:
        when = at - dt.timedelta(hours=count - stage.number)
        for piece in ticks(made.job):
            log.tick(keys[stage.number], piece, done=True, at_s=when.timestamp())


NOW = dt.datetime(2027, 3, 1, 15, 10, tzinfo=dt.UTC).astimezone()


@given(st.data())
@settings(max_examples=examples(6), deadline=None)
def test_the_rest_is_planned_from_what_is_ticked(dated: Build, data: st.DataObject) -> None:
    last = len(dated.plan.stages)
    count = data.draw(st.integers(0, last))
    late_h = data.draw(st.integers(0, 60))
    keys, pieces = stage_keys(dated.plan), ticks(dated.job)
    now = NOW + dt.timedelta(hours=late_h)
    log = {
        "ticks": {keys[n]: list(pieces) for n in range(1, count + 1)},
        "notes": {}, "timers": [],
        "when": {keys[n]: dict.fromkeys(pieces, now.timestamp() - 60.0 * (count - n))
                 for n in range(1, count + 1)},
    }  # fmt: skip
    assert at_stage(dated, log) == (count + 1 if count < last else 0)
    plan = replanned(dated, log, DayWishes(), now)
    assert plan is not None
    left = {step.stage for step in plan.steps if not step.done}
    assert left <= set(range(count + 1, last + 1)), "what is ticked is not to be done again"
    assert begun(log) == (count > 0)
    if 0 < count < last:
        since = dt.datetime.combine(plan.days.first, dt.time())
        now_min = int((now.replace(tzinfo=None) - since).total_seconds() // 60) - 30
        assert all(step.begin_min >= now_min for step in plan.steps if not step.done)
    view = today_view(dated, log, DayWishes(), now)
    assert view.stage == at_stage(dated, log)
    assert len(view.ticked) == min(count, 6)
    assert [each.stage for each in view.ticked] == list(range(count, max(0, count - 6), -1))
    pours = {pour.number: pour for pour in dated.pours}
    for mix in view.mixes:
        assert pours[mix.pour].stage > count
        assert pours[mix.pour].stage in {step.stage for step in view.next}


def test_a_log_without_times_is_planned_as_well(dated: Build, tmp_path: Path) -> None:
    log = RunLog(tmp_path / "lid.yaml")
    keys = stage_keys(dated.plan)
    for piece in ticks(dated.job):
        log.tick(keys[1], piece, done=True)
    told = log.read()
    assert "when" not in told
    view = today_view(dated, told, DayWishes(), NOW)
    assert view.state.startswith("Under way, step 2 of")
    assert [each.when for each in view.ticked] == [""]
    log.tick(keys[1], "1", done=False)
    assert at_stage(dated, log.read()) == 1


def test_a_tick_knows_when_it_was_and_forgets_it_when_taken_back(tmp_path: Path) -> None:
    log = RunLog(tmp_path / "lid.yaml")
    before = log.stamp
    log.tick("cut", "1", done=True, at_s=1e9)
    assert log.read()["when"] == {"cut": {"1": 1_000_000_000}}
    assert log.stamp != before
    log.tick("cut", "1", done=False)
    assert "when" not in log.read()


def touched(page: Page, across_mm: float, up_mm: float) -> None:
    """Touch a place of the face in sight, in mm of its frame, once it lies as the window has it."""
    page.wait_for_function(
        "() => Math.abs(bench.board.camera.width - bench.board.canvas.clientWidth) < 1"
        " && !bench.board.lively"
    )
    x, y = page.evaluate("([x, y]) => bench.board.camera.toScreen(x, y)", [across_mm, up_mm])
    page.locator("#live").click(position={"x": x, "y": y})


def in_sight_together(page: Page) -> None:
    """See the whole board, and the sheet, each within the window."""
    fits = page.evaluate(
        "(() => { const { board } = bench, [x0, y0, x1, y1] = board.bounds();"
        " const [a, b] = [board.camera.toScreen(x0, y0), board.camera.toScreen(x1, y1)];"
        " return Math.min(a[0], b[0]) >= 0 && Math.max(a[0], b[0]) <= board.camera.width"
        "   && Math.min(a[1], b[1]) >= 0 && Math.max(a[1], b[1]) <= board.camera.height; })()"
    )
    assert fits, "a part of the board is out of sight"
    expect(page.locator("#live")).to_be_in_viewport(ratio=1.0)
    expect(page.locator("#sheets")).to_be_in_viewport(ratio=1.0)
    over = page.evaluate(
        "[document.documentElement.scrollHeight / innerHeight,"
        " document.getElementById('sheets').scrollHeight"
        " / document.getElementById('sheets').clientHeight]"
    )
    assert over[0] <= 1.0
    assert over[1] <= SCREENS


def test_what_is_touched_answers_and_back_goes_back(page: Page) -> None:
    page.set_viewport_size(DESK)
    page.wait_for_function("() => bench.hand.index")
    touched(page, 45.0, 35.0)
    expect(page.locator("#thing-title")).to_have_text("plate")
    assert page.evaluate("location.hash") == "#inlay/front/plate"
    expect(page.locator("#over path.lit:not(.ground)")).to_have_count(1)
    lit = page.locator("#reel .shot.lit")
    stages = [int(each) for each in lit.evaluate_all("all => all.map((e) => e.dataset.stage)")]
    ties = page.locator("#thing .tie[data-key^='stage/']")
    assert [f"stage/{each}" for each in stages] == ties.evaluate_all(
        "all => all.map((e) => e.dataset.key)"
    )
    in_sight_together(page)
    keep(page, "hand-inlay")
    touched(page, 75.0, 35.0)
    expect(page.locator("#thing-title")).to_have_text("pegs")
    expect(page.locator("#over circle.lit")).to_have_count(2)
    page.locator("#thing .tie[data-key^='stage/']").first.click()
    expect(page.locator("#thing .how")).to_contain_text("Good when")
    page.go_back()
    expect(page.locator("#thing-title")).to_have_text("pegs")
    page.go_back()
    expect(page.locator("#thing-title")).to_have_text("plate")
    page.reload()
    page.wait_for_selector("html[data-picture=checked]")
    expect(page.locator("#thing-title")).to_have_text("plate")
    page.wait_for_function("() => bench.hand.index")
    page.locator("#live").focus()
    page.keyboard.press("n")
    expect(page.locator("#thing-title")).to_have_text("pegs")
    page.keyboard.press("Escape")
    expect(page.locator("#today")).to_be_visible()


def test_a_depth_is_changed_with_the_picture_in_sight(page: Page, bench: Served) -> None:
    before = bench.path.read_text("utf-8")
    page.set_viewport_size(DESK)
    hold(page, "inlay/front/plate")
    depth = page.locator("#thing [name=depth]")
    expect(depth).to_have_value("2 mm")
    depth.fill("1.5 mm")
    depth.press("Enter")
    expect(page.locator("#thing output")).to_contain_text("2 mm before, 1.5 mm now")
    expect(page.locator("#thing .facts")).to_contain_text("1.50 mm below")
    expect(depth).to_have_value("1.5 mm")
    in_sight_together(page)
    page.locator("#unsaved-drop").click()
    expect(page.locator("#thing .facts")).to_contain_text("2.00 mm below")
    assert bench.path.read_text("utf-8") == before


def test_today_hears_of_the_phone(page: Page, browser: Browser, bench: Served) -> None:
    page.set_viewport_size(DESK)
    hold(page, "today")
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    phone, other = context.new_page(), context.new_page()
    for each in (phone, other):
        each.goto(f"{bench.address}machine#2")
        expect(each.locator("h1:visible")).to_have_text("Surface the back")
    box = phone.locator('.screen:visible [data-piece="2"]')
    was = box.is_checked()
    box.check() if not was else box.uncheck()
    there = page.locator("#today .tie[data-key='stage/2']").filter(has_text="for 2")
    expect(there).to_have_count(0 if was else 1)
    same = other.locator('.screen:visible [data-piece="2"]')
    expect(same).to_be_checked(checked=not was)
    keep(page, "hand-today")
    box.uncheck() if not was else box.check()
    expect(there).to_have_count(1 if was else 0)
    context.close()


def test_every_sheet_is_in_sight_beside_the_board_and_can_be_read_by_all(page: Page) -> None:
    page.set_viewport_size(DESK)
    page.wait_for_function("() => bench.hand.index")
    kinds = {key.split("/")[0]: key for key in page.evaluate("Object.keys(bench.hand.index.words)")}
    sheets = ("today", "check", "odds", "text", "cuts", "pours", "days", "wood", "beside")
    for sheet in (*sheets, *kinds.values()):
        hold(page, sheet)
        if "/" in sheet:
            expect(page.locator("#thing-title")).to_be_visible()
        in_sight_together(page)
    for shade in ("light", "dark"):
        page.evaluate("s => { document.documentElement.dataset.shade = s; }", shade)
        for key in (kinds["inlay"], kinds["stage"]):
            hold(page, key)
            expect(page.locator("#thing-title")).to_be_visible()
            assert violations(page) == [], (key, shade)
    page.set_viewport_size({"width": 820, "height": 1180})
    hold(page, kinds["inlay"])
    expect(page.locator("#live")).to_be_in_viewport(ratio=1.0)
    expect(page.locator("#thing-title")).to_be_in_viewport()
    assert page.evaluate("document.documentElement.scrollWidth") <= 820
    keep(page, "tablet-inlay")


def test_all_on_one_page_is_there_to_be_read_and_printed(page: Page, bench: Served) -> None:
    page.goto(f"{bench.address}?long")
    page.wait_for_selector("html[data-picture=checked]")
    for part in (
        "board",
        "section",
        "check",
        "odds",
        "text",
        "cuts",
        "pours",
        "days",
        "wood",
        "beside",
    ):
        expect(page.locator(f"#{part}")).to_be_visible()
    page.goto(bench.address)
    page.wait_for_selector("html[data-picture=checked]")
    page.emulate_media(media="print")
    for part in ("board", "section", "check", "cuts", "pours", "days"):
        expect(page.locator(f"#{part}")).to_be_visible()
    page.emulate_media(media="screen")
