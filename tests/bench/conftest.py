"""One small job on a desk, its application, and the real page in a browser where there is one."""

from __future__ import annotations

import asyncio
import datetime as dt
import os
import random
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import log_path
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.server import serve as serving
from flushwork.bench.server.app import bench_app
from flushwork.bench.server.guard import App, Receive, Scope, Send
from flushwork.bench.server.serve import serve

HOST = "127.0.0.1:1"
PICTURES = Path(__file__).parents[2] / "build" / "bench-pictures"
CHROMIUM = next(
    (path for name in ("/usr/bin/chromium", "chromium") if (path := shutil.which(name))), None
)
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--enable-unsafe-swiftshader",
)  # fmt: skip

PATIENCE_MS = 90_000
"""What a page is waited for at most: a loaded machine is slow; only what fails waits it out."""
expect.set_options(timeout=PATIENCE_MS)

LATE_S = float(os.environ.get("FLUSHWORK_LATE_S", "0"))
"""Up to so many seconds each answer to a page is held back, by lot: to find tests that race."""

JOB = """\
# a lid to try things on: this comment stays
flushwork: 2
title: Trial <b>lid</b>
pieces: 2
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 12 mm}
trim line: {rectangle: 76 mm x 56 mm, round: 4 mm}
mixes:
  teal <script>alert(1)</script>: {resin: coating epoxy, pigments: [deep teal flake]}
front:
  inlays:
    - {name: plate, rectangle: 30 mm x 20 mm, depth: 2 mm, fill: teal <script>alert(1)</script>}
  holes:
    - {name: pegs, points: [[-30 mm, 0 mm], [30 mm, 0 mm]], diameter: 3.175 mm, depth: through}
"""
"""One inlay of flakes, two holes right through, and words that would be scripts if let loose."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Try a test of the real page once more when it fails; the closing line tells how many were.

    Where races are looked for (``LATE_S``) nothing is tried again.
    """
    for item in [] if LATE_S else items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.flaky(reruns=2))


def noon() -> dt.datetime:
    return dt.datetime(2026, 5, 4, 12, tzinfo=dt.UTC)


PAGE = "page1"
"""A page that tries texts."""


def waited(desk: Desk, page: str = "") -> Snapshot:
    """Return what a page has in sight once all is built; without one, the saved job."""
    assert desk.wait(PATIENCE_MS / 1000.0), "the build did not end"
    now = desk.status(page)
    assert now.snapshot is not None, now.failed or [slip.message for slip in now.slips]
    return now.snapshot


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep what the bench keeps in a folder of these tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FLUSHWORK_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture(scope="session", autouse=True)
def _late() -> Iterator[None]:
    """Hold back the answers of every bench served here, where that was asked for."""
    with pytest.MonkeyPatch.context() as patch:
        if LATE_S:
            patch.setattr(serving, "bench_app", lambda *told: held_back(bench_app(*told)))
        yield


def held_back(app: App) -> App:
    """Return an application that answers late, each time by another span; scripts come in time."""
    lots = random.Random(7)  # noqa: S311

    async def late(scope: Scope, receive: Receive, send: Send) -> None:
        if not scope.get("path", "").startswith("/static/"):
            await asyncio.sleep(lots.uniform(0.0, LATE_S))
        await app(scope, receive, send)

    return late


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Build a job once; tests that share its desk change nothing."""
    path = tmp_path_factory.mktemp("lid") / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    waited(desk)
    yield desk
    desk.close()


@pytest.fixture(scope="session")
def snapshot(built: Desk) -> Snapshot:
    return waited(built)


def ask(desk: Desk, method: str, path: str, **more: Any) -> httpx.Response:
    """Return what a desk's application answers, asked without a socket."""
    return ask_app(bench_app(desk, frozenset({HOST}), noon), method, path, **more)


def ask_app(app: App, method: str, path: str, **more: Any) -> httpx.Response:
    """Return what an application answers that is asked more than once."""

    async def asked() -> httpx.Response:
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}") as client:
            return await client.request(method, path, **more)

    # in a thread of its own: the browser's driver keeps a loop running in this one
    with ThreadPoolExecutor(1) as apart:
        return apart.submit(lambda: asyncio.run(asked())).result()


class Served:
    """A bench served on loopback for the browser."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.address = ""
        up = threading.Event()

        def ready(address: str) -> None:
            self.address = address
            up.set()

        # a daemon: the server ends with the tests
        threading.Thread(target=serve, args=(path, 0, ready, noon), daemon=True).start()
        assert up.wait(PATIENCE_MS / 1000.0)


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Served:
    path = tmp_path_factory.mktemp("served") / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    return Served(path)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        pytest.skip("no chromium here")
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(started, "new_context", _patient(started.new_context))
            yield started
        started.close()


def _patient(make: Callable[..., BrowserContext]) -> Callable[..., BrowserContext]:
    """Return what opens contexts whose pages are waited for as long as they need."""

    def opened(**options: Any) -> BrowserContext:
        context = make(**options)
        context.set_default_timeout(PATIENCE_MS)
        return context

    return opened


@pytest.fixture(scope="session")
def desk_context(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    yield context
    context.close()


def begun_anew(bench: Served) -> None:
    """Take back what another test may have left: ticks and wishes, a text that it saved."""
    log_path(bench.path).unlink(missing_ok=True)
    if bench.path.read_text("utf-8") != JOB:
        bench.path.write_text(JOB, encoding="utf-8")


@pytest.fixture
def page(desk_context: BrowserContext, bench: Served) -> Iterator[Page]:
    """Open the page at a desk's size, checked, and find nothing amiss in its console."""
    begun_anew(bench)
    opened = desk_context.new_page()
    amiss: list[str] = []
    opened.on("pageerror", lambda error: amiss.append(str(error)))
    opened.on("dialog", lambda dialog: amiss.append(f"dialog: {dialog.message}"))
    opened.goto(bench.address)
    opened.wait_for_selector("html[data-picture=checked]")
    yield opened
    opened.close()
    assert not amiss


def hold(page: Page, key: str) -> None:
    """Take something in hand by its address: a sheet such as ``text``, or ``inlay/front/plate``."""
    page.evaluate("key => bench.hand.hold(key, true)", key)


def until(page: Page, holds: Callable[[], bool]) -> None:
    """Wait until something seen on a page holds."""
    end_s = time.monotonic() + PATIENCE_MS / 1000.0
    while not holds():
        assert time.monotonic() < end_s, "it never came to hold"
        page.wait_for_timeout(50)


AT_REST = (
    "() => !bench.board.lively && !bench.board.asked && !bench.board.painter.refining"
    " && !bench.board.painter.close?.waiting"
)
"""Nothing of the picture moves, or gets better any more."""


def keep(page: Page, name: str) -> None:
    """Keep a screenshot as build output, to be looked at."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=PICTURES / f"{name}.png")
