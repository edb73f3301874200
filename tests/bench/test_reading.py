"""The page as it is read: nothing overlaps, is cut off or drawn askew, on screen and paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.film.section_data import section_data
from tests.bench.conftest import Served, hold, keep, until
from tests.bench.test_access import violations
from tests.small_jobs import made as made_of

LONG = """\
flushwork: 2
title: A long rail
pieces: 2
begin: 2027-03-01
blank: {wood: sugar maple, length: 420 mm, width: 60 mm, thickness: 12 mm}
cell: 0.1 mm
trim line: {rectangle: 400 mm x 44 mm}
mixes: {teal: {resin: coating epoxy, pigments: [{name: deep teal flake, share: 3 %}]}}
front:
  inlays:
    - name: anunbrokennameoffortyletterswithoutablank
      rectangle: 30 mm x 20 mm
      depth: 2 mm
      fill: teal
    - {name: deep, circle: 20 mm, at: [120 mm, 0 mm], depth: 6.4 mm, fill: teal}
"""
"""Far longer than wide, with a stop about a whole inlay, and with a name that cannot be broken."""


@pytest.fixture(scope="module")
def rail(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    path = tmp_path_factory.mktemp("rail") / "rail.yaml"
    path.write_text(LONG, encoding="utf-8")
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    opened = context.new_page()
    opened.goto(Served(path).address)
    opened.wait_for_selector("html[data-picture=checked]")
    yield opened
    context.close()


def test_a_wall_is_no_broader_than_its_cells_on_a_long_line(tmp_path: Path) -> None:
    made = made_of(tmp_path, LONG)
    cut = next(stage.number for stage in made.plan.stages if "deep" in stage.subjects)
    data = section_data(made, cut, "front", (15.0, 30.0), (405.0, 30.0))
    at, wood = np.array(data["positions"]), np.array(data["near"][0]["top"])
    high, low = wood.max(), wood.min()
    assert high - low > 6.0
    # both ends of each wall are told
    walls = [float(at[i + 1] - at[i]) for i in np.flatnonzero(np.abs(np.diff(wood)) > 1.0)]
    assert walls
    assert max(walls) <= 0.2 + 1e-9


def test_few_columns_tell_of_what_runs_straight(tmp_path: Path) -> None:
    made = made_of(tmp_path, LONG)
    data = section_data(made, 0, "front", (15.0, 30.0), (405.0, 30.0))
    assert len(data["positions"]) < 500
    assert data["positions"][0] == 0.0
    assert data["positions"][-1] == pytest.approx(390.0)


def test_the_least_wood_is_that_of_the_piece(snapshot: Snapshot) -> None:
    """Neither the slot of the trim line nor the wall of a hole right through counts."""
    last = snapshot.made.replay.final.stage
    wood_between = section_data(snapshot.made, last, "front", (1.0, 35.0), (89.0, 35.0))[
        "least_wood_between_mm"
    ]
    assert wood_between["mm"] == pytest.approx(12.0 - 2.0 * 0.7 - 2.0, abs=0.35)
    assert 28.9 < wood_between["at"] < 60.0


def test_every_stage_of_the_strip_keeps_its_words_to_itself(rail: Page) -> None:
    wide = rail.evaluate(
        "[...document.querySelectorAll('#reel .shot')].filter(shot => {"
        " const word = shot.querySelector('b').getBoundingClientRect();"
        " const own = shot.getBoundingClientRect();"
        " return word.left < own.left - 1 || word.right > own.right + 1; }).map(shot => shot.title)"
    )
    assert wide == []


def test_the_board_is_in_sight_at_once_and_every_part_one_press_away(rail: Page) -> None:
    rail.evaluate("scrollTo(0, 0)")
    box = rail.locator("#live").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < 800.0, "the whole board is in sight"
    keep(rail, "reading-first")
    for words, part in (("Days", "days"), ("Check", "check"), ("Pours", "pours")):
        rail.get_by_role("link", name=words, exact=True).click()
        expect(rail.locator(f"#{part}-title")).to_be_in_viewport()
        expect(rail.locator("#live")).to_be_in_viewport(ratio=1.0)
    rail.get_by_role("link", name="What must be fixed, and how").click()
    expect(rail.locator("#check-title")).to_be_in_viewport()


def test_pictures_of_findings_are_there_unasked_and_not_drawn_askew(rail: Page) -> None:
    """Paper waits for no picture, so they come by themselves; a long board stays a long board."""
    rail.evaluate("scrollTo(0, 0)")

    def images() -> list[tuple[bool, str, str]]:
        found: list[tuple[bool, str, str]] = rail.evaluate(
            "[...document.querySelectorAll('#check img')].map(e => [e.complete && "
            "e.naturalWidth > 0, e.className, getComputedStyle(e).objectFit])"
        )
        return found

    until(rail, lambda: bool(images()) and all(there for there, _, _ in images()))
    assert {fit for _, name, fit in images() if name == "about"} == {"contain"}


def test_the_section_lies_under_the_board_while_a_line_is_dragged(rail: Page) -> None:
    rail.click('[data-mode="section"]')
    expect(rail.locator("#cut")).to_have_attribute("aria-label", re.compile("^Section"))

    def in_sight() -> bool:
        # while it is drawn the picture only grows; what it does not need it gives back then
        cut, frame = rail.locator("#cut").bounding_box(), rail.locator("#live").bounding_box()
        return bool(cut and frame and frame["y"] > 0.0 and cut["y"] + cut["height"] < 800.0)

    until(rail, in_sight)
    keep(rail, "reading-saw")
    rail.click('[data-mode="move"]')


def test_on_paper_a_dark_page_is_light(rail: Page) -> None:
    rail.evaluate("document.documentElement.dataset.shade = 'dark'")
    rail.emulate_media(media="print")
    soft = "getComputedStyle(document.documentElement).getPropertyValue('--soft').trim()"
    assert rail.evaluate(soft) == "#5a534b"
    assert not rail.locator(".top").is_visible()
    rail.emulate_media(media="screen")
    assert rail.evaluate(soft) == "#b0a698"
    rail.evaluate("document.documentElement.dataset.shade = ''")


def test_a_text_with_a_slip_is_told_wherever_the_page_is_scrolled_to(rail: Page) -> None:
    good = rail.input_value("#job")
    hold(rail, "text")
    rail.locator("#small > summary").click()
    expect(rail.locator("#small-fields fieldset").first).to_be_visible()
    rail.fill("#job", good.replace("pieces: 2", "pieces: [2"))
    expect(rail.locator("#work")).to_contain_text("cannot be read as it is (line")
    expect(rail.locator("#small-said")).to_contain_text("once the text can be read")
    rail.fill("#job", good)
    expect(rail.locator("#work")).to_be_hidden()
    expect(rail.locator("#small-said")).not_to_contain_text("once the text")
    rail.locator("#small > summary").click()


def a_fix(rail: Page) -> Locator:
    """Look for a fix of one finding after the other; return the button that tries the first."""
    hold(rail, "check")
    boxes = rail.locator("#check .fixes")
    for number in range(12):
        # what is being checked anew is drawn anew, and is asked once more
        expect(rail.locator("#work")).to_be_hidden()
        expect(boxes).not_to_have_count(0)
        box = boxes.nth(number % boxes.count())
        box.locator(".look").click()
        expect(box.locator(".look")).to_have_text("Look for a fix")
        if box.locator("form.try").count():
            return box.locator("form.try [type=submit]").first
        rail.wait_for_timeout(300)
    raise AssertionError("no finding of this job has a fix")


def test_the_checker_finds_nothing_where_something_is_tried_or_wrong(rail: Page) -> None:
    """A remedy being tried, a text with a slip, a bench that is gone: each by light and dark."""
    good = rail.input_value("#job")

    def looked_at(what: str) -> None:
        for shade in ("light", "dark"):
            rail.evaluate("s => { document.documentElement.dataset.shade = s; }", shade)
            assert violations(rail) == [], (what, shade)

    a_fix(rail).click()
    expect(rail.locator("#trial-told")).to_contain_text("before")
    looked_at("a remedy being tried")
    rail.click("#trial-back")
    expect(rail.locator("#work")).to_be_hidden()
    there = a_fix(rail)
    looked_at("fixes that were found")
    hold(rail, "text")
    rail.fill("#job", good.replace("2 mm", "2", 1))
    expect(rail.locator("#slips li")).to_contain_text("unit")
    expect(rail.locator("#work")).to_contain_text("cannot be read")
    looked_at("a slip")
    rail.context.set_offline(True)
    expect(rail.locator("#work")).to_contain_text("has been closed")
    hold(rail, "check")
    there.click()
    expect(rail.locator("#trial-told")).to_have_text(
        "Nothing was tried, and the job file is as it was."
    )
    keep(rail, "reading-gone")
    over = rail.evaluate(
        "(() => { const a = document.getElementById('work').getBoundingClientRect();"
        " const b = document.getElementById('trial').getBoundingClientRect();"
        " return a.bottom > b.top && a.top < b.bottom && a.right > b.left && a.left < b.right; })()"
    )
    assert not over, "what is told of the bench lies over what is tried"
    looked_at("a bench that is gone")
    rail.click("#trial-done")
    rail.context.set_offline(False)
    hold(rail, "text")
    rail.fill("#job", good)
    expect(rail.locator("#work")).to_be_hidden()
    rail.evaluate("document.documentElement.dataset.shade = ''")
