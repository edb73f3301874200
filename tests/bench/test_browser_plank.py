"""Several pieces from one plank on the real page: laid at once, named, and kept off its defects."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

import flushwork
from tests.bench.conftest import Served, hold, keep, until
from tests.bench.test_access import tab_to, violations

PLANK: Final = """\
# two signs, for now
flushwork: 2
title: Signs
blank: {wood: sugar maple, length: 260 mm, width: 130 mm, thickness: 12 mm}
trim line: {rectangle: 110 mm x 50 mm, round: 6 mm}
cell: 0.4 mm
from one plank: {pieces: 2, gap: 5 mm}
mixes:
  teal: {resin: coating epoxy, pigments: [teal flake]}
front:
  inlays:
    - {name: star, polygon: {sides: 5, diameter: 12 mm, inner: 6 mm}, at: [-45 mm, 0 mm],
       depth: 2 mm, fill: teal}
"""


@pytest.fixture(scope="module")
def signs(tmp_path_factory: pytest.TempPathFactory) -> Served:
    path = tmp_path_factory.mktemp("signs") / "job.yaml"
    path.write_text(PLANK, "utf-8")
    return Served(path)


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    opened = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    yield opened
    opened.close()


@pytest.fixture
def page(context: BrowserContext, signs: Served) -> Page:
    """Open the plank's sheet; nothing of it is ever saved."""
    page = context.new_page()
    page.goto(signs.address)
    page.wait_for_selector("html[data-picture=checked]")
    hold(page, "plank")
    pieces(page, 2)
    return page


def pieces(page: Page, count: int) -> None:
    expect(page.locator("#plank-board .piece")).to_have_count(count)


def text_of(page: Page) -> str:
    return page.locator("#job").input_value()


def on_wood(page: Page, x: float, y: float) -> tuple[float, float]:
    """Return where a place of the plank is on the screen; y counts from its near edge."""
    a, e, f = page.evaluate(
        "(() => { const m = document.getElementById('plank-board').getScreenCTM();"
        " return [m.a, m.e, m.f]; })()"
    )
    return e + a * x, f + a * (130.0 - y)


def drag(page: Page, begin: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*on_wood(page, *begin))
    page.mouse.down()
    page.mouse.move(*on_wood(page, *end), steps=4)
    page.mouse.up()


def test_defects_are_drawn_moved_and_taken_away(page: Page) -> None:
    drag(page, (240.0, 100.0), (258.0, 128.0))
    until(page, lambda: "defects:" in text_of(page))
    expect(page.locator("#plank-board .defect")).to_have_count(1)
    expect(page.locator("#defects li")).to_have_count(1)
    pieces(page, 2)
    keep(page, "plank-defect")
    assert violations(page) == []
    was = text_of(page)
    drag(page, (250.0, 110.0), (240.0, 105.0))
    until(page, lambda: text_of(page) != was)
    moved = text_of(page)
    page.locator("#plank-board .defect").focus()
    page.keyboard.press("ArrowRight")
    until(page, lambda: text_of(page) != moved)
    expect(page.locator("#plank-board .defect")).to_be_focused()
    page.keyboard.press("Delete")
    until(page, lambda: "defects:" not in text_of(page))
    expect(page.locator("#plank-board .defect")).to_have_count(0)
    assert text_of(page) == PLANK
    page.locator("#plank [data-take-back]").click()
    until(page, lambda: "defects:" in text_of(page))
    expect(page.locator("#plank-board .defect")).to_have_count(1)


def test_names_and_a_knot_with_keys_alone(page: Page) -> None:
    tab_to(page, "#plank-form [name=many]")
    page.keyboard.press("o")
    page.keyboard.press("End")
    expect(page.locator("#plank-form [name=names]")).to_be_focused()
    page.keyboard.type("ANNA\nBEN, the second\nO'Brien")
    # shown before it is put in
    pieces(page, 3)
    assert text_of(page) == PLANK
    page.keyboard.press("Tab")
    until(page, lambda: "names: [ANNA, " in text_of(page))
    expect(page.locator("#plank-board text")).to_have_text(
        ["1 ANNA", "2 BEN, the second", "3 O'Brien"]
    )
    assert """names: [ANNA, "BEN, the second", "O'Brien"]""" in text_of(page)
    for name, words in (("right", "2 mm"), ("up", "2 mm"), ("across", "9 mm")):
        tab_to(page, f"#defect-form [name={name}]")
        page.keyboard.type(words)
    page.keyboard.press("Enter")
    until(page, lambda: "defects: [{circle: 9 mm, at: [2 mm, 2 mm]," in text_of(page))
    expect(page.locator("#defects li span")).to_have_text(
        ["2 mm from the left end, 2 mm from the near edge, 9 mm by 9 mm"]
    )
    keep(page, "plank-names")
    job = flushwork.load(Path("job.yaml"), text_of(page))
    assert job.plank is not None
    assert job.plank.names == ("ANNA", "BEN, the second", "O'Brien")
    assert text_of(page).startswith("# two signs, for now\n")


def test_what_finds_no_room_is_said_and_nothing_is_changed(page: Page) -> None:
    page.locator("#plank-form [name=pieces]").fill("9")
    page.locator("#plank-form [name=pieces]").press("Enter")
    said = page.locator("#plank-said")
    expect(said).to_contain_text("4 find room")
    expect(said).to_have_class("new-said amiss")
    assert text_of(page) == PLANK


def test_a_job_is_begun_on_a_plank(context: BrowserContext, tmp_path: Path) -> None:
    page = context.new_page()
    page.goto(Served(tmp_path / "coasters" / "job.yaml").address)
    until(page, lambda: page.locator("#begin-form [name=wood] option").count() > 5)
    page.locator("#begin-form [name=from]").select_option("plank")
    expect(page.locator("#begin-form [name=trim]")).to_have_value("circle")
    page.locator("#begin-form [name=pieces]").fill("12")
    expect(page.locator("#begin-board .piece")).to_have_count(12)
    page.locator("#begin-form [type=submit]").click()
    pieces(page, 12)
    expect(page.locator("#plank-said")).to_contain_text("The plank is on the bench")
    job = flushwork.load(tmp_path / "coasters" / "job.yaml")
    assert job.plank is not None
    assert (job.pieces, job.plank.pieces, job.blank.length_mm) == (1, 12, 420.0)
