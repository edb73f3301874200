"""The door to the shop's network, and photos: what comes in, and what does not."""

from __future__ import annotations

import asyncio
import io
import ipaddress
import struct
import zlib
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import (
    LONGEST_PX,
    LogError,
    PhotoError,
    RunLog,
    kept_photo,
    log_path,
    photo_name,
)
from flushwork.bench.server.app import phone_app
from flushwork.bench.server.shop_net import KEY_LASTS_S, Keys, NetError, ShopNet, private_address
from tests.bench.conftest import JOB, PATIENCE_MS, ask, noon


def picture(kind: str = "JPEG", size: tuple[int, int] = (300, 200), **more: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (120, 90, 60)).save(out, kind, **more)
    return out.getvalue()


def over_the_network(
    desk: Desk, talk: Callable[[ShopNet, httpx.AsyncClient], Awaitable[None]]
) -> None:
    """Open the door on loopback, talk, and shut it."""

    async def whole() -> None:
        net = ShopNet(phone_app(desk, RunLog(desk.path), noon), lambda: "127.0.0.1")
        try:
            async with httpx.AsyncClient(timeout=PATIENCE_MS / 1000.0) as client:
                await talk(net, client)
        finally:
            await net.turn_off()

    with ThreadPoolExecutor(1) as apart:
        apart.submit(lambda: asyncio.run(whole())).result()


def test_a_key_is_good_once_and_for_a_time() -> None:
    now = [0.0]
    keys = Keys(lambda: now[0])
    assert keys.exchange("") == ""
    key = keys.new_key()
    assert keys.exchange(key[:-1]) == ""
    token = keys.exchange(key)
    assert token
    assert keys.knows(token)
    assert not keys.knows("")
    assert keys.exchange(key) == "", "twice"
    late = keys.new_key()
    now[0] += KEY_LASTS_S + 1.0
    assert keys.exchange(late) == "", "too late"
    old, new = keys.new_key(), keys.new_key()
    assert keys.exchange(old) == "", "another has been made"
    assert keys.exchange(new)
    keys.forget()
    assert not keys.knows(token)


def test_the_door_is_shut_until_it_is_opened_and_forgets_when_shut(built: Desk) -> None:
    async def talk(net: ShopNet, client: httpx.AsyncClient) -> None:
        assert not net.view().on
        await net.turn_on()
        view = net.view()
        assert view.code.startswith("<svg")
        assert (await client.get(view.address)).status_code == 401
        first = await client.get(view.link)
        assert first.status_code == 303
        assert "HttpOnly" in first.headers["set-cookie"]
        assert "key" not in first.headers["location"]
        assert "Surface the" in (await client.get(view.address)).text
        stranger = httpx.AsyncClient(timeout=PATIENCE_MS / 1000.0)
        assert (await stranger.get(view.link)).status_code == 401, "one phone a key"
        await stranger.aclose()
        await net.turn_off()
        with pytest.raises(httpx.ConnectError):
            await client.get(view.address)
        await net.turn_on()
        assert (await client.get(net.view().address)).status_code == 401, "forgotten"

    over_the_network(built, talk)


def test_a_phone_gets_the_machine_and_nothing_else(built: Desk) -> None:
    async def talk(net: ShopNet, client: httpx.AsyncClient) -> None:
        await net.turn_on()
        at = net.view().address.removesuffix("/machine")
        await client.get(net.view().link)
        assert (await client.get(f"{at}/log")).status_code == 200
        for path in ("/", "/text", "/parts", "/standing", "/network", "/shelf", "/board/1/film"):
            assert (await client.get(f"{at}{path}")).status_code == 404, path
        for path in ("/save", "/try", "/undo", "/theirs", "/network", "/asking/sweep"):
            answer = await client.post(f"{at}{path}", json={"text": "x", "was": ""})
            assert answer.status_code == 404, path
        foreign = {"origin": "http://example.org"}
        tick = {"stage": "a", "piece": "1", "done": True}
        assert (await client.post(f"{at}/log/tick", json=tick, headers=foreign)).status_code == 403
        host = {"host": "example.org"}
        assert (await client.get(f"{at}/machine", headers=host)).status_code == 421

    over_the_network(built, talk)


