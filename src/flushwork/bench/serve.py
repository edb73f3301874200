"""The bench on loopback: a socket, a server, and the end of both."""

from __future__ import annotations

import asyncio
import datetime as dt
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from flushwork.bench.app import bench_app
from flushwork.bench.desk import Desk
from flushwork.bench.guard import loopback_hosts
from flushwork.errors import FlushworkError


class BenchError(FlushworkError):
    """The bench cannot be set up; the message says why."""


def serve(
    path: Path, port: int, ready: Callable[[str], None], clock: Callable[[], dt.datetime]
) -> None:
    """Serve the bench of a job until it is interrupted.

    ``ready`` is told the address, ``clock`` tells the time in UTC.  Port 0 takes any that is free.
    Raises ``JobRefusedError`` where the file is no text at all and ``BenchError`` where the port is
    taken.
    """
    _look_at(path)
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as door:
        try:
            door.bind(("127.0.0.1", port))
        except (OSError, OverflowError) as error:
            raise BenchError(f"port {port} cannot be used: {error}") from error
        taken = door.getsockname()[1]
        desk = Desk(path)
        config = uvicorn.Config(
            bench_app(desk, loopback_hosts(taken), clock),
            log_level="error",
            access_log=False,
            lifespan="off",
            server_header=False,
            ws="none",
            timeout_graceful_shutdown=2,
        )
        asyncio.run(
            _run(uvicorn.Server(config), door, desk, lambda: ready(f"http://127.0.0.1:{taken}/"))
        )


def _look_at(path: Path) -> None:
    try:
        path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError):
        # imported late: what tells in words why takes longer to load than the server may take
        from flushwork.job.located import read_text  # noqa: PLC0415

        read_text(path, path.name)


async def _run(
    server: uvicorn.Server, door: socket.socket, desk: Desk, ready: Callable[[], None]
) -> None:
    running = asyncio.create_task(server.serve(sockets=[door]))
    while not server.started and not running.done():
        await asyncio.sleep(0.005)
    # the first answer comes before the heavy rooms are loaded
    ready()
    desk.open()
    try:
        await running
    finally:
        desk.close()
