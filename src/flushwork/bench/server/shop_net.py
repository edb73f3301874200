"""The shop's own network: a second door for the phone beside the machine, shut until asked for.

It opens on one private address of this machine, gives a phone the machine's page and the run's log
and nothing else, and knows a phone by a key that is good for one phone and ten minutes: whoever
shows it first gets a token in its place.  Shutting the door forgets every phone.
"""

from __future__ import annotations

import asyncio
import contextlib
import hmac
import io
import ipaddress
import secrets
import socket
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final
from urllib.parse import parse_qs

import uvicorn

from flushwork.bench.server.guard import App, Guard, Receive, Scope, Send
from flushwork.core.findings import FlushworkError

KEY_LASTS_S: Final = 600.0
MOST_PHONES: Final = 20
COOKIE: Final = "bench"
WITHOUT_KEY: Final = (
    "This page is for the shop's own phones. Ask for a code at the desk and scan it; a code is "
    "good for one phone and ten minutes."
)


class NetError(FlushworkError):
    """The second door cannot be opened; the message says why."""


@dataclass(frozen=True, slots=True)
class NetView:
    """How the second door stands: ``code`` is a QR code as SVG, ``link`` what it says."""

    on: bool
    address: str = ""
    link: str = ""
    code: str = ""
    lasts_s: float = 0.0
    phones: int = 0


def private_address() -> str:
    """Return this machine's address on its network.  Raises NetError where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            # nothing is sent: the system only says which of its addresses would be used
            # (the place asked for is kept for documents, RFC 5737)
            asked.connect(("192.0.2.1", 9))
            found = str(asked.getsockname()[0])
        except OSError:
            found = "0.0.0.0"  # noqa: S104 - stands for no address; nothing is bound to it
    address = ipaddress.ip_address(found)
    if address.is_unspecified or address.is_loopback:
        raise NetError("this machine is on no network that a phone could reach it by")
    if not address.is_private:
        raise NetError(f"{found} can be reached from outside; the bench opens on private ones only")
    return found


class Keys:
    """Who may come in: one key at a time for a new phone, a token for each that has shown it."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._key = ""
        self._until = 0.0
        self._tokens: list[str] = []

    def new_key(self) -> str:
        """Return a key; the one before it is no longer good."""
        self._key, self._until = secrets.token_urlsafe(18), self._clock() + KEY_LASTS_S
        return self._key

    @property
    def key(self) -> str:
        """The key that is good now, or nothing."""
        return self._key if self._clock() < self._until else ""

    @property
    def left_s(self) -> float:
        """How long the key is good."""
        return max(0.0, self._until - self._clock()) if self._key else 0.0

    @property
    def phones(self) -> int:
        """How many phones have come in."""
        return len(self._tokens)

    def exchange(self, key: str) -> str:
        """Return a token for a key, once; nothing for any other."""
        good = self.key
        if not good or not hmac.compare_digest(good.encode(), key.encode()):
            return ""
        self._key = ""
        if self.phones >= MOST_PHONES:
            return ""
        token = secrets.token_urlsafe(32)
        self._tokens.append(token)
        return token

    def knows(self, token: str) -> bool:
        """Whether a token is one that was given out."""
        found = [hmac.compare_digest(each.encode(), token.encode()) for each in self._tokens]
        return any(found)

    def forget(self) -> None:
        """Let nobody in any more."""
        self._key, self._tokens = "", []


class KeyedDoor:
    """Lets in who shows a token, gives one for a key, and turns all others away."""

    def __init__(self, app: App, keys: Keys) -> None:
        self.app = app
        self.keys = keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http" or self.keys.knows(_token(scope)):
            await self.app(scope, receive, send)
            return
        asked = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("key", [""])[0]
        token = self.keys.exchange(asked) if scope["method"] == "GET" and asked else ""
        if token:
            cookie = f"{COOKIE}={token}; Path=/; HttpOnly; SameSite=Lax; Max-Age=1209600"
            headers = [(b"location", b"/machine"), (b"set-cookie", cookie.encode())]
            await send({"type": "http.response.start", "status": 303, "headers": headers})
            await send({"type": "http.response.body", "body": b""})
            return
        body = WITHOUT_KEY.encode()
        headers = [(b"content-type", b"text/plain; charset=utf-8")]
        await send({"type": "http.response.start", "status": 401, "headers": headers})
        await send({"type": "http.response.body", "body": body})


def _token(scope: Scope) -> str:
    for name, value in scope["headers"]:
        if name == b"cookie":
            with contextlib.suppress(CookieError):
                found = SimpleCookie(value.decode("latin-1")).get(COOKIE)
                if found is not None:
                    return found.value
    return ""


class _Quiet(uvicorn.Server):
    """A server beside the first one, which alone listens for the end of all."""

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None, None, None]:
        yield


class ShopNet:
    """The second door: shut, or open on one address with the keys to it."""

    def __init__(self, app: App, address: Callable[[], str] | None = None) -> None:
        self.keys = Keys()
        self._app = app
        self._address = address
        self._server: _Quiet | None = None
        self._task: asyncio.Task[Any] | None = None
        self._at = ""

    def view(self) -> NetView:
        """Return how the door stands."""
        if self._server is None:
            return NetView(on=False)
        key = self.keys.key
        link = f"http://{self._at}/machine?key={key}" if key else ""
        return NetView(
            on=True,
            address=f"http://{self._at}/machine",
            link=link,
            code=code_svg(link) if link else "",
            lasts_s=self.keys.left_s,
            phones=self.keys.phones,
        )

    async def turn_on(self) -> None:
        """Open the door, or make a new key where it is open.  Raises NetError."""
        self.keys.new_key()
        if self._server is not None:
            return
        address = (self._address or private_address)()
        door = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        try:
            door.bind((address, 0))
        except OSError as error:
            door.close()
            raise NetError(f"{address} cannot be used: {error}") from error
        self._at = f"{address}:{door.getsockname()[1]}"
        guarded = Guard(KeyedDoor(self._app, self.keys), frozenset({self._at}))
        config = uvicorn.Config(
            guarded,
            log_level="error",
            access_log=False,
            lifespan="off",
            server_header=False,
            ws="none",
            timeout_graceful_shutdown=1,
        )
        self._server = _Quiet(config)
        self._task = asyncio.create_task(self._server.serve(sockets=[door]))
        while not self._server.started and not self._task.done():
            await asyncio.sleep(0.005)

    async def turn_off(self) -> None:
        """Shut the door and forget every phone."""
        self.keys.forget()
        server, task = self._server, self._task
        self._server = self._task = None
        if server is not None and task is not None:
            server.should_exit = True
            await task


def code_svg(link: str) -> str:
    """Return a link as a QR code (ISO/IEC 18004) in SVG."""
    import segno  # noqa: PLC0415 - only where a phone is asked for

    out = io.BytesIO()
    code = segno.make(link, error="m", micro=False)
    code.save(out, kind="svg", border=4, xmldecl=False, nl=False, omitsize=True, light="#fff")
    return out.getvalue().decode()
