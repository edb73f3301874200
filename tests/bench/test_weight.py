"""How much a page sends for: little at first, less at a reload, the rest when it is looked at."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
from playwright.sync_api import BrowserContext, Page, expect

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.first_build import SHARES
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.pipeline import build
from tests.bench.conftest import JOB, Served, ask

STAGE = 5


def sent(page: Page, act: str) -> dict[str, int]:
    """Return the bytes that came over the wire for each address while a page is loaded."""
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    addresses: dict[str, str] = {}
    bytes_of: dict[str, int] = {}

    def answered(event: dict[str, object]) -> None:
        response = event["response"]
        assert isinstance(response, dict)
        addresses[str(event["requestId"])] = str(response["url"])

    def finished(event: dict[str, object]) -> None:
        address = addresses.get(str(event["requestId"]), "")
        size = event["encodedDataLength"]
        assert isinstance(size, int | float)
        bytes_of[address] = bytes_of.get(address, 0) + int(size)

    session.on("Network.responseReceived", answered)
    session.on("Network.loadingFinished", finished)
    page.goto(act)
    page.wait_for_selector("html[data-picture=checked]")
    page.wait_for_function("() => bench.hand.index")
    page.evaluate("() => bench.board.film.rest()")
    session.detach()
    return bytes_of


def tiles_of(bytes_of: dict[str, int]) -> int:
    return sum(size for address, size in bytes_of.items() if address.endswith("/tiles"))


def test_a_reload_asks_for_no_pixels_again_and_other_stages_come_when_looked_at(
    desk_context: BrowserContext, bench: Served
) -> None:
    page = desk_context.new_page()
    first = sent(page, bench.address)
    assert sum(first.values()) < 2_000_000
    here = "bench.board.film.missing(bench.strip.stage, 'front').length"
    there = f"bench.board.film.missing({STAGE}, 'front').length"
    assert page.evaluate(here) == 0
    assert page.evaluate(there) > 0, "nobody has looked at that stage yet"
    again = sent(page, bench.address)
    assert tiles_of(again) == 0, "the browser has kept them"
    assert sum(again.values()) < 2_000_000
    assert page.evaluate(here) == 0
    page.locator(f'.shot[data-stage="{STAGE}"]').click()
    page.wait_for_function(f"() => {there} === 0")
    expect(page.locator("#late")).to_have_text("")
    page.close()


def test_answers_travel_compressed_and_scripts_are_sent_once(
    bench: Served, snapshot: Snapshot, built: Desk
) -> None:
    plain = {"accept-encoding": "identity"}
    for path in ("", "static/bench.css", "static/lato.ttf"):
        packed = httpx.get(bench.address + path)
        assert packed.headers["content-encoding"] == "gzip", path
        assert httpx.get(bench.address + path, headers=plain).content == packed.content
    script = httpx.get(f"{bench.address}static/board.js")
    again = httpx.get(
        f"{bench.address}static/board.js", headers={"if-none-match": script.headers["etag"]}
    )
    assert (again.status_code, again.content) == (304, b"")
    film = ask(built, "GET", f"/board/{snapshot.generation}/wood?face=front")
    assert film.headers["content-encoding"] == "gzip"
    assert film.content == snapshot.film.wood["front"].tobytes()


def test_the_first_build_tells_how_much_of_it_is_done(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    rooms: list[str] = []
    build(path, rooms.append)
    assert set(rooms) <= set(SHARES[1]), "every room of the walk has its share"
    for shares in SHARES:
        told = list(shares.values())
        assert told == sorted(told)
    assert max(SHARES[0].values()) < min(SHARES[1].values())
    desk = Desk(path)
    seen: list[float] = []
    plain = desk._progress

    def watched(room: str) -> None:
        plain(room)
        share = desk.status().share
        assert share is not None, room
        seen.append(share)

    desk._builds._progress = watched
    desk.open()
    assert desk.wait(120.0)
    assert len(seen) > 5
    assert seen == sorted(seen)
    assert desk.status().share is None
    desk.try_text("page1", re.sub("pieces: 2", "pieces: 3", JOB))
    assert desk.status("page1").share is None, "told of the first build alone"
    desk.close()
