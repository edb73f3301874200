"""Time the bench as a person meets it: server, first picture, a changed depth, scrubbing, sawing.

For each step the wall clock and, where the system tells it, the processor time of the server (the
figure to trust on a machine that has other work).  Frames are counted in Chromium with its software
renderer, in a window of 1280 x 800.

    .venv-test/bin/python design/bench_speed.py [JOB]
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[1]
FLAGS = ("--no-sandbox", "--disable-gpu", "--enable-unsafe-swiftshader")
FRAMES = """async ([stages, saw]) => {
  const next = () => new Promise((done) => requestAnimationFrame(done));
  const { board, section, strip } = window.bench, { film } = board;
  await film.rest();
  const made = [], middle = film.width_mm / 2;
  for (const [at, stage] of stages.entries()) {
    const begun = performance.now();
    if (saw) {
      const y = middle + 20 * Math.sin(at / 5);
      board.setMode('section');
      board.line = [[30, y], [film.length_mm - 30, y + 5]];
      board.onLine(board.line);
      board.soon();
    } else strip.go(stage);
    // a frame of the saw counts once the section of its very line is drawn
    do await next(); while (saw && section.drawn !== board.line);
    await next();
    made.push(performance.now() - begun);
  }
  made.sort((a, b) => a - b);
  const mean = made.reduce((a, b) => a + b) / made.length;
  return { mean: 1000 / mean, worst: 1000 / made[Math.floor(made.length * 0.95)] };
}"""

STOOD = """(name) => performance.timeOrigin
  + performance.getEntriesByName(name).at(-1).duration"""


@dataclass
class Served:
    """A bench in a process of its own."""

    process: subprocess.Popen[str]
    address: str
    begun_s: float

    def cpu_s(self) -> float:
        """Return the processor time it has taken, 0 where the system does not tell."""
        try:
            fields = Path(f"/proc/{self.process.pid}/stat").read_text("ascii").rsplit(")", 1)[1]
        except OSError:
            return 0.0
        ticks = fields.split()
        return (int(ticks[11]) + int(ticks[12])) / os.sysconf("SC_CLK_TCK")

    def status(self) -> dict[str, Any]:
        """Return how things stand."""
        with urllib.request.urlopen(f"{self.address}standing") as answer:
            told: dict[str, Any] = json.load(answer)
        return told


@contextmanager
def serving(job: Path, cache: Path) -> Iterator[Served]:
    """Serve the bench of a job."""
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "flushwork", "bench", str(job), "--no-open"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "FLUSHWORK_CACHE": str(cache)},
    )
    assert process.stdout is not None
    found = re.search(r"http://\S+", process.stdout.readline())
    assert found is not None, "the bench did not start"
    try:
        yield Served(process, found[0], begun)
    finally:
        process.terminate()
        process.wait()


def tell(what: str, wall_s: float, cpu_s: float) -> None:
    """Print one line."""
    print(f"  {wall_s:7.2f} s  {cpu_s:7.2f} s of the server's processor  {what}")


def built(served: Served) -> None:
    """Wait for the check."""
    while served.status()["busy"]:
        time.sleep(0.1)


def changed(page: Page, served: Served, depth: str) -> None:
    """Type another depth for the first inlay that is no seam line, and time what follows."""
    text = page.locator("#job").input_value()
    now = re.sub(r"(\n      depth: )[\d.]+ mm", rf"\g<1>{depth}", text, count=1)
    assert now != text, "no depth was found"
    cpu = served.cpu_s()
    page.evaluate("t => { bench.times = {}; bench.text.put(t); }", now)
    page.wait_for_selector("html[data-picture=first]", timeout=60_000)
    first = page.evaluate("bench.times.first_ms") / 1000.0
    tell(f"first picture of {depth}", first, served.cpu_s() - cpu)
    page.wait_for_selector("html[data-picture=checked]", timeout=120_000)
    tell(
        f"check of {depth}", page.evaluate("bench.times.checked_ms") / 1000.0, served.cpu_s() - cpu
    )


def main() -> None:
    """Time one job, the travelling set by default."""
    job = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "examples/kingfisher/job.yaml"
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as folder:
        cache = Path(folder)
        with serving(job, cache) as served:
            tell("server up, nothing kept", time.perf_counter() - served.begun_s, served.cpu_s())
            built(served)
            tell("checked", time.perf_counter() - served.begun_s, served.cpu_s())
            while not list(cache.rglob("look.json")):
                time.sleep(0.1)
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=chromium, args=list(FLAGS))
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            page.goto("about:blank")
            with serving(job, cache) as served:
                tell("server up again", time.perf_counter() - served.begun_s, served.cpu_s())
                page.goto(served.address)
                page.wait_for_selector("html[data-picture]")
                kind = page.evaluate("document.documentElement.dataset.picture")
                # the page's own clock tells when the picture stood, not when it was asked about
                stood = page.evaluate(STOOD, f"picture {kind}") / 1000.0
                wall = stood - (time.time() - (time.perf_counter() - served.begun_s))
                tell(f"first picture in the browser ({kind})", wall, served.cpu_s())
                page.wait_for_selector("html[data-picture=checked]", timeout=300_000)
                built(served)
                last = page.evaluate("bench.board.film.last")
                stages = [at % (last + 1) for at in range(60)]
                for what, saw in (("scrubbing", False), ("sawing across", True)):
                    rate = page.evaluate(FRAMES, [stages, saw])
                    print(f"  {rate['mean']:5.0f} frames/s, {rate['worst']:.0f} at worst  {what}")
                for depth in ("1.8 mm", "1.7 mm", "1.6 mm"):
                    changed(page, served, depth)
            browser.close()


if __name__ == "__main__":
    main()
