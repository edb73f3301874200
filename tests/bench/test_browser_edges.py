"""An edge touched on the real board becomes a seam line, a shape in another is cut into it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.bench.conftest import Served, hold, keep, until
from tests.bench.test_access import violations
from tests.bench.test_making_meet import BOARD


@pytest.fixture(scope="module")
def lid(tmp_path_factory: pytest.TempPathFactory) -> Served:
    path = tmp_path_factory.mktemp("edges") / "job.yaml"
    path.write_text(BOARD, "utf-8")
    return Served(path)


@pytest.fixture
def page(browser: Browser, lid: Served) -> Iterator[Page]:
    """Open the board with its picture; nothing of it is ever saved."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(lid.address)
    expect(page.locator("html[data-picture=checked]")).to_be_attached()
    until(page, lambda: bool(page.evaluate("bench.text.saved !== undefined && !bench.busy")))
    yield page
    context.close()


def text_of(page: Page) -> str:
    return page.locator("#job").input_value()


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Return where a place of the face is on the screen."""
    box = page.locator("#live").bounding_box()
    assert box is not None
    px, py = page.evaluate("at => bench.board.camera.toScreen(...at)", [x, y])
    return box["x"] + px, box["y"] + py


def touch(page: Page, x: float, y: float, words: str) -> None:
    """Touch a place once nothing moves any more and what is there is told."""
    until(page, lambda: bool(page.evaluate("!bench.busy && !bench.text.trying")))

    def told() -> bool:
        page.mouse.move(*on_screen(page, x, y - 0.2))
        page.mouse.move(*on_screen(page, x, y))
        return page.locator("#readout").inner_text() == words

    until(page, told)
    page.mouse.click(*on_screen(page, x, y))


def test_an_edge_and_a_shape_in_another_are_touched(page: Page) -> None:
    page.click("[data-mode=edges]")
    expect(page.locator("#meeting path.edge")).to_have_count(3)
    expect(page.locator("#meeting path.overlap")).to_have_count(1)
    page.mouse.move(*on_screen(page, 50.0, 52.0))
    expect(page.locator("#readout")).to_have_text(
        "The edge of left and right, upper: make it a seam line"
    )
    expect(page.locator("#meeting path.edge.chosen")).to_have_count(1)
    keep(page, "edges-touched")
    assert violations(page) == []
    touch(page, 50.0, 52.0, "The edge of left and right, upper: make it a seam line")
    until(page, lambda: 'seam line: {along: [left, "right, upper"]' in text_of(page))
    expect(page.locator("#readout")).to_contain_text("A seam line between left and right, upper.")
    expect(page.locator("#meeting path.edge")).to_have_count(2)
    touch(page, 40.0, 50.0, "Dot, which lies in left: cut it into it as a second pass")
    until(page, lambda: "second pass of: [left]" in text_of(page))
    expect(page.locator("#meeting path.overlap")).to_have_count(0)
    expect(page.locator("#readout")).to_contain_text("Dot is cut into left as a second pass")


def test_edges_with_keys_alone(page: Page) -> None:
    page.locator("#live").focus()
    page.keyboard.press("e")
    expect(page.locator("#readout")).to_contain_text("Touch an edge between two shapes")
    page.keyboard.press("n")
    expect(page.locator("#readout")).to_contain_text("The edge of left and right, upper")
    page.keyboard.press("b")
    expect(page.locator("#readout")).to_contain_text("The edge of right, upper and right lower")
    page.keyboard.press("Enter")
    until(page, lambda: 'along: ["right, upper", right lower]' in text_of(page))
    expect(page.locator("#meeting path.edge")).to_have_count(2)


def test_the_sheet_of_a_shape_offers_what_it_meets(page: Page) -> None:
    hold(page, "inlay/front/dot")
    meets = page.locator("#meets button")
    expect(meets).to_have_text(["Dot, which lies in left: cut it into it as a second pass"])
    meets.first.focus()
    page.keyboard.press("Enter")
    until(page, lambda: "second pass of: [left]" in text_of(page))
    expect(page.locator("#hand-said")).to_contain_text("dot is cut into left as a second pass")
    expect(page.locator("#meet-part")).to_be_hidden()
    page.locator("#take-back").click()
    until(page, lambda: text_of(page) == BOARD)
