"""Make the pictures of the bench that the README shows, from the pages themselves.

.venv-test/bin/python design/bench_pictures.py
"""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).parents[1]
JOB = ROOT / "examples/kingfisher/job.yaml"
PICTURES = ROOT / "docs/pictures"
FLAGS = ("--no-sandbox", "--disable-gpu", "--enable-unsafe-swiftshader")
REST_MS = 1500


def keep(page: Page, name: str) -> None:
    """Keep what is in sight, in few colours."""
    page.wait_for_timeout(REST_MS)
    shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    shot.quantize(200, dither=Image.Dither.FLOYDSTEINBERG).save(
        PICTURES / f"{name}.png", optimize=True
    )


def hold(page: Page, key: str) -> None:
    """Take something in hand."""
    page.evaluate("key => bench.hand.hold(key)", key)
    page.wait_for_timeout(REST_MS)


def opened(browser: Browser, address: str, width: int, height: int, scale: float = 1.0) -> Page:
    """Open a page and wait for the check."""
    context = browser.new_context(
        viewport={"width": width, "height": height},
        device_scale_factor=scale,
        reduced_motion="reduce",
    )
    page = context.new_page()
    page.goto(address)
    return page


def main() -> None:
    """Serve the example and look at it."""
    bench = subprocess.Popen(
        [sys.executable, "-m", "flushwork", "bench", str(JOB), "--no-open"],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert bench.stdout is not None
    address = next(word for word in bench.stdout.readline().split() if word.startswith("http"))
    try:
        with sync_playwright() as play:
            chromium = shutil.which("chromium") or shutil.which("chromium-browser")
            browser = play.chromium.launch(executable_path=chromium, args=list(FLAGS))
            page = opened(browser, address, 1440, 900)
            page.wait_for_selector("html[data-picture=checked]", timeout=400_000)
            page.wait_for_selector(".odds:not(.waiting)", state="attached", timeout=60_000)
            hold(page, "inlay/front/rose light")
            keep(page, "bench-board")
            hold(page, "today")
            page.click('button[data-mode="section"]')
            page.evaluate(
                "bench.board.setMode('section');"
                " bench.board.line = [[132, 114.2], [198, 114.2]];"
                " bench.board.onLine(bench.board.line)"
            )
            keep(page, "bench-section")
            page.click('button[data-mode="move"]')
            hold(page, "days")
            keep(page, "bench-days")
            phone = opened(browser, f"{address}machine#5", 390, 780, 1.5)
            keep(phone, "bench-phone")
            browser.close()
    finally:
        bench.terminate()
        bench.wait()


if __name__ == "__main__":
    main()
