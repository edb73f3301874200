"""What stands between the command and the first answer."""

from __future__ import annotations

import subprocess
import sys
import time
from contextlib import closing
from http.client import HTTPConnection

from tests.bench.conftest import Served

SLOW = ("numpy", "shapely", "numba", "flushwork.pipeline", "flushwork.views.book_records")


def test_the_server_is_up_before_the_heavy_rooms_are_loaded() -> None:
    asked = "import sys, flushwork.bench.server.serve; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True
    ).stdout.split()
    assert not [name for name in SLOW if name in loaded]


def test_answers_do_not_wait_for_a_receipt(bench: Served) -> None:
    host, port = bench.address.removeprefix("http://").strip("/").split(":")
    took = []
    with closing(HTTPConnection(host, int(port))) as asked:
        for _ in range(12):
            begun = time.perf_counter()
            asked.request("GET", "/static/bench.js")
            asked.getresponse().read()
            took.append(time.perf_counter() - begun)
    # a held back end of an answer costs 40 ms each time, on whatever machine
    assert min(took[2:]) < 0.03
