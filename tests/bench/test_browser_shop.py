"""The shop's page in a browser: cards, search, all acts with keys alone, a bench and back."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from flushwork.bench.shop.serve_shop import serve_shop
from flushwork.usecases.jobs import starter_job_text, starter_shop_text
from flushwork.usecases.shop_jobs import ATTIC, shop_jobs
from tests.bench.conftest import PATIENCE_MS, keep, noon
from tests.bench.test_access import tab_to, violations

SEEN = [(1280, False, "light"), (820, True, "dark"), (390, True, "light"), (1280, False, "dark")]


class ServedShop:
    """A shop served on loopback for the browser."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.address = ""
        up = threading.Event()

        def ready(address: str) -> None:
            self.address = address
            up.set()

        threading.Thread(target=serve_shop, args=(folder, 0, ready, noon), daemon=True).start()
        assert up.wait(PATIENCE_MS / 1000.0)


@pytest.fixture
def shop(tmp_path: Path) -> ServedShop:
    (tmp_path / "shop.yaml").write_text(starter_shop_text(), "utf-8")
    (tmp_path / "tray.yaml").write_text(starter_job_text("Tray with a leaf"), "utf-8")
    (tmp_path / "sign.yaml").write_text(starter_job_text("Sign <i>of</i> a house"), "utf-8")
    (tmp_path / "broken.yaml").write_text("flushwork: 2\ntitle: Broken\nblank: [\n", "utf-8")
    return ServedShop(tmp_path)


@pytest.fixture
def desk_page(browser: Browser, shop: ServedShop) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    page = context.new_page()
    amiss: list[str] = []
    page.on("pageerror", lambda error: amiss.append(str(error)))
    page.goto(shop.address)
    page.wait_for_selector("html[data-read]")
    yield page
    context.close()
    assert not amiss


def press(page: Page, card: str, act: str) -> None:
    """Press a button of a card by its keys, then wait until that is done."""
    selector = f'.ticket:has(h2:text-is("{card}")) .acts [data-act={act}]'
    page.locator(selector).focus()
    page.keyboard.press("Enter")


def test_the_jobs_are_found_renamed_copied_and_put_away_by_keys(
    desk_page: Page, shop: ServedShop
) -> None:
    page = desk_page
    expect(page.locator(".ticket")).to_have_count(3)
    expect(page.locator('.ticket:has(h2:text-is("Broken")) .state')).to_contain_text(
        "Cannot be read"
    )
    expect(page.locator("h2 i")).to_have_count(0)
    tab_to(page, "#find")
    page.keyboard.type("LEAF")
    expect(page.locator(".ticket:visible")).to_have_count(1)
    expect(page.locator("#found")).to_have_text("1 of 3 jobs")
    page.keyboard.press("Control+a")
    page.keyboard.press("Delete")
    press(page, "Tray with a leaf", "rename")
    expect(page.locator("#title")).to_be_focused()
    page.keyboard.type("A tray")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("It is called A tray now.")
    tab_to(page, "#said button")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("Tray with a leaf again")
    press(page, "Tray with a leaf", "copy")
    expect(page.locator(".ticket")).to_have_count(4)
    press(page, "Tray with a leaf (copy)", "attic")
    expect(page.locator(".ticket")).to_have_count(3)
    assert [each.name for each in (shop.folder / ATTIC).iterdir()] == ["tray copy.yaml"]
    page.locator("#attic summary").focus()
    page.keyboard.press("Enter")
    page.locator("#attic [data-act=back]").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".ticket")).to_have_count(4)
    press(page, "Broken", "rename")
    expect(page.locator("#title")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#renaming")).not_to_be_visible()
    titles = {job.title for job in shop_jobs(shop.folder).jobs}
    tray = "Tray with a leaf"
    assert titles == {"Broken", "Sign <i>of</i> a house", tray, f"{tray} (copy)"}


def test_a_job_is_started_put_on_its_bench_and_come_back_from(
    desk_page: Page, shop: ServedShop
) -> None:
    page = desk_page
    tab_to(page, "#anew")
    page.keyboard.press("Enter")
    expect(page.locator("#new-title")).to_be_focused()
    expect(page.locator("#new-length")).to_have_value("130 mm")
    page.keyboard.type("Lid of a box")
    tab_to(page, "#new-length")
    page.keyboard.type("2 mm")
    page.keyboard.press("Enter")
    expect(page.locator("#start-said")).to_contain_text("The length of a first board is")
    page.keyboard.press("Control+a")
    page.keyboard.type("150 mm")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=All jobs")
    expect(page).to_have_title("job.yaml on the bench")
    page.get_by_text("All jobs").click()
    page.wait_for_selector("html[data-read]")
    card = page.locator('.ticket:has(h2:text-is("Lid of a box"))')
    expect(card).to_have_count(1)
    press(page, "Lid of a box", "close")
    expect(page.locator("#said")).to_contain_text("is closed")
    expect(page.locator("[data-act=close]")).to_have_count(0)


@pytest.mark.parametrize(("width", "touch", "shade"), SEEN)
def test_the_checker_finds_nothing_on_the_shops_page(
    browser: Browser, shop: ServedShop, width: int, touch: bool, shade: Literal["light", "dark"]
) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": 900}, has_touch=touch, color_scheme=shade
    )
    page = context.new_page()
    page.goto(shop.address)
    page.wait_for_selector("html[data-read]")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert violations(page) == []
    least = 44 if touch else 24
    small = page.evaluate(
        "least => [...document.querySelectorAll('button, input, select, summary')]"
        ".filter((each) => each.offsetParent && each.getBoundingClientRect().height < least)"
        ".map((each) => each.outerHTML)",
        least,
    )
    assert small == []
    page.click("#anew")
    page.wait_for_selector("#start[open]")
    expect(page.locator("#new-length")).not_to_have_value("")
    assert violations(page) == []
    keep(page, f"shop-{width}-{shade}")
    context.close()


