"""The shop's page as its routes answer, and the benches it opens."""

from __future__ import annotations

import datetime as dt
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

import flushwork
from flushwork.bench.server.guard import App, Guard
from flushwork.bench.shop.open_benches import MOST_OPEN, OpenBenches, OpenError
from flushwork.bench.shop.shop_app import shop_app
from flushwork.store import digest
from flushwork.usecases.jobs import starter_job_text, starter_shop_text
from flushwork.usecases.kept_check import keep_check, load_check
from flushwork.usecases.shop_jobs import JobState, shop_jobs
from tests.bench.conftest import HOST, ask_app, noon


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "shop.yaml").write_text(starter_shop_text(), "utf-8")
    (tmp_path / "lid.yaml").write_text(starter_job_text("Lid <b>x</b>"), "utf-8")
    return tmp_path


@pytest.fixture
def app(shop: Path) -> Iterator[App]:
    benches = OpenBenches("http://127.0.0.1:1/")
    yield shop_app(shop, benches, frozenset({HOST}), noon)
    benches.close_all()


def post(app: App, path: str, **sent: object) -> httpx.Response:
    return ask_app(app, "POST", path, json=sent)


def keys(app: App) -> list[str]:
    return re.findall(r'data-key="(\w+)"', ask_app(app, "GET", "/cards").json()["html"])


def test_a_card_says_what_is_known_and_no_more(app: App, shop: Path) -> None:
    html = ask_app(app, "GET", "/").text
    assert "Lid &lt;b&gt;x&lt;/b&gt;" in html
    assert "Not checked yet" in html
    (key,) = keys(app)
    outline = ask_app(app, "GET", f"/picture/{key}")
    assert outline.headers["content-type"].startswith("image/svg")
    made = flushwork.build(shop / "lid.yaml")
    keep_check(shop / "lid.yaml", made)
    assert "OK to cut" in ask_app(app, "GET", "/").text
    assert ask_app(app, "GET", f"/picture/{key}").content.startswith(b"\x89PNG")
    steps = load_check(shop / "lid.yaml")
    assert steps is not None
    log = shop / "lid log.json"
    ticks = {step: list(steps.pieces) for step in steps.steps}
    some = dict(list(ticks.items())[:2])
    log.write_text(json.dumps({"ticks": some, "notes": {}, "timers": []}), "utf-8")
    assert f"Under way, next: {steps.steps[2]}" in ask_app(app, "GET", "/").text
    log.write_text(json.dumps({"ticks": ticks, "notes": {}, "timers": []}), "utf-8")
    assert [job.state for job in shop_jobs(shop).jobs] == [JobState.DONE]
    log.unlink()
    (shop / "shop.yaml").write_text(starter_shop_text() + "cure places: 3\n", "utf-8")
    assert [job.state for job in shop_jobs(shop).jobs] == [JobState.CHANGED], "its shop has changed"


def test_a_build_tells_of_its_check_until_something_changes(app: App, shop: Path) -> None:
    path = shop / "lid.yaml"
    path.write_text(path.read_text("utf-8").replace("2.5 mm", "9 mm"), "utf-8")
    flushwork.write(flushwork.build(path), path, today=dt.date(2026, 5, 4))
    assert "Must fix: 1 finding" in ask_app(app, "GET", "/").text
    (key,) = keys(app)
    assert ask_app(app, "GET", f"/picture/{key}").content.startswith(b"\x89PNG")
    path.write_text(path.read_text("utf-8").replace("9 mm", "2 mm"), "utf-8")
    assert "Changed since its check" in ask_app(app, "GET", "/").text


def test_acts_answer_in_words_and_take_no_path_from_a_page(app: App, shop: Path) -> None:
    (key,) = keys(app)
    for path in ("/copy", "/open", "/attic", "/back", "/close"):
        assert post(app, path, job="../lid.yaml").status_code == 404
        assert post(app, path, job=7).status_code == 400
    refused = post(app, "/rename", job=key, title=" ")
    assert (refused.status_code, refused.json()["error"]) == (
        409,
        "A title has 1 to 120 letters on one line.",
    )
    copied = post(app, "/copy", job=key).json()["job"]
    assert set(keys(app)) == {key, copied}
    away = post(app, "/attic", job=copied).json()["job"]
    assert post(app, "/copy", job=away).status_code == 404, "what lies in the attic is left alone"
    assert post(app, "/back", job=away).json()["job"] == copied
    size = {"length": "130 mm", "width": "5 in", "thickness": "12 mm"}
    begun = post(app, "/start", title="../../lid", wood="sugar maple", pieces=3, **size)
    assert begun.status_code == 200
    assert (shop / "lid" / "job.yaml").is_file()
    assert flushwork.load(shop / "lid" / "job.yaml").title == "../../lid"
    assert post(app, "/start", title="x", wood="x", pieces="3", **size).status_code == 400
    assert post(app, "/start", title="x", wood="x", pieces=0, **size).status_code == 409


def test_a_job_that_cannot_be_read_says_why(app: App, shop: Path) -> None:
    (shop / "lid.yaml").write_text("flushwork: 2\nblank: [\n", "utf-8")
    (key,) = keys(app)
    (slip,) = ask_app(app, "GET", f"/slips/{key}").json()["slips"]
    assert slip
    (shop / "lid.yaml").write_bytes(b"\xff")
    assert "Cannot be read: it is not UTF-8 text" in ask_app(app, "GET", "/").text


