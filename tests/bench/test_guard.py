"""Who may speak to the bench, and what a page of it may do."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.server.app import bench_app
from flushwork.bench.server.guard import MOST_BYTES, loopback_hosts
from tests.bench.conftest import HOST, JOB, ask, noon


@pytest.mark.parametrize("host", ["example.org", "127.0.0.1", "127.0.0.1:2", f"{HOST}.example.org"])
def test_a_foreign_host_is_refused(built: Desk, host: str) -> None:
    answer = ask(built, "GET", "/", headers={"host": host})
    assert answer.status_code == 421
    assert "Trial" not in answer.text


@pytest.mark.parametrize("origin", ["http://example.org", "null", f"https://{HOST}"])
def test_a_foreign_origin_is_refused(built: Desk, origin: str) -> None:
    answer = ask(built, "POST", "/try", headers={"origin": origin}, json={"text": "x"})
    assert answer.status_code == 403
    assert not built.status().trying


def test_a_page_of_another_site_is_refused_without_an_origin_too(built: Desk) -> None:
    answer = ask(built, "GET", "/text", headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403


def test_a_form_cannot_change_anything(built: Desk) -> None:
    answer = ask(built, "POST", "/try", data={"text": "x"})
    assert answer.status_code == 415


@pytest.mark.parametrize(
    "path",
    [
        "/static/../desk.py",
        "/static/%2e%2e/desk.py",
        "/static/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "/static//etc/passwd",
        "/static/bench.html.j2",
        "/board/1/../../lid.yaml",
        "/lid.yaml",
    ],
)
def test_no_path_leads_out(built: Desk, path: str) -> None:
    answer = ask(built, "GET", path)
    assert answer.status_code == 404


def test_a_body_that_is_too_long_is_refused(built: Desk) -> None:
    text = "x" * (MOST_BYTES + 1)
    assert ask(built, "POST", "/try", json={"text": text}).status_code == 413

    async def drip() -> AsyncIterator[bytes]:
        for _ in range(MOST_BYTES // 8192 + 2):
            yield b"x" * 8192

    json = {"content-type": "application/json"}
    assert ask(built, "POST", "/try", content=drip(), headers=json).status_code == 413
    assert not built.status().trying


def test_a_page_that_goes_away_while_it_sends_is_no_failure(built: Desk) -> None:
    """Nothing is raised into the server, which would print it for the woodworker to read."""
    sent: list[dict[str, object]] = []

    async def receive() -> dict[str, object]:
        return {"type": "http.disconnect"}

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(dict(message))

    head = {"host": HOST, "content-type": "application/json", "content-length": "9"}
    scope = {
        "type": "http", "method": "POST", "path": "/try", "raw_path": b"/try", "query_string": b"",
        "root_path": "", "scheme": "http", "http_version": "1.1", "client": None, "server": None,
        "headers": [(name.encode(), value.encode()) for name, value in head.items()],
    }  # fmt: skip

    async def left() -> None:
        await bench_app(built, frozenset({HOST}), noon)(scope, receive, send)

    # in a thread of its own: the browser's driver keeps a loop running in this one
    with ThreadPoolExecutor(1) as apart:
        apart.submit(lambda: asyncio.run(left())).result()
    assert sent[0]["status"] == 400
    assert not built.status().trying


def test_a_page_has_a_heading_before_the_first_picture(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    assert "<h1>lid" in ask(Desk(path), "GET", "/").text


@pytest.mark.parametrize("body", ["[", "[]", '"x"', '{"text": 7}', "[" * 20_000])
def test_what_is_no_sensible_json_is_refused(built: Desk, body: str) -> None:
    json = {"content-type": "application/json"}
    answer = ask(built, "POST", "/try", content=body, headers=json)
    assert answer.status_code == 400
    assert "error" in answer.json()


@pytest.mark.parametrize(
    "query",
    ["stage=99", "stage=-1", "stage=x", "stage=4&face=top", "stage=4&x0=nan", "stage=4&x0=1e99"],
)
def test_nonsense_in_a_query_is_refused_in_words(built: Desk, query: str) -> None:
    snapshot = built.status().snapshot
    assert snapshot is not None
    rest = "&y0=1&x1=20&y1=20" + ("" if "x0" in query else "&x0=1")
    answer = ask(built, "GET", f"/board/{snapshot.generation}/section?{query}{rest}")
    assert answer.status_code in (400, 404)
    assert "Traceback" not in answer.text


def test_every_answer_carries_a_policy_that_lets_nothing_in_from_outside(built: Desk) -> None:
    for path in ("/", "/static/bench.js", "/standing", "/nowhere"):
        policy = ask(built, "GET", path).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "http" not in policy


def test_the_page_asks_for_nothing_elsewhere(built: Desk) -> None:
    for path in ("/", "/static/bench.css", "/static/bench.js", "/static/board.js"):
        text = ask(built, "GET", path).text.replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text
        assert "https:" not in text


def test_names_in_the_job_are_shown_as_text(built: Desk) -> None:
    parts = ask(built, "GET", "/parts").json()["parts"]
    for html in parts.values():
        assert "<script>alert" not in html
        assert "<b>lid</b>" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in parts["head"]


def test_loopback_has_three_names() -> None:
    assert loopback_hosts(80) == {"127.0.0.1:80", "localhost:80", "[::1]:80"}
