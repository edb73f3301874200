"""Everybody can use the page: an automated checker finds nothing; keys alone go all the way."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.bench.conftest import JOB, Served, keep

SIZES = {"desktop": (1280, 800, False), "phone": (390, 844, True)}


def violations(page: Page) -> list[str]:
    """Return what the checker finds against a page, each with its rule and its place."""
    found: list[dict[str, Any]] = Axe().run(page).response["violations"]
    return [
        f"{each['id']} ({each['impact']}): {node['html'][:140]} {node['failureSummary'][:300]}"
        for each in found
        for node in each["nodes"]
    ]


def open_all(page: Page) -> None:
    """Unfold what is folded away or shown at times only, so that it is looked at as well."""
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    page.evaluate(
        "document.querySelectorAll('[hidden]').forEach((each) => { each.hidden = false; })"
    )
    page.evaluate(
        "document.querySelectorAll('.away').forEach((each) => { each.classList.remove('away'); })"
    )


@pytest.fixture(params=[(size, shade) for size in SIZES for shade in ("light", "dark")])
def seen(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    size, shade = request.param
    width, height, phone = SIZES[size]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        has_touch=phone,
        color_scheme=shade,
        reduced_motion="reduce",
    )
    page = context.new_page()
    yield page
    context.close()


def test_the_checker_finds_nothing(seen: Page, bench: Served) -> None:
    seen.goto(bench.address)
    seen.wait_for_selector("html[data-picture=checked]")
    seen.wait_for_selector(".odds:not(.waiting)", state="attached")
    open_all(seen)
    # what is unfolded asks for what it shows
    for asked in ("#small-fields fieldset", "#steps li", "#known-keys option"):
        expect(seen.locator(asked).first).to_be_attached()
    assert violations(seen) == []
    for at in ("machine", "shelf"):
        seen.goto(f"{bench.address}{at}")
        open_all(seen)
        assert violations(seen) == [], at


def test_the_checker_would_find_something(seen: Page, bench: Served) -> None:
    seen.goto(f"{bench.address}shelf")
    seen.evaluate("document.body.append(document.createElement('button'))")
    assert any(each.startswith("button-name") for each in violations(seen))


def tab_to(page: Page, selector: str) -> None:
    """Go on with Tab until something is in focus, and see that it shows."""
    for _ in range(160):
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            shows = page.evaluate(
                "(() => { const e = document.activeElement, s = getComputedStyle(e);"
                " const r = e.querySelector?.('rect');"
                " return s.outlineStyle !== 'none' || e.tagName === 'TEXTAREA' ||"
                " (r && getComputedStyle(r).strokeWidth !== '0px'); })()"
            )
            assert shows, f"the focus on {selector} cannot be seen"
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached")


def taken(page: Page, sheet: str) -> None:
    """Take a sheet in hand with keys alone."""
    tab_to(page, f".contents [data-sheet={sheet}]")
    page.keyboard.press("Enter")
    expect(page.locator(f"#{sheet}")).to_be_visible()


def test_seeing_and_asking_with_keys_alone(page: Page) -> None:
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#board", "the first key skips to the board"
    tab_to(page, "#live")
    page.keyboard.press(",")
    expect(page.locator("#stage-title")).to_contain_text("Sand the bare back")
    page.keyboard.press(",")
    expect(page.locator("#stage-title")).to_contain_text("Trim")
    page.keyboard.press("s")
    expect(page.locator("#cut")).to_have_attribute("aria-label", re.compile("^Section"))
    tab_to(page, "#cut")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#column")).to_contain_text("from A")
    taken(page, "odds")
    page.wait_for_selector(".odds:not(.waiting)")
    tab_to(page, "#heat")
    page.keyboard.press("Enter")
    expect(page.locator("#legend")).to_be_visible()
    tab_to(page, "#variations input")
    page.keyboard.press("ArrowRight")
    # thousands of pieces are drawn by lot: a busy machine takes its time
    expect(page.locator("#steadier")).to_contain_text("of 1000")


def test_changing_and_undoing_with_keys_alone(page: Page, bench: Served) -> None:
    taken(page, "text")
    tab_to(page, "#small summary")
    page.keyboard.press("Enter")
    expect(page.locator("#small-fields input[name=depth]").first).to_be_visible()
    tab_to(page, "#small-fields input[name=depth]")
    page.keyboard.press("Control+a")
    page.keyboard.type("1.5 mm")
    page.keyboard.press("Tab")
    expect(page.locator("#job")).to_have_value(JOB.replace("depth: 2 mm", "depth: 1.5 mm"))
    tab_to(page, "#save")
    page.keyboard.press("Enter")
    expect(page.locator("#text-state")).to_have_text("Saved.")
    tab_to(page, "#undo")
    page.keyboard.press("Enter")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert bench.path.read_text("utf-8") == JOB


def test_working_with_keys_alone(page: Page, bench: Served) -> None:
    taken(page, "cuts")
    tab_to(page, "#cuts h3 a")
    page.keyboard.press("Enter")
    tab_to(page, "#cuts .in-hand .check input")
    page.keyboard.press("Space")
    taken(page, "days")
    # until the wishes of before are known the chart may be drawn again, and no key is meant for it
    page.wait_for_function("() => bench.days.wishes")
    tab_to(page, "#days .step-bar")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#days-said")).to_contain_text("So it is done")
    keep(page, "desk-keys-days")
    page.keyboard.press("Delete")
    expect(page.locator("#days-said")).to_contain_text("As the job has it")
    taken(page, "beside")
    tab_to(page, "#beside a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/machine*")
    expect(page.locator(".screen:visible")).to_have_count(1)
    tab_to(page, ".screen [data-piece]")
    page.keyboard.press("Space")
    expect(page.locator(".screen:visible [data-piece='1']")).to_be_checked()
    page.keyboard.press("Space")
    expect(page.locator(".screen:visible [data-piece='1']")).not_to_be_checked()
