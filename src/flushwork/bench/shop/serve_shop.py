"""The shop on loopback, until it is interrupted; its benches end with it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from flushwork.bench.server.guard import App, loopback_hosts
from flushwork.bench.server.serve import serve_app
from flushwork.bench.shop.open_benches import OpenBenches
from flushwork.bench.shop.shop_app import shop_app


def serve_shop(
    folder: Path, port: int, ready: Callable[[str], None], clock: Callable[[], dt.datetime]
) -> None:
    """Serve the shop's page of a folder.

    ``ready`` is told the address, ``clock`` tells the time in UTC.  Port 0 takes the folder's own,
    or any that is free.  Raises ``BenchError`` where the port is taken.
    """

    def opened(address: str) -> tuple[App, Callable[[], None], Callable[[], None]]:
        benches = OpenBenches(address)
        hosts = loopback_hosts(int(address.rsplit(":", 1)[1].strip("/")))
        return shop_app(folder, benches, hosts, clock), lambda: None, benches.close_all

    serve_app(folder, port, ready, opened)
