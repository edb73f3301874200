"""Working from the real page: cuts, pours, days, the phone beside the machine, the shelf."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from flushwork.bench.desk.run_log import RunLog, log_path
from tests.bench.conftest import AT_REST, Served, begun_anew, hold, keep, until

CONTRAST = (Path(__file__).parent / "contrast.js").read_text("utf-8")
"""Text against its ground: 4.5 to 1, large text 3 to 1 (WCAG 2.2, success criterion 1.4.3)."""

NAMELESS = (Path(__file__).parent / "names.js").read_text("utf-8")


@pytest.fixture
def phone(browser: Browser, bench: Served) -> Iterator[Page]:
    begun_anew(bench)
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, device_scale_factor=2
    )
    page = context.new_page()
    page.goto(f"{bench.address}machine")
    yield page
    context.close()


def test_cuts_are_drawn_and_played(page: Page) -> None:
    hold(page, "cuts")
    keep(page, "desk-cuts")
    hold(page, "setup/1")
    page.locator("button.path").first.click()
    expect(page.locator("#player")).to_be_visible()
    expect(page.locator("#remains")).to_contain_text("0 min 00 s left")
    page.locator("#moment").fill("400")
    expect(page.locator("#remains")).not_to_contain_text("0 min 00 s left")
    page.wait_for_function(AT_REST)
    keep(page, "desk-path")
    expect(page.locator("#way-key")).to_contain_text("1 mm flat")
    keep(page, "desk-path-by-bit")
    page.select_option("#way-by", "depth")
    expect(page.locator("#way-key")).to_contain_text("mm deep")
    page.locator("button.path").nth(1).click()
    expect(page.locator("#remains")).to_contain_text("more in this setup")
    page.click("#play")
    expect(page.locator("#play")).to_have_text("Pause")
    page.click("#play")
    page.click("#away")
    expect(page.locator("#player")).to_be_hidden()
    expect(page.locator(".file-state").first).to_contain_text("in step")
    with page.expect_download() as got:
        page.locator("a.file").first.click()
    assert got.value.path().read_text().startswith(("(", ";", "%"))


def test_pours_follow_along(page: Page) -> None:
    hold(page, "pour/1")
    along = page.locator("form.along").first
    along.locator("[name=resin]").fill("11.4")
    along.locator("[name=before]").fill("11.4")
    expect(along.locator("output")).to_contain_text("until it shows 16.42 g")
    along.locator("[name=after]").fill("16.9")
    expect(along.locator("output")).to_contain_text("too much hardener. Add")
    other = page.locator("form.other").first
    other.locator("[name=pieces]").fill("1")
    expect(other.locator("output")).to_have_text("Card for 1 piece.")
    keep(page, "desk-pours")
    page.locator("button.pockets").first.click()
    expect(page.locator("#over path.pocket")).to_have_count(1)
    page.click("#turn")
    expect(page.locator("#over path.pocket.behind")).to_have_count(1)
    keep(page, "desk-pockets-behind")
    page.locator("button.pockets").first.click()
    expect(page.locator("#over path.pocket")).to_have_count(0)


def test_days_and_shelf(page: Page, bench: Served) -> None:
    hold(page, "days")
    expect(page.locator("#days .sheets article").first).to_contain_text("Day 1")
    assert page.locator("#days .chart rect.machine").count() > 0
    keep(page, "desk-days")
    page.goto(f"{bench.address}shelf")
    expect(page.get_by_role("rowheader", name="deep teal flake used in this job")).to_be_visible()
    keep(page, "desk-shelf")


def test_a_phone_beside_the_machine(phone: Page, bench: Served) -> None:
    expect(phone.locator("h1:visible")).to_have_text("Surface the front")
    keep(phone, "phone-machine")
    phone.get_by_label("1", exact=True).locator("visible=true").check()
    phone.locator("textarea:visible").fill("a note <script>alert(2)</script>")
    phone.click("#on")
    while not phone.locator(".start:visible").count():
        phone.click("#on")
    phone.locator(".start:visible").first.click()
    expect(phone.locator("#timers p")).to_have_count(1)
    keep(phone, "phone-clock")
    assert log_path(bench.path).exists()
    phone.reload()
    expect(phone.locator("#timers p")).to_have_count(1)
    phone.goto(f"{bench.address}machine#1")
    phone.reload()
    expect(phone.locator("h1:visible")).to_have_text("Surface the front")
    expect(phone.locator("textarea:visible")).to_have_value("a note <script>alert(2)</script>")
    expect(phone.locator('.screen:visible [data-piece="1"]')).to_be_checked()
    expect(phone.locator('.screen:visible [data-piece="2"]')).not_to_be_checked()
    wide = phone.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390
    while not phone.locator("[data-no-return]:visible").count():
        phone.click("#on")
    with phone.expect_response("**/log/no-return"):
        phone.locator("[data-no-return]:visible").first.check()
    expect(phone.locator("#said")).to_be_empty()
    phone.reload()
    expect(phone.locator("[data-no-return]:visible").first).to_be_checked()
    expect(phone.locator("[data-no-return]:visible").nth(1)).not_to_be_checked()
    assert len(RunLog(bench.path).read()["no_returns"]) == 1
    keep(phone, "phone-no-return-passed")
    phone.locator("#timers button").first.click()
    expect(phone.locator("#timers p")).to_have_count(0)


def test_a_phone_goes_straight_to_any_step(phone: Page) -> None:
    steps = phone.get_by_label("Go to a step").locator("option")
    last = steps.count() - 1
    for box in phone.locator(".screen:visible [data-piece]").all():
        box.check()
        expect(phone.locator("#said")).to_be_empty()
    expect(steps.nth(0)).to_have_text("✓ 1. Surface the front")
    phone.get_by_label("Go to a step").select_option(str(last))
    expect(phone.locator(".screen:visible")).to_have_attribute("data-number", str(last + 1))
    expect(phone.locator("#on")).to_be_disabled()
    phone.click("#back")
    expect(phone.get_by_label("Go to a step")).to_have_value(str(last - 1))
    expect(steps.nth(last)).not_to_contain_text("✓")
    keep(phone, "phone-any-step")


def test_a_tick_on_its_way_stays_ticked(phone: Page) -> None:
    """The answer to one tick comes while the next is still to be sent: it is not taken back."""
    held: list[Route] = []

    def keep_back(route: Route) -> None:
        held.append(route)

    phone.route("**/log/tick", keep_back)
    boxes = phone.locator(".screen:visible [data-piece]")
    expect(boxes).to_have_count(2)
    for done in (True, False):
        for box in boxes.all():
            box.set_checked(done)
        for left in (1, 0):
            until(phone, lambda: len(held) == 1)
            assert boxes.nth(1).is_checked() == done
            with phone.expect_response("**/log/tick"):
                held.pop().continue_()
            if left:
                until(phone, lambda: len(held) == 1)
        expect(boxes.nth(1)).to_be_checked(checked=done)


@pytest.mark.parametrize("where", ["", "machine", "shelf"])
def test_everything_has_a_name_and_can_be_read(page: Page, bench: Served, where: str) -> None:
    if where:
        page.goto(f"{bench.address}{where}")
    sheets = ("today", "check", "odds", "text", "setup/1", "pour/1", "days", "beside")
    for sheet in ("",) if where else (*sheets, "inlay/front/plate", "stage/4"):
        if sheet:
            hold(page, sheet)
        if "/" in sheet:
            expect(page.locator("#thing-title")).to_be_visible()
        for shade in ("light", "dark"):
            page.evaluate("s => { document.documentElement.dataset.shade = s; }", shade)
            assert page.evaluate(CONTRAST) == [], (sheet, shade)
        assert page.evaluate(NAMELESS) == [], sheet


def test_a_step_asks_for_nothing_by_hue_alone(page: Page) -> None:
    """Each mark also differs in shape or words: pins by outline, states by a sign and words."""
    page.emulate_media(media="print")
    assert page.locator("#strip").is_hidden()
    folded = page.locator(".no-return-at details")
    expect(folded.first).to_be_attached()  # the points of no return come behind the check
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    printed = page.locator("#printed")
    expect(printed).to_be_visible()
    wide = printed.evaluate("e => e.decode().then(() => e.naturalWidth)")
    assert wide > 400, "the board is printed as it stands on the screen"
    expect(page.locator("button.path").first).to_be_hidden()
    expect(page.locator("form.other").first).to_be_hidden()
    expect(folded.first).to_have_attribute("open", "")
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    expect(folded.first).not_to_have_attribute("open", "")
    page.emulate_media(media="screen")
    state = page.locator(".file-state").first
    expect(state).to_have_text(re.compile("^[✓⚠] "))
