"""A job made on the real page from an empty folder, by hand and by keys alone, until it is cut."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

import flushwork
from tests.bench.conftest import Served, keep, until
from tests.bench.test_access import tab_to
from tests.bench.test_making import LEAF

MOST_ACTS: Final = 30
"""What it may take at most to come to all files written: clicks, drops, typed fields."""
BY_HAND: Final = """\
flushwork: 2
title: Leaf coasters
pieces: 6
blank: {wood: sugar maple, length: 125 mm, width: 125 mm, thickness: 10 mm}
trim line: {circle: 100 mm}
mixes:
  teal: {resin: coating epoxy, pigments: [teal flake]}
  red: {resin: coating epoxy, pigments: [red powder]}
front:
  inlays:
    - {name: leaf teal, svg: leaf.svg, colours: "#0b6a72", width: 60 mm, depth: 2 mm, fill: teal}
    - {name: leaf red, svg: leaf.svg, colours: "#c02030", width: 60 mm, depth: 2 mm, fill: red}
    - {name: ANNA, text: ANNA, font: sans bold, size: 11 mm, depth: 2 mm, fill: NAMED, at: PLACED}
"""
"""What the page comes to, written by hand; the name's place is that of the page."""


class Acts:
    """What a person does on a page, counted."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, 0

    def click(self, selector: str) -> None:
        self.count += 1
        self.page.locator(selector).click()

    def type(self, selector: str, words: str) -> None:
        self.count += 1
        self.page.locator(selector).fill(words)

    def choose(self, selector: str, words: str) -> None:
        self.count += 1
        self.page.locator(selector).select_option(words)

    def drop(self, name: str, data: bytes) -> None:
        self.count += 1
        carried = self.page.evaluate_handle(
            "([name, words]) => { const carried = new DataTransfer();"
            " carried.items.add(new File([words], name, { type: 'image/svg+xml' }));"
            " return carried; }",
            [name, data.decode()],
        )
        self.page.dispatch_event("#board", "drop", {"dataTransfer": carried})

    def keys(self, selector: str, *keys: str) -> None:
        """Go to something by Tab and press keys there; one act, as a click is."""
        self.count += 1
        tab_to(self.page, selector)
        for key in keys:
            self.page.keyboard.press(key)

    def typed(self, selector: str, words: str) -> None:
        self.count += 1
        tab_to(self.page, selector)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(words)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "leaf coasters"


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    opened = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    yield opened
    opened.close()


def opened(context: BrowserContext, folder: Path) -> tuple[Page, list[str]]:
    """Open the bench of a job that is not there yet."""
    page, amiss = context.new_page(), []
    page.on("pageerror", lambda error: amiss.append(str(error)))
    page.goto(Served(folder / "job.yaml").address)
    expect(page.locator("#begin")).to_be_visible()
    until(page, lambda: page.locator("#begin-form [name=wood] option").count() > 5)
    return page, amiss


def at_hand(page: Page) -> None:
    """Wait until the words' form knows its fonts and nothing of the page is asked any more."""
    expect(page.locator("#new")).to_be_visible()
    until(page, lambda: page.locator("#words-form [name=font] option").count() > 5)


def checked(page: Page, count: int) -> None:
    """Wait until a text with so many inlays is saved, built and checked in sight."""
    expect(page.locator("#unsaved")).to_be_hidden()
    expect(page.locator("html[data-picture=checked]")).to_be_attached()
    until(
        page,
        lambda: (
            bool(page.evaluate("bench.text.saved === bench.text.area.value && !bench.busy"))
            and page.locator("#head .verdict").inner_text().startswith("OK to cut")
            and page.evaluate("Object.keys(bench.hand.index?.shapes ?? {}).length") == count
        ),
    )


def written(page: Page, folder: Path) -> Path:
    """Wait until the files are written and return their folder."""
    until(page, lambda: "shop book" in page.locator("#written").inner_text())
    expect(page.locator("#written")).to_contain_text("G-code files")
    return folder / "job built"


