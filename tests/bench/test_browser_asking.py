"""Asking the real page: odds, remedies tried, days moved, the door; and every part on a phone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, Route, expect

from flushwork.bench.server import shop_net
from tests.bench.conftest import AT_REST, JOB, Served, hold, keep, until
from tests.bench.test_access import violations

DEEP = f"""\
{JOB.replace("depth: 2 mm", "depth: 5 mm")}\
back:
  inlays:
    - name: rear   # behind the plate
      circle: 20 mm
      depth: 4.5 mm
      fill: teal <script>alert(1)</script>
    - {{name: dot, circle: 4 mm, at: [20 mm, 12 mm], depth: 1.5 mm, fill: gold}}
""".replace("front:", "  gold: {resin: coating epoxy, pigments: [fine gold]}\nfront:")
"""So deep from both faces that too little wood is left between them; of gold, hardly a drop."""
THIN, NO_FIX = "of wood is left between", "cures 0.34 mm proud"


@pytest.fixture
def thin(browser: Browser, tmp_path: Path) -> Iterator[tuple[Page, Path]]:
    path = tmp_path / "lid.yaml"
    path.write_text(DEEP, encoding="utf-8")
    served = Served(path)
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(served.address)
    page.wait_for_selector("html[data-picture=checked]")
    yield page, path
    context.close()


def test_odds_bars_sliders_and_map(page: Page) -> None:
    hold(page, "odds")
    page.wait_for_selector(".odds:not(.waiting)", state="attached")
    expect(page.locator("#outcomes li")).to_have_count(3)
    before = page.locator("#outcomes li").first.inner_text()
    page.locator("#variations input[name=measuring]").fill("1.5")
    expect(page.locator("#outcomes li").first).not_to_have_text(re.compile(re.escape(before)))
    expect(page.locator("#steadier")).to_contain_text("of 1000")
    keep(page, "desk-odds")
    page.click("#heat")
    expect(page.locator("#over path[fill^=url]")).to_have_count(1)
    expect(page.locator("#legend")).to_contain_text("Of 1000 pieces")
    page.wait_for_function(AT_REST)
    keep(page, "desk-odds-map")
    page.click("#heat")
    page.click("#steady-back")
    expect(page.locator("#outcomes li").first).to_contain_text(before.split("\n")[-1])


def test_sliders_stay_and_are_answered_for_the_job_as_it_is_changed(page: Page) -> None:
    """A variation made larger, then more pieces: both count, and so they do once it is put back."""
    hold(page, "odds")
    page.wait_for_selector(".odds:not(.waiting)", state="attached")
    slider, rows = page.locator("#variations input[name=measuring]"), page.locator("#outcomes li")
    slider.fill("1.5")
    expect(page.locator("#steadier")).to_contain_text("of 1000")
    expect(rows).to_have_count(3)
    hold(page, "text")
    page.locator("#job").fill(JOB.replace("pieces: 2", "pieces: 4"))
    expect(rows).to_have_count(5)
    hold(page, "odds")
    page.wait_for_selector(".odds:not(.waiting)")
    expect(slider).to_have_value("1.5")
    told = page.evaluate(
        "fetch(`/asking/${bench.generation}/odds`, { method: 'POST',"
        " headers: { 'Content-Type': 'application/json' },"
        " body: JSON.stringify({ scales: { measuring: 2 ** 1.5 } }) }).then((a) => a.json())"
    )
    said = f"So {told['piece'] * 1000:.0f} of 1000"
    expect(page.locator("#steadier")).to_contain_text(said)
    page.locator("#unsaved-drop").click()
    expect(rows).to_have_count(3)
    expect(page.locator("#steadier")).to_contain_text("of 1000")
    page.click("#steady-back")
    expect(page.locator("#steadier")).to_have_text("")


def test_two_keys_against_each_other(page: Page) -> None:
    hold(page, "odds")
    page.click("#sweep-box summary")
    across = page.locator("#sweep [name=across]")
    across.fill("front.inlays.plate.depth")
    across.press("Tab")
    values = page.locator("#sweep [name=across-values]")
    expect(values).to_have_value("1.2 mm, 1.6 mm, 2 mm, 2.4 mm, 2.8 mm")
    values.fill("1.6 mm, 2 mm")
    up = page.locator("#sweep [name=up]")
    up.fill("pieces")
    up.press("Tab")
    more = page.locator("#sweep [name=up-values]")
    expect(more).to_have_value("1, 2, 3, 4, 5")
    more.fill("1, 2")
    expect(more).to_have_value("1, 2")
    page.locator("#sweep button[type=submit]").click()
    expect(page.locator("#sweep-state")).to_have_text("4 of 4 worked out.")
    expect(page.locator(".square.best")).to_have_count(1)
    page.locator("#sweep-box").evaluate("e => e.scrollIntoView()")
    keep(page, "desk-sweep")
    page.locator("#sweep [name=across]").fill("front.inlays.none.depth")
    page.locator("#sweep button[type=submit]").click()
    expect(page.locator("#sweep-said")).to_contain_text("no item called none")


def look_for(page: Page, words: str) -> Locator:
    """Press the button of the finding with these words in it; return the finding."""
    hold(page, "check")
    finding = page.locator("#check .finding", has=page.locator("h4", has_text=words)).first
    finding.locator(".look").press("Enter")
    return finding


def test_a_fix_is_looked_for_found_tried_written_and_undone(thin: tuple[Page, Path]) -> None:
    """By keys alone: what is found is told, tried, and holds; the focus stays where it is."""
    page, path = thin
    finding = look_for(page, THIN)
    expect(finding.locator(".said")).to_have_attribute("aria-live", "polite")
    expect(finding.locator(".said")).to_contain_text("found: the finding goes")
    expect(finding.locator(".look")).to_be_focused()
    expect(finding.locator(".look")).to_have_text("Look for a fix")
    form = finding.locator("form.try").first
    expect(form).to_contain_text("now 5 mm")
    expect(form.locator("input")).not_to_have_value("5 mm")
    finding.evaluate("e => e.scrollIntoView({block: 'center'})")
    keep(page, "desk-fixes")
    page.emulate_media(color_scheme="dark")
    keep(page, "desk-fixes-dark")
    page.emulate_media(color_scheme="light", media="print")
    expect(page.locator(".fixes").first).to_be_hidden()
    page.emulate_media(media="screen")
    form.locator("button[type=submit]").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#trial-what")).to_contain_text("5 mm before")
    expect(page.locator("#trial-told .gone").first).to_be_visible()
    expect(page.locator("#trial-told .fresh")).to_have_count(0)
    expect(page.locator("#check h4", has_text=THIN)).to_have_count(0)
    assert path.read_text("utf-8") == DEEP, "tried only"
    page.locator("#trial").evaluate("e => e.scrollIntoView({block: 'end'})")
    keep(page, "desk-trial")
    page.click("#trial-write")
    expect(page.locator("#trial-what")).to_contain_text("written")
    changed = path.read_text("utf-8").splitlines()
    differ = [one for one, other in zip(DEEP.splitlines(), changed, strict=True) if one != other]
    assert len(differ) == 1
    assert "depth: 5 mm" in differ[0]
    page.click("#trial-undo")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert path.read_text("utf-8") == DEEP


def test_a_pin_is_hit_and_a_fix_of_its_finding_taken_in_one_press(thin: tuple[Page, Path]) -> None:
    """By pointer and by key; the offers come by themselves; what is taken is written and undone."""
    page, path = thin
    keys = page.evaluate("bench.board.pins.map((pin) => pin.key)")
    taken = "key => bench.hand.key === key"
    board = page.locator("#live")
    board.focus()
    for key in (*keys, keys[0]):
        page.keyboard.press("g")
        page.wait_for_function(taken, arg=key)
    page.keyboard.press("Shift+G")
    page.wait_for_function(taken, arg=keys[-1])
    page.keyboard.press("Escape")
    page.wait_for_function(taken, arg="today")
    found = (
        "key => { const { board, hand } = bench, pin = board.pins.find((each) => each.key === key);"
        " board.turnOver(pin.face); board.whole();"
        " const { x, y } = board.pinPlaces().find((each) => each.pin === pin);"
        " const { left, top } = board.canvas.getBoundingClientRect();"
        " return hand.at({ clientX: left + x, clientY: top + y }); }"
    )
    assert [page.evaluate(found, key) for key in keys] == keys
    thinnest = next(key for key in keys if "wood-between-too-thin" in key)
    hold(page, thinnest)
    take = page.locator("#check .in-hand form.try .take").first
    expect(take).to_have_text(re.compile(r"Take it: depth of .* instead of [45](\.5)? mm"))
    keep(page, "desk-pin-in-hand")
    take.click()
    expect(page.locator("#trial-what")).to_contain_text("written to the job file")
    expect(page.locator("#trial-told .gone").first).to_be_visible()
    expect(page.locator("#check h4", has_text=THIN)).to_have_count(0)
    assert path.read_text("utf-8") != DEEP
    page.click("#trial-undo")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert path.read_text("utf-8") == DEEP


def test_a_key_pressed_before_the_board_is_known_waits_for_it(page: Page) -> None:
    page.wait_for_function("() => bench.hand.index")
    page.evaluate(
        "() => { const { hand } = bench; hand.hold('today', true);"
        " [hand.known, hand.index] = [hand.index, null]; }"
    )
    page.locator("#live").focus()
    page.keyboard.press("n")
    assert page.evaluate("bench.hand.key") == "today"
    page.evaluate("bench.hand.learn(bench.hand.generation)")
    page.wait_for_function("bench.hand.key === 'inlay/front/plate'")
    hold(page, "today")


def test_a_fix_is_put_back_and_one_that_there_is_not_is_told(thin: tuple[Page, Path]) -> None:
    page, path = thin
    finding = look_for(page, THIN)
    finding.locator("form.try [type=submit]").first.click()
    expect(page.locator("#trial")).to_be_visible()
    page.click("#trial-back")
    expect(page.locator("#trial")).to_be_hidden()
    expect(page.locator("#job")).to_have_value(DEEP)
    assert path.read_text("utf-8") == DEEP
    again = page.locator("#check .finding", has=page.locator("h4", has_text=THIN)).first
    expect(again.locator("form.try").first).to_contain_text("now 5 mm")
    answer = re.compile("finding|ways|buy")
    flakes = look_for(page, NO_FIX)
    expect(flakes.locator(".said")).to_contain_text(answer)
    expect(flakes.locator("form.try")).to_have_count(0)


def test_an_answer_outlives_the_page_being_drawn_again(thin: tuple[Page, Path]) -> None:
    page, _ = thin
    flakes, answer = look_for(page, NO_FIX), re.compile("finding|ways|buy")
    expect(flakes.locator(".said")).to_contain_text(answer)
    page.evaluate("document.querySelector('#check .said').textContent = ''")
    page.evaluate("bench.take(bench.generation)")
    expect(flakes.locator(".said")).to_contain_text(answer)


def test_a_search_is_left_and_the_bench_that_is_gone_is_told(thin: tuple[Page, Path]) -> None:
    page, _ = thin
    page.route("**/asking/*/fix", lambda route: None)
    finding = look_for(page, THIN)
    expect(finding.locator(".said")).to_have_text("Looking …")
    expect(finding.locator(".look")).to_have_text("Stop looking")
    finding.locator(".look").press("Enter")
    expect(finding.locator(".said")).to_have_text("The search was left.")
    expect(finding.locator(".look")).to_have_text("Look for a fix")
    page.unroute("**/asking/*/fix")
    page.context.set_offline(True)
    look_for(page, THIN)
    expect(finding.locator(".said")).to_have_text("The bench does not answer.")
    expect(finding.locator(".look")).to_be_focused()
    page.context.set_offline(False)


def test_fixes_on_a_phone(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(DEEP, encoding="utf-8")
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, reduced_motion="reduce"
    )
    phone = context.new_page()
    phone.goto(Served(path).address)
    phone.wait_for_selector("html[data-picture=checked]")
    finding = look_for(phone, THIN)
    expect(finding.locator("form.try").first).to_be_visible()
    expect(finding.locator(".said")).to_contain_text("found")
    finding.locator(".fixes").evaluate("e => e.scrollIntoView({block: 'center'})")
    keep(phone, "phone-fixes")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    assert violations(phone) == []
    context.close()


def test_a_day_shut_before_the_wishes_are_known_is_shut(page: Page, bench: Served) -> None:
    """The days' own answer comes behind the check; who is quicker than it loses nothing."""
    held: list[Route] = []

    def keep_back(route: Route) -> None:
        held.append(route)

    page.route("**/doing/*/days", keep_back)
    page.goto(bench.address)
    page.wait_for_selector("html[data-picture=checked]")
    hold(page, "days")
    page.locator("#days .day-head").nth(1).click()
    expect(page.locator("#days-said")).to_have_text("In a moment …")
    until(page, lambda: bool(held))
    # what is held goes on with it
    page.unroute("**/doing/*/days")
    expect(page.locator("#days .day-head.off")).to_have_count(1)
    page.click("#as-planned")
    expect(page.locator("#days .day-head.off")).to_have_count(0)