def to_part(page: Page, part: str) -> None:
    """Go to a part of the shop's file, and wait until what is typed there is heard."""
    page.locator("nav.parts a", has_text=part).press("Enter")
    page.wait_for_selector(f"html[data-ready] nav.parts a[aria-current=page]:text-is('{part}')")


def test_the_shops_file_is_filled_in_and_undone_by_keys(desk_page: Page, shop: ServedShop) -> None:
    page, path = desk_page, shop.folder / "shop.yaml"
    before = path.read_text("utf-8")
    tab_to(page, "a[href='/shop']")
    page.keyboard.press("Enter")
    to_part(page, "Machine")
    feed = page.locator("#machine-feed")
    expect(feed).to_have_value("3000 mm/min")
    feed.fill("fast")
    feed.press("Enter")
    expect(page.locator(".key:has(#machine-feed) .refused")).to_contain_text("not a feed")
    feed.fill("2000 mm/min")
    feed.press("Enter")
    expect(page.locator("#said")).to_have_text("Feed: 2000 mm/min.")
    assert path.read_text("utf-8") == before.replace("3000 mm/min", "2000 mm/min")
    page.locator("[data-way=undo]").press("Enter")
    expect(page.locator("#said")).to_have_text("Undone.")
    assert path.read_text("utf-8") == before
    to_part(page, "Bits")
    expect(page.locator(".things li")).to_have_count(7)
    page.locator("#add-spare").press("Enter")
    expect(page.locator(".things li")).to_have_count(8)
    page.locator(".things li:has-text('6.35 mm flat') [data-out]").press("Enter")
    expect(page.locator(".things li")).to_have_count(7)
    page.locator(".things summary", has_text="1 mm flat").first.press("Enter")
    measured = page.locator("#bits-1_mm_flat-diameter")
    measured.fill("0.98 mm")
    measured.press("Enter")
    expect(page.locator("#said")).to_have_text("Diameter of 1 mm flat: 0.98 mm.")
    expect(measured).to_be_visible()
    assert "  - {name: 1 mm flat, diameter: 0.98 mm}\n" in path.read_text("utf-8")


def test_the_first_minute_leads_to_the_first_job(browser: Browser, tmp_path: Path) -> None:
    served = ServedShop(tmp_path)
    page = browser.new_page()
    page.goto(served.address)
    page.wait_for_selector("html[data-ready]")
    expect(page.locator("h1")).to_have_text("Your shop, in a minute")
    assert violations(page) == []
    page.get_by_label("inches").press("Space")
    expect(page.locator("#travel-right")).to_have_value("24 in")
    page.locator("#travel-right").fill("wide")
    page.locator("#write").press("Enter")
    expect(page.locator("#said")).to_contain_text("wide")
    page.locator("#travel-right").fill("18 in")
    page.locator("#write").press("Enter")
    expect(page.locator("#start")).to_be_visible()
    expect(page.locator("#new-length")).to_have_value("5 in")
    assert "travel: [18 in, 16 in, 3.5 in]" in (tmp_path / "shop.yaml").read_text("utf-8")
    page.close()


@pytest.mark.parametrize(("width", "touch", "shade"), SEEN)
def test_the_checker_finds_nothing_on_the_page_of_the_shops_file(
    browser: Browser, shop: ServedShop, width: int, touch: bool, shade: Literal["light", "dark"]
) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": 900}, has_touch=touch, color_scheme=shade
    )
    page = context.new_page()
    for part in ("machine", "bits"):
        page.goto(f"{shop.address}shop?part={part}")
        page.evaluate("document.querySelectorAll('details').forEach((each) => each.open = true)")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert violations(page) == [], part
    context.close()
