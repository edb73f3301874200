"""A job made on the real page from an empty folder, by hand and by keys alone, until it is cut."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

import flushwork
from tests.bench.conftest import Served, hold, keep, until
from tests.bench.test_access import tab_to, violations
from tests.bench.test_making import LEAF, POINTS, photo

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
    assert violations(page) == []
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


# ---- Colour and place by hand


LIES: Final = "at: [-20 mm, 10 mm]"
LEAFY: Final = f"""\
# a board to try things on
flushwork: 2
title: Leaf board
blank: {{wood: sugar maple, length: 120 mm, width: 90 mm, thickness: 12 mm}}
trim line: {{rectangle: 100 mm x 70 mm}}
cell: 0.4 mm
mixes:
  teal: {{resin: coating epoxy, pigments: [teal flake]}}
  red: {{resin: coating epoxy, pigments: [red powder]}}
front:
  inlays:
    - {{name: outer, svg: leaf.svg, layers: [outer], width: 30 mm, fill: teal, depth: 2 mm, {LIES}}}
    - {{name: inner, svg: leaf.svg, layers: [inner], width: 30 mm, fill: red, depth: 2 mm, {LIES}}}
    - {{name: dot, circle: 8 mm, depth: 2 mm, fill: red, at: [30 mm, -20 mm]}}   # the last
"""


@pytest.fixture(scope="module")
def leaf_bench(tmp_path_factory: pytest.TempPathFactory) -> Served:
    path = tmp_path_factory.mktemp("leafy") / "job.yaml"
    path.write_text(LEAFY, "utf-8")
    path.with_name("leaf.svg").write_bytes(LEAF)
    return Served(path)


@pytest.fixture
def leafy(context: BrowserContext, leaf_bench: Served) -> Page:
    """Open a small board, its things known by the page; nothing of it is ever saved."""
    page = context.new_page()
    page.goto(leaf_bench.address)
    known(page, 3)
    return page


def known(page: Page, count: int) -> None:
    """Wait until the text of the page is checked, and where its things lie is known."""
    until(
        page,
        lambda: bool(
            page.evaluate(
                "count => bench.text.saved !== undefined && !bench.busy && !bench.text.trying"
                " && bench.hand.generation === bench.generation"
                " && document.documentElement.dataset.picture === 'checked'"
                " && bench.hand.index?.generation === bench.generation"
                " && Object.keys(bench.hand.index.shapes).length === count",
                count,
            )
        ),
    )


def in_hand(page: Page, key: str) -> None:
    """Take a thing in hand, and wait until the page knows what goes with it."""
    hold(page, key)
    expect(page.locator(f"html[data-known='{key}']")).to_be_attached()


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Return where a place of the face is on the screen."""
    box = page.locator("#live").bounding_box()
    assert box is not None
    px, py = page.evaluate("at => bench.board.camera.toScreen(...at)", [x, y])
    return box["x"] + px, box["y"] + py


def line_of(page: Page, name: str) -> str:
    return next(
        line for line in page.locator("#job").input_value().splitlines() if f"name: {name}," in line
    )


def test_dragged_it_snaps_and_says_so_and_its_drawing_goes_along(leafy: Page) -> None:
    in_hand(leafy, "inlay/front/outer")
    leafy.click("[data-mode=place]")
    leafy.mouse.move(*on_screen(leafy, 31.0, 55.0))
    leafy.mouse.down()
    leafy.mouse.move(*on_screen(leafy, 45.0, 50.0), steps=3)
    leafy.mouse.move(*on_screen(leafy, 50.7, 45.4), steps=3)
    expect(leafy.locator("#readout")).to_contain_text("centre line across the grain")
    expect(leafy.locator("#readout")).to_contain_text("centre line along the grain")
    expect(leafy.locator("#readout")).to_contain_text("20.0 mm inside the trim line")
    assert leafy.locator("#placing path.ghost").count() == 2
    keep(leafy, "making-dragged")
    leafy.mouse.up()
    expect(leafy.locator("html[data-placed='1']")).to_be_attached()
    assert "at:" not in line_of(leafy, "outer") or "at: [0 mm, 0 mm]" in line_of(leafy, "outer")
    assert (
        line_of(leafy, "inner").partition("at:")[2] == line_of(leafy, "outer").partition("at:")[2]
    )
    assert line_of(leafy, "dot") == LEAFY.splitlines()[-1]
    assert leafy.locator("#job").input_value().startswith("# a board to try things on\n")
    outer = "bench.hand.index.shapes['inlay/front/outer'].rings[0]"

    def middle_mm() -> float:
        ring = leafy.evaluate(outer)
        return float(sum(x for x, _ in ring[1:]) / (len(ring) - 1))

    until(leafy, lambda: abs(middle_mm() - 60.0) < 0.3)
    leafy.click("#take-back")
    expect(leafy.locator("#job")).to_have_value(LEAFY)


