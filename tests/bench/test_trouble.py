"""When things go wrong: a slow machine, a bench killed and started again, a broken file, no WebGL.

Whatever happens the page says in plain words what it waits for, the picture in sight stays, and
nothing that was typed is lost.
"""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from flushwork.bench.desk.desk import Desk
from flushwork.bench.server.serve import BenchError, own_port, serve
from tests.bench.conftest import (
    JOB,
    PATIENCE_MS,
    Served,
    ask,
    hold,
    keep,
    noon,
    until,
    waited,
)

TYPED = f"{JOB}# typed, not saved\n"


class Killed:
    """A bench in a process of its own, to be stopped, killed and started again."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.address = ""
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        command = [sys.executable, "-m", "flushwork", "bench", "--no-open", str(self.path)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        said = self.process.stdout.readline()
        found = re.search(r"http://\S+", said)
        assert found is not None, said
        self.address = found[0]

    def send(self, sign: signal.Signals) -> None:
        assert self.process is not None
        os.kill(self.process.pid, sign)

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait(PATIENCE_MS / 1000.0)
            assert self.process.stdout is not None
            self.process.stdout.close()
            self.process = None


@pytest.fixture
def killed(tmp_path: Path) -> Iterator[Killed]:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    own = Killed(path)
    own.start()
    yield own
    own.kill()


@pytest.fixture
def fresh(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    yield context
    context.close()


def checked(page: Page, address: str) -> None:
    page.goto(address)
    page.wait_for_selector("html[data-picture=checked]")


def told(address: str) -> dict[str, Any]:
    """Return what a bench answers, however long it takes."""
    answer = httpx.get(address, timeout=PATIENCE_MS / 1000.0)
    return dict(answer.json())


def stands_still(page: Page, killed: Killed) -> None:
    """Let the bench stand still while something is typed: told and waited for, then gone on."""
    work = page.locator("#work")
    killed.send(signal.SIGSTOP)
    try:
        page.locator("#job").fill(f"{TYPED}# and on\n")
        expect(work).to_contain_text("has not answered")
        expect(work).to_contain_text("what you type is kept")
        expect(page.locator("#live")).to_be_visible()
    finally:
        killed.send(signal.SIGCONT)
    expect(work).not_to_contain_text("has not answered")
    until(page, lambda: bool(page.evaluate("!bench.busy")))
    expect(page.locator("#job")).to_have_value(f"{TYPED}# and on\n")


def typed_everywhere(page: Page) -> tuple[Locator, Locator]:
    """Type into a weighing card, tick a line, change the text; return text and card."""
    hold(page, "pour/1")
    weigh = page.locator("form.along [name=resin]").first
    weigh.fill("11.4")
    hold(page, "setup/1")
    page.locator("#cuts .check input").first.check()
    hold(page, "text")
    area = page.locator("#job")
    area.fill(TYPED)
    return area, weigh


def test_a_bench_that_stands_still_and_is_killed_loses_nothing_of_what_was_typed(
    fresh: BrowserContext, killed: Killed
) -> None:
    page = fresh.new_page()
    amiss: list[str] = []
    page.on("pageerror", lambda error: amiss.append(str(error)))
    checked(page, killed.address)
    area, weigh = typed_everywhere(page)
    phone = fresh.new_page()
    phone.goto(f"{killed.address}machine#1")
    note = phone.locator("textarea:visible")
    expect(note).to_be_visible()
    first = killed.address
    stands_still(page, killed)
    area.fill(TYPED)
    killed.kill()
    expect(page.locator("#work")).to_contain_text("closed")
    expect(page.locator("#work")).to_contain_text("What you typed stays here")
    expect(page.locator("#live")).to_be_visible()
    page.locator("#save").click()
    expect(page.locator("#text-state")).to_contain_text("nothing was saved")
    hold(page, "pour/1")
    page.locator("form.other [name=pieces]").first.fill("1")
    keep(page, "desk-killed")
    hold(page, "text")
    note.fill("written while the bench was away")
    phone.locator("#on").focus()
    expect(phone.locator("#said")).to_contain_text("does not answer")
    expect(area).to_have_value(TYPED)
    killed.start()
    assert killed.address == first, "a bench started again has the address it had"
    expect(page.locator("#work")).not_to_contain_text("closed")
    expect(page.locator("#text-state")).to_have_text("Not saved.")
    back = "!bench.busy && bench.generation > 1 && !bench.away"
    until(page, lambda: bool(page.evaluate(back)))
    expect(area).to_have_value(TYPED)
    expect(weigh).to_have_value("11.4")
    expect(page.locator("form.along output").first).to_contain_text("until it shows")
    expect(page.locator("#cuts .check input").first).to_be_checked()
    name = page.evaluate("import('/static/page.js').then((own) => own.PAGE)")
    # what is typed is tried by the new bench as well
    until(page, lambda: bool(told(f"{first}standing?page={name}")["trying"]))
    assert not told(f"{first}standing")["trying"], "and seen on no other page"
    page.locator("#save").click()
    expect(page.locator("#text-state")).to_have_text("Saved.")
    assert killed.path.read_text("utf-8") == TYPED
    expect(phone.locator("#said")).to_have_text("")
    notes = "written while the bench was away"
    until(page, lambda: notes in told(f"{first}log")["notes"].values())
    assert amiss == []


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], None]]:
    """Let a build wait in its first room until it is let go."""
    go, plain = threading.Event(), Desk._progress
    stuck = threading.Event()

    def waits(desk: Desk, room: str) -> None:
        plain(desk, room)
        if stuck.is_set() and room == "fit the bits":
            go.wait(PATIENCE_MS / 1000.0)

    monkeypatch.setattr(Desk, "_progress", waits)
    stuck_now = stuck.set
    yield stuck_now
    go.set()


def test_a_slow_build_says_what_it_does_and_the_picture_before_stays(
    fresh: BrowserContext, tmp_path: Path, slow: Callable[[], None]
) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    served = Served(path)
    page = fresh.new_page()
    checked(page, served.address)
    before = page.evaluate("bench.generation")
    slow()
    hold(page, "text")
    area = page.locator("#job")
    area.fill(JOB.replace("30 mm x 20 mm", "32 mm x 20 mm"))
    work = page.locator("#work")
    expect(work).to_have_text("Fit the bits …")
    area.press("End")
    area.press_sequentially("# on and on")
    expect(work).to_contain_text("for 5 seconds now")
    expect(work).to_contain_text("The picture in sight is the one before; what you type is kept")
    assert page.evaluate("bench.generation") == before
    expect(page.locator("#live")).to_be_visible()
    expect(area).to_have_value(re.compile("# on and on"))
    keep(page, "desk-slow")


def test_a_file_broken_outside_is_told_and_the_picture_stays(
    fresh: BrowserContext, tmp_path: Path
) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    served = Served(path)
    page = fresh.new_page()
    checked(page, served.address)
    before = page.evaluate("bench.generation")
    hold(page, "text")
    area = page.locator("#job")
    path.write_text(JOB.replace("front:", "front: ["), encoding="utf-8")
    expect(page.locator("#slips li").first).to_contain_text("line")
    expect(area).to_have_value(re.compile(r"front: \["))
    assert page.evaluate("bench.generation") == before
    area.fill(f"{path.read_text('utf-8')}# mine\n")
    path.write_bytes(b"\xff\xfe broken")
    expect(page.locator("#conflict")).to_be_visible()
    expect(area).to_have_value(re.compile("# mine"))
    path.unlink()
    for _ in range(2):
        with page.expect_response("**/standing*"):
            pass
    expect(page.locator("#conflict")).to_be_visible()
    expect(area).to_have_value(re.compile("# mine"))
    expect(page.locator("#live")).to_be_visible()
    assert page.evaluate("bench.generation") == before


def test_a_file_that_goes_away_or_is_no_text_is_no_reason_to_fail(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    snapshot = waited(desk)
    for harm in (lambda: path.write_bytes(b"\xff\xfe"), path.unlink):
        harm()
        now = ask(desk, "GET", "/standing").json()
        assert now["outside"]
        assert now["generation"] == snapshot.generation
        assert ask(desk, "POST", "/save", json={"text": "x", "was": now["digest"]}).status_code == (
            409
        )
        assert ask(desk, "GET", "/").status_code == 200
    desk.close()


def test_without_webgl_the_page_says_so_and_all_else_works(browser: Browser, bench: Served) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    context.add_init_script(
        "const was = HTMLCanvasElement.prototype.getContext;"
        "HTMLCanvasElement.prototype.getContext = function (kind, ...more) {"
        "  return kind.startsWith('webgl') ? null : was.call(this, kind, ...more); };"
    )
    page = context.new_page()
    amiss: list[str] = []
    page.on("pageerror", lambda error: amiss.append(str(error)))
    checked(page, bench.address)
    expect(page.locator("#no-live")).to_contain_text("still pictures")
    painted = (
        "(() => { const c = document.getElementById('live');"
        " const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;"
        " let n = 0; for (let i = 3; i < d.length; i += 400) n += d[i] > 0; return n; })()"
    )
    until(page, lambda: int(page.evaluate(painted)) > 100)
    page.locator("#reel").focus()
    page.keyboard.press("Home")
    assert page.evaluate(painted) > 100, "the picture before stays until the next is there"
    page.click("#turn")
    page.click('button[data-mode="measure"]')
    page.locator("#live").click(position={"x": 500, "y": 200})
    expect(page.locator("#readout")).not_to_be_empty()
    keep(page, "desk-no-webgl")
    assert amiss == []
    context.close()


def test_a_bench_takes_its_own_port_or_any_other(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    own = own_port(path)
    assert own == own_port(tmp_path / "." / "lid.yaml")
    assert 49152 <= own < 65536
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", own))
        taken.listen()
        assert Served(path).address != f"http://127.0.0.1:{own}/"
        with pytest.raises(BenchError, match="cannot be used"):
            serve(path, own, lambda _: None, noon)
