"""The film as the page scrubs it: in motion, with tiles that come late, without what draws it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.bench.conftest import AT_REST, Served, keep
from tests.bench.test_browser import bare, painted, resin

CUT, FILLED, LAST = 4, 6, 13
"""Stages of the lid: its pocket stands open; it is filled; all is done."""

PICTURE = """(name) => {
  const { canvas, painter: { gl } } = bench.board;
  const at = new Uint8Array(canvas.width * canvas.height * 4);
  gl.readPixels(0, 0, canvas.width, canvas.height, gl.RGBA, gl.UNSIGNED_BYTE, at);
  window.pictures = { ...window.pictures, [name]: at };
}"""
APART = """([one, other]) => {
  const [a, b] = [window.pictures[one], window.pictures[other]];
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += Math.abs(a[i] - b[i]);
  return a.length === b.length ? sum / a.length : 255;
}"""
WHOLLY = "() => { bench.board.painter.pose = ''; bench.board.soon(); }"
MOVED = """async (stage) => {
  const next = () => new Promise((done) => requestAnimationFrame(done));
  bench.strip.go(stage);
  clearTimeout(bench.board.resting);
  await next();
  await next();
}"""
"""Goes to a stage, and stays in motion."""
DONE = "() => Array.from(bench.board.painter.held(bench.board.face).done)"
COARSE, FINE = 1, 3


def at_last(page: Page) -> None:
    """Go to the finished board: the page opens where the work is, which other tests may tick."""
    page.evaluate(MOVED, LAST)
    page.wait_for_function("() => bench.board.painter.behind === null")


def all_here(page: Page) -> None:
    """Have the pixels of every stage come: what is late is painted in no motion."""
    page.evaluate("bench.board.film.all(bench.strip.stage)")
    page.wait_for_function(
        "() => Array.from({ length: bench.strip.last + 1 }, (_, stage) => stage)"
        ".every((stage) => bench.board.film.missing(stage, 'front').length === 0)"
    )


def rested(page: Page, name: str) -> None:
    """Come to rest; keep the picture in the page once nothing of it gets better any more."""
    page.evaluate("bench.board.moving(bench.board.wholly)")
    page.wait_for_function(AT_REST)
    page.evaluate(PICTURE, name)


def apart(page: Page, one: str, other: str) -> float:
    """Return the mean difference of two pictures kept in the page, 0 to 255."""
    far: float = page.evaluate(APART, [one, other])
    return far


def test_in_motion_a_slow_machine_paints_coarsely_and_at_rest_all_is_made_good(page: Page) -> None:
    all_here(page)
    page.evaluate(MOVED, 0)
    rested(page, "bare")
    page.evaluate("() => { bench.board.painter.rate = 5e-4; }")
    page.evaluate(MOVED, FILLED)
    assert COARSE in page.evaluate(DONE)
    page.evaluate(PICTURE, "moving")
    keep(page, "desk-coarse")
    rested(page, "good")
    assert COARSE not in page.evaluate(DONE)
    other = apart(page, "bare", "good")
    assert 0 < apart(page, "moving", "good") < other / 3, "coarse, but of this very stage"
    page.evaluate(WHOLLY)
    rested(page, "anew")
    assert apart(page, "anew", "good") == 0


def test_a_quick_machine_paints_sharply_in_motion(page: Page) -> None:
    all_here(page)
    page.evaluate(MOVED, 0)
    rested(page, "bare")
    page.evaluate("() => { bench.board.painter.rate = 1e-9; }")
    page.evaluate(MOVED, CUT)
    assert COARSE not in page.evaluate(DONE)


class Held:
    """Holds back the tiles a page asks for once its first picture stands."""

    def __init__(self) -> None:
        self.holding = False
        self.routes: list[Route] = []

    def take(self, route: Route) -> None:
        if self.holding:
            self.routes.append(route)
        else:
            route.continue_()

    def let_go(self) -> None:
        self.holding = False
        while self.routes:
            self.routes.pop(0).continue_()


@pytest.fixture
def slow(desk_context: BrowserContext, bench: Served) -> Iterator[tuple[Page, Held]]:
    """Open a page that has the tiles of its first picture and gets no others for now."""
    page, held, amiss = desk_context.new_page(), Held(), list[Any]()
    page.on("pageerror", lambda error: amiss.append(str(error)))
    # pages of other tests may have kept pixels in the browser's store: they would not be late
    page.add_init_script(
        "delete window.caches; Object.defineProperty(window, 'caches', { value: undefined });"
        "addEventListener('load', () => { bench.atRest = () => {}; }, { capture: true });"
    )
    page.route("**/tiles", held.take)
    page.goto(bench.address)
    page.wait_for_selector("html[data-picture=checked]")
    at_last(page)
    held.holding = True
    yield page, held
    held.let_go()
    page.close()
    assert not amiss


def test_no_stage_is_shown_before_all_of_it_is_here(slow: tuple[Page, Held]) -> None:
    page, held = slow
    # from afar colours are smoothed, the harder test of a picture at rest
    page.evaluate("() => { bench.board.camera.scale /= 4; bench.board.moving(); }")
    rested(page, "done")
    page.evaluate(MOVED, FILLED)
    expect(page.locator("#late")).to_have_text(
        f"The picture after stage {FILLED} is on its way; "
        f"this one is still that after stage {LAST}."
    )
    expect(page.locator("#live")).to_have_attribute("aria-label", re.compile("on its way"))
    rested(page, "late")
    assert apart(page, "late", "done") == 0, "no part of another stage under this one's name"
    keep(page, "desk-late")
    held.let_go()
    expect(page.locator("#late")).to_have_text("")
    rested(page, "filled")
    assert apart(page, "filled", "done") > 0.1
    page.evaluate(WHOLLY)
    rested(page, "anew")
    assert apart(page, "anew", "filled") == 0, "what came late is as good as what came in time"


def test_a_question_that_failed_is_asked_again(slow: tuple[Page, Held]) -> None:
    page, held = slow
    rested(page, "done")
    page.evaluate(MOVED, CUT)
    page.wait_for_function("() => bench.board.painter.behind !== null")
    refused = held.routes.pop(0)
    refused.abort()
    held.let_go()
    page.wait_for_function("() => bench.board.painter.behind === null")
    rested(page, "cut")
    assert apart(page, "cut", "done") > 0.1


def test_a_face_turned_up_before_it_is_here_is_not_painted_as_the_other(page: Page) -> None:
    at_last(page)
    page.evaluate("() => { bench.board.film.woods = { front: bench.board.film.woods.front }; }")
    page.evaluate("() => { bench.board.film.surround = (face) => new Promise(() => {}); }")
    page.evaluate("() => { bench.board.painter.faces.delete('back'); }")
    page.evaluate("bench.board.turnOver('back')")
    expect(page.locator("#late")).to_contain_text(f"The picture after stage {LAST} is on its way")
    page.evaluate(PICTURE, "back")
    assert page.evaluate("window.pictures.back.every((each) => each === 0)")


LOSE = """() => {
  window.ending = bench.board.painter.gl.getExtension('WEBGL_lose_context');
  window.ending.loseContext();
}"""


def test_lost_graphics_leave_still_pictures_until_they_come_back(page: Page) -> None:
    at_last(page)
    page.click("#tilt")
    page.wait_for_function(AT_REST)
    page.evaluate(LOSE)
    expect(page.locator("#no-live")).to_contain_text("still pictures for now")
    expect(page.locator("#tilt")).to_be_disabled()
    expect(page.locator("#tilt")).to_have_attribute("aria-pressed", "false")
    page.wait_for_function("() => bench.board.painter.behind === null")
    painted(page, resin)
    keep(page, "desk-lost")
    page.locator('.shot[data-stage="0"]').click()
    page.wait_for_function("() => bench.board.painter.behind === null")
    painted(page, bare)
    page.evaluate("window.ending.restoreContext()")
    expect(page.locator("#no-live")).to_be_hidden()
    expect(page.locator("#tilt")).to_be_enabled()
    page.locator(f'.shot[data-stage="{LAST}"]').click()
    painted(page, resin)
    assert not page.evaluate("bench.board.painter.gl.getError()")
    rested(page, "again")
    page.evaluate(WHOLLY)
    rested(page, "anew")
    assert apart(page, "anew", "again") == 0
    keep(page, "desk-restored")


LOOKS = """async () => {
  const { lookOf } = await import('/static/film.js'), side = 12, reach = 4;
  const told = [];
  for (let seed = 1; seed < 40; seed++) {
    const any = (i) => ((seed * 7919 + i * 104729) >>> 0) % 997;
    const heights = new Uint16Array(side * side).map((_, i) => (any(i) % 2 ? 0x8000 : 0) | any(i));
    const colour = new Uint8Array(side * side * 4), shine = new Uint8Array(side * side * 4);
    for (let k = 0; k < seed % 4; k++) (k % 2 ? colour : shine)[any(k) % (side * side * 4)] = k + 1;
    const look = lookOf({ heights, colour, shine }, side, reach), { low, high, ink, flakes } = look;
    told.push({ heights: [...heights], colour: [...colour], shine: [...shine],
      low: [...low], high: [...high], ink: [...ink], flakes });
  }
  return told;
}"""


def test_what_a_tile_shows_each_neighbour_is_told_part_by_part(page: Page) -> None:
    side, reach = 12, 4
    for told in page.evaluate(LOOKS):
        heights = np.array(told["heights"], np.uint16).view(np.float16).astype(float)
        heights = heights.reshape(side, side)
        colour, shine = (
            np.array(told[name]).reshape(side, side, 4) for name in ("colour", "shine")
        )
        both = np.concatenate((colour, shine), axis=2)
        spans = (slice(0, reach), slice(0, side), slice(side - reach, side))
        for row, up in enumerate(spans):
            for column, across in enumerate(spans):
                part = 3 * row + column
                assert told["low"][part] == pytest.approx(heights[up, across].min())
                assert told["high"][part] == pytest.approx(heights[up, across].max())
                assert told["ink"][part] == both[up, across].any()
        assert told["flakes"] == (shine[:, :, 0] > 2).any()