def test_placed_by_keys_and_buttons(leafy: Page) -> None:
    in_hand(leafy, "inlay/front/dot")
    leafy.locator("#live").focus()
    leafy.keyboard.press("p")
    for key in ("ArrowUp", "ArrowUp", "ArrowLeft", "Shift+ArrowLeft"):
        leafy.keyboard.press(key)
    wanted = "at: [28.9 mm, -18 mm]}   # the last"
    until(leafy, lambda: wanted in line_of(leafy, "dot"))
    expect(leafy.locator("#hand-said")).to_contain_text("inside the trim line; not saved yet")
    leafy.click("[data-lie=middle]")
    until(leafy, lambda: "at:" not in line_of(leafy, "dot"))
    leafy.locator("#repeat-form [name=columns]").fill("3")
    leafy.locator("#repeat-form [type=submit]").click()
    repeat = "repeat: {columns: 3, rows: 1, pitch: 20 mm}"
    until(leafy, lambda: repeat in line_of(leafy, "dot"))
    leafy.click("[data-lie=off]")
    expect(leafy.locator("#hand-said")).to_contain_text("A comment stands in it")
    in_hand(leafy, "inlay/front/inner")
    leafy.click("[data-lie=off]")
    until(leafy, lambda: "name: inner" not in leafy.locator("#job").input_value())
    expect(leafy.locator("#new")).to_be_visible()


def test_filled_from_another_jar_and_from_a_new_mix(leafy: Page) -> None:
    in_hand(leafy, "inlay/front/dot")
    jars = leafy.locator("#jars [role=radio]")
    expect(jars).to_have_text(["teal", "red"])
    expect(jars.nth(1)).to_have_attribute("aria-checked", "true")
    jars.first.click()
    expect(jars.first).to_have_attribute("aria-checked", "true")
    assert "fill: teal" in line_of(leafy, "dot")
    leafy.locator("#mix-new summary").click()
    leafy.locator("#mix-form [name=first]").select_option("gold flake")
    leafy.locator("#mix-form [type=submit]").click()
    expect(jars).to_have_text(["teal", "red", "gold"])
    assert "fill: gold" in line_of(leafy, "dot")
    assert "  gold: {resin: coating epoxy, pigments: [gold flake]}\n" in (
        leafy.locator("#job").input_value()
    )
    expect(jars.nth(2)).to_have_attribute("aria-checked", "true")
    keep(leafy, "making-jars")


def test_the_sliders_of_a_picture_act_at_once(leafy: Page, tmp_path: Path) -> None:
    photo(tmp_path / "photo.png")
    hold(leafy, "new")
    leafy.set_input_files("#pick", tmp_path / "photo.png")
    expect(leafy.locator("html[data-added='1']")).to_be_attached()
    known(leafy, 5)
    in_hand(leafy, "inlay/front/photo teal")
    expect(leafy.locator("#picture-part")).to_be_visible()
    parts = leafy.locator("#picture-now path")
    expect(parts).to_have_count(2)
    keep(leafy, "making-picture")
    leafy.locator("#picture-form [name=colours]").focus()
    leafy.keyboard.press("Home")
    expect(parts).to_have_count(1)
    until(leafy, lambda: "number of colours: 2" in leafy.locator("#job").input_value())
    assert leafy.locator("#job").input_value().count("picture: photo.png") == 1


def test_points_are_picked_as_holes_and_pasted_as_well(leafy: Page, tmp_path: Path) -> None:
    (tmp_path / "feet.csv").write_bytes(POINTS)
    hold(leafy, "new")
    leafy.set_input_files("#pick", tmp_path / "feet.csv")
    until(leafy, lambda: "points file: feet.csv" in leafy.locator("#job").input_value())
    leafy.locator("#live").focus()
    leafy.evaluate(
        "words => { const carried = new DataTransfer(); carried.setData('text', words);"
        " document.getElementById('live').dispatchEvent(new ClipboardEvent('paste',"
        " { clipboardData: carried, bubbles: true, cancelable: true })); }",
        "0, 0\n10, 0\n10, 8\n",
    )
    until(leafy, lambda: "points file: pasted points.csv" in leafy.locator("#job").input_value())
    expect(leafy.locator("#files li b")).to_contain_text(["feet.csv", "pasted points.csv"])
    row = leafy.locator("#files li", has_text="feet.csv")
    row.locator("select").select_option("outline")
    row.locator("button").click()
    until(leafy, lambda: "polygon: {points: [" in leafy.locator("#job").input_value())
