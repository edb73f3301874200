"""Light on the board, measured in the pixels of the page: what shines, what is dull, no pattern."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Browser, Page

from tests.bench.conftest import Served, keep

LINES = """\
flushwork: 2
title: Under the lamp
cell: 0.1 mm
allowances: {sand: 0.03 mm}
blank: {wood: black walnut, length: 60 mm, width: 44 mm, thickness: 12 mm}
mixes:
  teal: {resin: coating epoxy, pigments: [deep teal flake]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: capped, rectangle: 40 mm x 6 mm, at: [0 mm, 10 mm], depth: 1.4 mm, fill: teal,
       how: scraped flush and capped, cap: clear, cap height: 0.5 mm}
    - {name: sanded, rectangle: 40 mm x 6 mm, at: [0 mm, -10 mm], depth: 1.4 mm, fill: teal}
"""
"""Two lines of one mix, one under a cap that takes the sanding, one sanded itself."""

PIXELS = """([x, y, long, wide]) => {
  const { board } = bench, { camera } = board, live = board.live.canvas;
  const k = live.width / camera.width, { width, height } = live;
  const [left, top] = camera.toScreen(x, y + wide), [right, low] = camera.toScreen(x + long, y);
  const pen = Object.assign(document.createElement('canvas'), { width, height }).getContext('2d');
  pen.drawImage(live, 0, 0);
  const [w, h] = [Math.floor((right - left) * k), Math.floor((low - top) * k)];
  return [w, h, [...pen.getImageData(Math.ceil(left * k), Math.ceil(top * k), w, h).data]];
}"""


@pytest.fixture(scope="module")
def lit(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    path = tmp_path_factory.mktemp("lamp") / "lid.yaml"
    path.write_text(LINES, encoding="utf-8")
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(Served(path).address)
    page.wait_for_selector("html[data-picture=checked]")
    yield page
    context.close()


def light_of(page: Page, *part: float) -> NDArray[np.float64]:
    """Return the light of a part of the board, told in mm, as (rows, columns) from 0 to 1."""
    columns, rows, data = page.evaluate(PIXELS, list(part))
    shown = np.array(data, np.float64).reshape(rows, columns, 4)[..., :3] / 255.0
    linear = np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4)
    light: NDArray[np.float64] = linear @ np.array([0.2126, 0.7152, 0.0722])
    return light


def lamp(page: Page, right: float, up: float, stage: int) -> None:
    """Hold the lamp over a place, told in shares of the board, and wait until all is painted."""
    page.evaluate(
        "([right, up, stage]) => { bench.strip.go(stage); bench.board.lampAt = [right, up];"
        " bench.board.moving(); }",
        [right, up, stage],
    )
    page.wait_for_function(
        "stage => { const { board } = bench, { painter } = board, film = board.film;"
        " return !board.lively && !board.asked && board.stage === stage && !painter.behind; }",
        arg=stage,
    )


CAPPED, SANDED = (12.0, 30.5, 36.0, 3.0), (12.0, 10.5, 36.0, 3.0)


def test_a_capped_line_and_a_sanded_one_are_told_apart(lit: Page) -> None:
    """Under a cap the flakes keep their flash; where they were sanded it is dull.

    Measured as the spread of light over each line, the lamp in the middle between the two.
    """
    last = lit.evaluate("bench.strip.last")
    lamp(lit, 0.5, 0.5, last)
    capped, sanded = light_of(lit, *CAPPED), light_of(lit, *SANDED)
    keep(lit, "desk-under-the-lamp")
    assert capped.std() > 2.0 * sanded.std()
    bright = np.quantile(sanded, 0.999)
    assert (capped > bright).mean() > 0.005


@pytest.mark.parametrize("at", [(0.5, 0.5), (0.5, 0.75), (0.2, 0.8)])
def test_no_lamp_burns_out(lit: Page, at: tuple[float, float]) -> None:
    """Wherever it is held, hardly a pixel is all white, and what it lies on keeps its colour."""
    lamp(lit, *at, lit.evaluate("bench.strip.last"))
    for part in (CAPPED, SANDED):
        light = light_of(lit, *part)
        assert (light > 0.99).mean() < 0.001
        assert np.median(light) < 0.5


def test_flakes_lie_in_no_grid(lit: Page) -> None:
    """No wave runs through them: the strongest of any direction is little stronger than the rest.

    In a pattern that repeats, one wave holds hundreds of times the mean.  In scattered points the
    power of a wave falls off as exp(-p), so that the largest of 20,000 lies about ln 20,000 = 10
    times over the mean (the periodogram of white noise; from memory).
    """
    lamp(lit, 0.5, 0.75, lit.evaluate("bench.strip.last"))
    light = light_of(lit, *CAPPED)
    flash = (light > np.quantile(light, 0.97)).astype(np.float64)
    power = np.abs(np.fft.rfft2(flash - flash.mean())) ** 2
    # slow changes are the lamp's own
    power[:4, :4] = power[-4:, :4] = 0.0
    assert power.max() < 40.0 * power[power > 0.0].mean()