def test_a_link_of_this_machine_leads_here_and_nothing_else_of_it_does(app: App) -> None:
    followed = {"sec-fetch-site": "same-site", "sec-fetch-mode": "navigate"}
    document = {**followed, "sec-fetch-dest": "document"}
    assert ask_app(app, "GET", "/", headers=document).status_code == 200
    for refused in (
        {**followed, "sec-fetch-dest": "iframe"},
        {**document, "sec-fetch-mode": "cors"},
        {**document, "sec-fetch-site": "cross-site"},
    ):
        assert ask_app(app, "GET", "/cards", headers=refused).status_code == 403
    assert ask_app(app, "POST", "/copy", headers=document, json={"job": ""}).status_code == 403
    assert isinstance(app, Guard)


def test_a_bench_ends_with_its_shop(shop: Path) -> None:
    benches = OpenBenches("http://127.0.0.1:9/")
    address = benches.open(shop / "lid.yaml")
    assert benches.open(shop / "lid.yaml") == address
    answer = httpx.get(address, trust_env=False, timeout=180)
    assert "http://127.0.0.1:9/" in answer.text, "the way back to the shop"
    process = benches._running[shop / "lid.yaml"][0]
    benches.close(shop / "lid.yaml")
    assert process.poll() is not None
    assert benches.paths() == frozenset()


def test_a_bench_ends_where_its_shop_was_killed(shop: Path) -> None:
    command = [sys.executable, "-m", "flushwork.bench.shop.one_bench", str(shop / "lid.yaml"), ""]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert "address" in json.loads(process.stdout.readline())
        # all that is left of a killed process is that its pipes are shut
        process.stdin.close()
        assert process.wait(180) is not None


def test_a_bench_that_cannot_be_opened_says_why(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    benches = OpenBenches("")
    (shop / "lid.yaml").write_bytes(b"\xff")
    with pytest.raises(OpenError, match="UTF-8"):
        benches.open(shop / "lid.yaml")
    assert MOST_OPEN > 1
    monkeypatch.setattr("flushwork.bench.shop.open_benches.MOST_OPEN", 0)
    with pytest.raises(OpenError, match="close one of them"):
        benches.open(shop / "other.yaml")


def test_the_shops_file_is_changed_undone_and_never_written_over(app: App, shop: Path) -> None:
    path = shop / "shop.yaml"
    before = path.read_text("utf-8")
    page = ask_app(app, "GET", "/shop?part=machine").text
    was = digest(path.read_bytes())
    assert was in page
    assert "How far it moves" in page
    feed = {"part": "machine", "steps": ["machine", "feed"]}
    refused = post(app, "/shop/set", value="fast", was=was, **feed)
    assert (refused.status_code, path.read_text("utf-8")) == (409, before)
    assert "not a feed" in refused.json()["error"]
    assert post(app, "/shop/set", value="2000 mm/min", was=was, **feed).status_code == 200
    assert path.read_text("utf-8") == before.replace("3000 mm/min", "2000 mm/min")
    stale = post(app, "/shop/set", value="1000 mm/min", was=was, **feed)
    assert (stale.status_code, stale.json()["stale"]) == (409, True)
    now = digest(path.read_bytes())
    assert post(app, "/shop/undo", part="machine", was=now).status_code == 200
    assert path.read_text("utf-8") == before
    assert post(app, "/shop/redo", part="machine", was=was).status_code == 200
    path.write_text(before + "# by hand\n", "utf-8")
    outside = post(app, "/shop/set", value="900 mm/min", was=now, **feed)
    assert outside.json()["stale"]
    assert path.read_text("utf-8").endswith("# by hand\n")
    for sent in ({"steps": "machine"}, {"steps": [], "value": "x"}, {"steps": ["a"] * 9}):
        assert post(app, "/shop/set", part="", was=was, **sent).status_code == 400
    bits = {"part": "bits", "was": digest(path.read_bytes())}
    assert post(app, "/shop/add", name="30 deg V-bit", like="", **bits).status_code == 200
    bits["was"] = digest(path.read_bytes())
    assert post(app, "/shop/out", name="30 deg V-bit", **bits).status_code == 200
    path.write_text("flushwork shop: [\n", "utf-8")
    assert "cannot be read" in ask_app(app, "GET", "/shop").text


def test_a_shop_begins_with_its_first_minute(tmp_path: Path) -> None:
    app = shop_app(tmp_path, OpenBenches(""), frozenset({HOST}), noon)
    assert ask_app(app, "GET", "/").headers["location"] == "/first"
    assert ask_app(app, "GET", "/?skip").status_code == 200
    assert "The bits in your drawer" in ask_app(app, "GET", "/first").text
    told = {"units": "inch", "travel": ["24 in", "16 in", "3 in"], "resin": "casting epoxy"}
    wrong = post(app, "/first", bits=["spoon"], scales=["fine scale"], **told)
    assert (wrong.status_code, list(tmp_path.iterdir())) == (409, [])
    bits = ["3.175 mm flat", "1 mm flat"]
    assert post(app, "/first", bits=bits, scales=["fine scale"], **told).status_code == 200
    assert "inch" in (tmp_path / "shop.yaml").read_text("utf-8")
    again = post(app, "/first", bits=bits, scales=["fine scale"], **told)
    assert again.status_code == 409, "a shop file is never written over"
    assert ask_app(app, "GET", "/first").headers["location"] == "/shop"
    assert ask_app(app, "GET", "/first-board").json()["length"] == "5 in"
