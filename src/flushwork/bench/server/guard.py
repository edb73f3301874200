"""The door of the bench: who may speak to it, how much, and what a page may do.

A page of another site can make a browser send requests here; it can neither forge the Host it used
nor the Origin it comes from.  So both are checked (RFC 9110, 7.2; RFC 6454, 7), and what changes
anything must come as JSON, which a foreign form cannot send.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BYTES: Final = 512 * 1024
"""Twice the longest job file that is read."""

PHOTO_PATH: Final = "/log/photo"
PHOTO_KINDS: Final = frozenset({"image/jpeg", "image/png", "image/webp"})
MOST_PHOTO_BYTES: Final = 16 * 1024 * 1024
FILE_PATH: Final = "/making/file"
FILE_KINDS: Final = frozenset({"application/octet-stream"})
MOST_FILE_BYTES: Final = 40_000_000
LARGE: Final = {
    PHOTO_PATH: (PHOTO_KINDS, MOST_PHOTO_BYTES),
    FILE_PATH: (FILE_KINDS, MOST_FILE_BYTES),
}
"""What may be sent as it is, of which kinds, and how much of it: photos, files for the job."""

HEADERS: Final = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


def loopback_hosts(port: int) -> frozenset[str]:
    """Return the Host values under which the bench on this machine answers."""
    return frozenset(f"{name}:{port}" for name in ("127.0.0.1", "localhost", "[::1]"))


class Guard:
    """Lets in what comes from this machine's own pages, and marks every answer."""

    def __init__(self, app: App, hosts: frozenset[str]) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {
            name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]
        }
        refusal = self._refusal(scope["method"], scope["path"], headers)
        if refusal is not None:
            await _refuse(send, *refusal)
            return
        most = LARGE[scope["path"]][1] if scope["path"] in LARGE else MOST_BYTES
        await self.app(scope, _limited(receive, most), _marked(send))

    def _refusal(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        if headers.get("host", "").lower() not in self.hosts:
            return 421, "The bench answers only under its own address."
        origin = headers.get("origin", "")
        if origin and origin.lower() not in {f"http://{host}" for host in self.hosts}:
            return 403, "Another page may not speak to the bench."
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and not _leads_here(
            method, headers
        ):
            return 403, "Another page may not speak to the bench."
        return None if method in ("GET", "HEAD") else _change_refused(method, path, headers)


def _leads_here(method: str, headers: dict[str, str]) -> bool:
    """Whether a link on a page of this machine is followed: from the shop to a bench, and back.

    The whole page is then ours (Fetch Metadata, W3C working draft, section 2): whoever has the link
    can neither read it nor change anything by it.
    """
    told = tuple(headers.get(f"sec-fetch-{name}") for name in ("site", "mode", "dest"))
    return method == "GET" and told == ("same-site", "navigate", "document")


def _change_refused(method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
    if method != "POST":
        return 405, "The bench knows only GET and POST."
    kind = headers.get("content-type", "").split(";")[0].strip()
    most = MOST_BYTES
    # neither can be sent by a form of another page without asking first
    if path in LARGE and kind in LARGE[path][0]:
        most = LARGE[path][1]
    elif kind != "application/json":
        return 415, "What changes anything must come as JSON, a photo as JPEG, PNG or WebP."
    length = headers.get("content-length", "0")
    if not length.isascii() or not length.isdigit() or len(length) > 12 or int(length) > most:
        return 413, f"That is too long; at most {most // 1024} kB are read."
    return None


class TooLongError(Exception):
    """A body without a stated length went on for too long."""


def _limited(receive: Receive, most: int) -> Receive:
    taken = 0

    async def limited() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > most:
            raise TooLongError
        return message

    return limited


def _marked(send: Send) -> Send:
    async def marked(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = {name.lower() for name, _ in message["headers"]}
            extra = [
                (name.encode(), value.encode())
                for name, value in HEADERS.items()
                if name.encode() not in given
            ]
            message = {**message, "headers": [*message["headers"], *extra]}
        await send(message)

    return marked


async def _refuse(send: Send, status: int, words: str) -> None:
    body = f"{words}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8")]
    headers += [(b"content-length", str(len(body)).encode())]
    marked = _marked(send)
    await marked({"type": "http.response.start", "status": status, "headers": headers})
    await marked({"type": "http.response.body", "body": body})