def test_days_are_dragged_and_taken_into_a_calendar(page: Page) -> None:
    hold(page, "days")
    # beside the wood the days run down
    page.locator("#chart-frame").evaluate("e => e.scrollIntoView()")
    head = page.locator("#days .day-head").nth(2)
    head.click()
    expect(page.locator("#days .day-head.off")).to_have_count(1)
    page.locator("#chart-frame").evaluate("e => e.scrollIntoView()")
    box = page.locator("#days .day-head.off").bounding_box()
    beyond = page.locator("#days .day-head").nth(3).bounding_box()
    assert box is not None
    assert beyond is not None
    page.mouse.move(box["x"] + 8, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + 9, beyond["y"] + beyond["height"] / 2, steps=4)
    page.mouse.up()
    moved = page.locator("#days .day-head.off")
    expect(moved).to_have_attribute("data-day", "3")
    page.locator("#chart-frame").evaluate("e => e.scrollIntoView()")
    bar, to = page.locator("#days .step-bar").first, page.locator("#days .day-head").nth(4)
    begin, end = bar.bounding_box(), to.bounding_box()
    assert begin is not None
    assert end is not None
    page.mouse.move(begin["x"] + begin["width"] / 2, begin["y"] + begin["height"] / 2)
    page.mouse.down()
    page.mouse.move(begin["x"] + 2, end["y"] + end["height"] / 2, steps=5)
    page.mouse.up()
    expect(page.locator("#days .step-bar.held").first).to_be_visible()
    expect(page.locator("#days-said")).to_contain_text("as the job has it")
    keep(page, "desk-days-moved")
    page.locator("#begins").fill("2027-03-01")
    link = page.get_by_role("link", name="Take them into a calendar")
    expect(link).to_be_visible()
    with page.expect_download() as got:
        link.click()
    assert "BEGIN:VEVENT" in got.value.path().read_text("utf-8")
    page.click("#as-planned")
    expect(page.locator("#days .off")).to_have_count(0)