def by_hand(folder: Path) -> str:
    """Return the same job written by hand, once it is seen that it says the same."""
    path = folder / "job.yaml"
    made = flushwork.load(path)
    names = made.inlays[2]
    place = f"[{names.artwork[0].placement.x_mm:g} mm, {names.artwork[0].placement.y_mm:g} mm]"
    hand = BY_HAND.replace("NAMED", names.mix.name).replace("PLACED", place)
    wanted = flushwork.load(path, hand)
    assert (made.title, made.pieces, made.blank.wood) == (
        wanted.title,
        wanted.pieces,
        wanted.blank.wood,
    )
    assert [each.artwork[0].art for each in made.inlays] == [
        each.artwork[0].art for each in wanted.inlays
    ]
    assert len(path.read_text("utf-8").splitlines()) <= len(hand.splitlines()) + 1, "as clean"
    return hand


def test_from_an_empty_folder_to_all_files_written(context: BrowserContext, folder: Path) -> None:
    page, amiss = opened(context, folder)
    act = Acts(page)
    act.type("#begin-form [name=title]", "Leaf coasters")
    act.choose("#begin-form [name=wood]", "sugar maple")
    act.type("#begin-form [name=thickness]", "10 mm")
    act.type("#begin-form [name=pieces]", "6")
    act.choose("#begin-form [name=trim]", "circle")
    expect(page.locator("#begin-form [name=trim-size]")).to_have_value("100 mm")
    keep(page, "making-wood")
    act.click("#begin-form [type=submit]")
    at_hand(page)
    act.drop("leaf.svg", LEAF)
    expect(page.locator("html[data-added='1']")).to_be_attached()
    expect(page.locator("#new-said a")).to_have_text(["leaf teal", "leaf red"])
    act.type("#words-form [name=words]", "ANNA")
    act.type("#words-form [name=size]", "11 mm")
    act.click("#words-form [type=submit]")
    expect(page.locator("html[data-added='2']")).to_be_attached()
    act.click("#unsaved-save")
    checked(page, 3)
    keep(page, "making-coaster")
    act.click("[data-sheet=cuts]")
    act.click("#write-all")
    built = written(page, folder)
    keep(page, "making-written")
    assert act.count <= MOST_ACTS
    assert (folder / "leaf.svg").read_bytes() == LEAF
    assert (built / "shop-book.pdf").is_file()
    hand = flushwork.build(folder / "job.yaml", text=by_hand(folder), check=False)
    assert {each.file_name: each.data for each in hand.gcode_files} == {
        each.name: each.read_bytes() for each in (built / "gcode").iterdir()
    }
    assert not amiss


def test_the_same_with_keys_alone(context: BrowserContext, folder: Path, tmp_path: Path) -> None:
    page, amiss = opened(context, folder)
    drawing = tmp_path / "leaf.svg"
    drawing.write_bytes(LEAF)
    act = Acts(page)
    act.typed("#begin-form [name=title]", "Leaf coasters")
    act.keys("#begin-form [name=wood]", "s", "u", "g")
    expect(page.locator("#begin-form [name=wood]")).to_have_value("sugar maple")
    act.typed("#begin-form [name=thickness]", "10 mm")
    act.typed("#begin-form [name=pieces]", "6")
    act.keys("#begin-form [name=trim]", "ArrowDown")
    expect(page.locator("#begin-form [name=trim-size]")).to_have_value("100 mm")
    act.keys("#begin-form [type=submit]", "Enter")
    at_hand(page)
    with page.expect_file_chooser() as chooser:
        act.keys("#pick", "Enter")
    chooser.value.set_files(drawing)
    expect(page.locator("html[data-added='1']")).to_be_attached()
    act.typed("#words-form [name=words]", "ANNA")
    act.typed("#words-form [name=size]", "11 mm")
    act.keys("#words-form [type=submit]", "Enter")
    expect(page.locator("html[data-added='2']")).to_be_attached()
    act.keys("#unsaved-save", "Enter")
    checked(page, 3)
    act.keys(".contents [data-sheet=cuts]", "Enter")
    act.keys("#write-all", "Enter")
    assert (written(page, folder) / "shop-book.pdf").is_file()
    assert by_hand(folder)
    assert act.count <= MOST_ACTS
    assert not amiss
