"""The bench on loopback: a socket, a server, and the end of both."""

from __future__ import annotations

import asyncio
import datetime as dt
import os
import socket
import sys
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Final

import uvicorn

from flushwork.bench.desk.desk import Desk
from flushwork.bench.server.app import bench_app
from flushwork.bench.server.guard import App, loopback_hosts
from flushwork.core.findings import FlushworkError

LOOPBACK: Final = "127.0.0.1"
OWN_PORTS: Final = (49152, 16384)
"""The first and the count of the ports nobody owns (RFC 6335, section 6)."""


NEW: Final = (".yaml", ".yml")
"""A file of such a name that is not there yet is a job to be begun."""
TURN_S: Final = 0.001
"""How long the building thread may make an answer wait for its turn: a fifth of what is usual."""


class BenchError(FlushworkError):
    """The bench cannot be set up; the message says why."""


def serve(
    path: Path,
    port: int,
    ready: Callable[[str], None],
    clock: Callable[[], dt.datetime],
    shop: str = "",
) -> None:
    """Serve the bench of a job until it is interrupted.

    ``ready`` is told the address, ``clock`` tells the time in UTC; ``shop`` is the address of the
    shop's page that the bench was opened from.  Port 0 takes any that is free.  Raises
    ``JobRefusedError`` where the file is no text at all and ``BenchError`` where the port is taken.
    """
    _look_at(path)
    sys.setswitchinterval(TURN_S)

    def opened(address: str) -> tuple[App, Callable[[], None], Callable[[], None]]:
        desk = Desk(path)
        hosts = loopback_hosts(int(address.rsplit(":", 1)[1].strip("/")))
        # the first answer comes before the heavy rooms are loaded
        return bench_app(desk, hosts, clock, shop), desk.open, desk.close

    serve_app(path, port, ready, opened)


Opened = Callable[[str], tuple[App, Callable[[], None], Callable[[], None]]]
"""An address to what answers there, what begins once it does, and what is done at the end."""


def serve_app(path: Path, port: int, ready: Callable[[str], None], opened: Opened) -> None:
    """Serve an application on loopback until it is interrupted; its port goes with ``path``."""
    # named as TCP, or the last part of each answer waits 40 ms for a receipt
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP) as door:
        try:
            _bind(door, path, port)
        except (OSError, OverflowError) as error:
            raise BenchError(f"port {port} cannot be used: {error}") from error
        address = f"http://{LOOPBACK}:{door.getsockname()[1]}/"
        app, begin, end = opened(address)
        config = uvicorn.Config(
            app,
            log_level="error",
            access_log=False,
            lifespan="off",
            server_header=False,
            ws="none",
            timeout_graceful_shutdown=2,
        )

        def standing() -> None:
            ready(address)
            begin()

        asyncio.run(_run(uvicorn.Server(config), door, standing, end))


def _bind(door: socket.socket, path: Path, port: int) -> None:
    """Take a port; without a wish the job's own, so that a page left open finds a new bench."""
    if os.name == "posix":
        # a killed bench leaves its port waiting for a minute; elsewhere this would share the port
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    if port == 0:
        try:
            door.bind((LOOPBACK, own_port(path)))
        except OSError:
            pass
        else:
            return
    door.bind((LOOPBACK, port))


def own_port(path: Path) -> int:
    """Return the port a job's bench takes where it is free: the same each time it is started."""
    first, count = OWN_PORTS
    return first + zlib.crc32(str(path.resolve()).encode("utf-8", "surrogatepass")) % count


def _look_at(path: Path) -> None:
    if path.suffix in NEW and not path.exists():
        # the page offers to begin a job there
        return
    try:
        path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError):
        # imported late: what tells in words why takes longer to load than the server may take
        from flushwork.job.text.located import read_text  # noqa: PLC0415

        read_text(path, path.name)


async def _run(
    server: uvicorn.Server,
    door: socket.socket,
    standing: Callable[[], None],
    end: Callable[[], None],
) -> None:
    running = asyncio.create_task(server.serve(sockets=[door]))
    while not server.started and not running.done():
        await asyncio.sleep(0.005)
    standing()
    try:
        await running
    finally:
        end()