@pytest.mark.parametrize(
    ("found", "why"),
    [
        ("127.0.0.1", "no network"),
        ("8.8.8.8", "outside"),
        (str(ipaddress.ip_address(0)), "no network"),
    ],
)
def test_only_a_private_address_is_opened(
    monkeypatch: pytest.MonkeyPatch, found: str, why: str
) -> None:
    class Asked:
        def __init__(self, *_: object) -> None: ...
        def __enter__(self) -> Asked:
            return self

        def __exit__(self, *_: object) -> None: ...
        def connect(self, _: object) -> None: ...
        def getsockname(self) -> tuple[str, int]:
            return found, 1

    monkeypatch.setattr("flushwork.bench.server.shop_net.socket.socket", Asked)
    with pytest.raises(NetError, match=why):
        private_address()


def test_a_photo_is_made_small_upright_and_free_of_what_the_camera_wrote() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned by a quarter
    exif[0x010E] = "a secret place"
    kept = kept_photo(picture(size=(3000, 1000), exif=exif), "image/jpeg")
    assert b"secret" not in kept
    with Image.open(io.BytesIO(kept)) as snapshot:
        assert snapshot.size == (LONGEST_PX // 3, LONGEST_PX) or snapshot.size == (667, LONGEST_PX)
        assert not snapshot.getexif()


def bomb() -> bytes:
    """Return a PNG of few bytes that says it has 30,000 x 30,000 pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", 30_000, 30_000, 8, 2, 0, 0, 0)
    packed = zlib.compress(b"\0" * 1000)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", "image/jpeg"),
        (b"<script>alert(1)</script>", "image/jpeg"),
        (picture("PNG"), "image/jpeg"),
        (picture()[:400], "image/jpeg"),
        (picture("GIF"), "image/gif"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "image/svg+xml"),
        (bomb(), "image/png"),
        (b"\xff" * (16 * 1024 * 1024 + 1), "image/jpeg"),
    ],
    ids=["empty", "script", "other kind", "broken", "gif", "svg", "bomb", "too large"],
)
def test_what_is_no_photo_is_refused(data: bytes, kind: str) -> None:
    with pytest.raises(PhotoError):
        kept_photo(data, kind)


def test_a_name_of_a_photo_leads_nowhere() -> None:
    assert "/" not in photo_name("../../etc/passwd <b>", b"x")
    assert photo_name("\N{GREEK SMALL LETTER OMEGA}", b"x").startswith("step ")


def test_photos_lie_beside_the_job_and_only_they_are_handed_out(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    jpeg = {"content-type": "image/jpeg"}
    answer = ask(desk, "POST", "/log/photo?stage=Cut", content=picture(), headers=jpeg)
    assert answer.status_code == 200
    (name,) = answer.json()["photos"]["Cut"]
    assert (tmp_path / "lid photos" / name).is_file()
    assert ask(desk, "GET", f"/log/photo/{name}").headers["content-type"] == "image/jpeg"
    for other in ("..%2Flid.yaml", "%2e%2e%2flid.yaml", "lid.yaml", "x.jpg"):
        assert ask(desk, "GET", f"/log/photo/{other}").status_code == 404
    refused = ask(desk, "POST", "/log/photo?stage=Cut", content=b"no picture", headers=jpeg)
    assert refused.status_code == 400
    assert "no picture" in refused.json()["error"]
    html = {"content-type": "text/html"}
    assert ask(desk, "POST", "/log/photo?stage=Cut", content=b"x", headers=html).status_code == 415
    assert ask(desk, "POST", "/log/tick", content=picture(), headers=jpeg).status_code == 415
    long = {**jpeg, "content-length": str(17 * 1024 * 1024)}
    assert ask(desk, "POST", "/log/photo?stage=C", content=b"x", headers=long).status_code == 413
    gone = ask(desk, "POST", "/log/photo/away", json={"stage": "Cut", "name": name}).json()
    assert gone["photos"]["Cut"] == []
    assert (tmp_path / "lid photos" / name).is_file()


def test_a_log_that_somebody_broke_is_left_alone(tmp_path: Path) -> None:
    log = RunLog(tmp_path / "lid.yaml")
    log_path(log.job).write_text('{"ticks": {}, "notes": {}, "timers": [], "photos": 3}')
    with pytest.raises(LogError):
        log.photo("Cut", picture(), "image/jpeg")