def test_a_phone_comes_in_by_the_code_alone(
    page: Page, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shop_net, "private_address", lambda: "127.0.0.1")
    hold(page, "beside")
    expect(page.locator("#net-off")).to_be_visible()
    assert not page.evaluate("fetch('/network').then((a) => a.json()).then((now) => now.on)")
    page.click("#net-on")
    expect(page.locator("#code svg")).to_be_visible()
    keep(page, "desk-code")
    link = page.locator("#net-link").inner_text()
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    phone = context.new_page()
    answer = phone.goto(link.split("?")[0])
    assert answer is not None
    assert answer.status == 401
    phone.goto(link)
    expect(phone.locator("h1:visible")).to_have_text("Surface the front")
    assert "key" not in phone.url
    expect(page.locator("#net-words")).to_contain_text("One phone has come in")
    page.click("#net-shut")
    expect(page.locator("#net-off")).to_be_visible()
    context.close()


def test_every_part_on_a_phone(browser: Browser, bench: Served) -> None:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, device_scale_factor=2
    )
    phone = context.new_page()
    phone.goto(bench.address)
    phone.wait_for_selector("html[data-picture=checked]")
    phone.wait_for_selector(".odds:not(.waiting)", state="attached")
    phone.locator("#live").tap()
    phone.locator("#turn").tap()
    phone.locator("#tilt").tap()
    hold(phone, "text")
    phone.locator("#small summary").tap()
    hold(phone, "setup/1")
    phone.locator("#cuts button.path").first.tap()
    expect(phone.locator("#remains")).to_contain_text("left")
    phone.locator("#away").tap()
    hold(phone, "pour/1")
    phone.locator("form.along [name=resin]").first.fill("11.4")
    expect(phone.locator("form.along output").first).to_contain_text("hardener")
    hold(phone, "days")
    phone.locator("#days .day-head").nth(1).tap()
    expect(phone.locator("#days .day-head.off")).to_have_count(1)
    phone.locator("#as-planned").tap()
    expect(phone.locator("#days .day-head.off")).to_have_count(0)
    sheets = ("today", "check", "odds", "text", "cuts", "pours", "days", "wood", "beside")
    for part in (*sheets, "inlay/front/plate", "stage/4", "setup/1", "pour/1"):
        hold(phone, part)
        if "/" in part:
            expect(phone.locator("#thing-title")).to_be_visible()
        keep(phone, f"phone-{part.replace('/', '-')}")
        wide = phone.evaluate("document.documentElement.scrollWidth")
        assert wide <= 390, f"{part} makes the page {wide} wide"
    phone.goto(f"{bench.address}shelf")
    keep(phone, "phone-shelf")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    context.close()


def test_each_bar_of_the_days_is_reached_with_keys(page: Page) -> None:
    """Steps and what cures between them: what lies under another is gone to with keys."""
    hold(page, "days")
    page.wait_for_function("() => bench.days.wishes")
    labels = page.evaluate("bench.days.bars.map((bar) => bar.getAttribute('aria-label'))")
    assert any("until it" in label for label in labels)
    page.evaluate("bench.days.bars[0].focus()")
    for label in labels[1:]:
        page.keyboard.press("ArrowDown")
        assert page.evaluate("document.activeElement.getAttribute('aria-label')") == label
    # what cures is moved by its step alone
    page.locator("#days .wait-bar").first.focus()
    expect(page.locator("#chart-buttons [data-act=later]")).to_be_disabled()
