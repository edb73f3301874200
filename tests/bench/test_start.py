"""What stands between the command and the first answer."""

from __future__ import annotations

import subprocess
import sys
import time
from contextlib import closing
from http.client import HTTPConnection
from itertools import count

from tests.bench.conftest import PATIENCE_MS, Served

HELD_BACK_S = 0.03
"""A held back end of an answer costs 0.04 s each time, on whatever machine."""
SLOW = ("numpy", "shapely", "numba", "flushwork.pipeline", "flushwork.views.book_records")


def test_the_server_is_up_before_the_heavy_rooms_are_loaded() -> None:
    asked = "import sys, flushwork.bench.server.serve; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True
    ).stdout.split()
    assert not [name for name in SLOW if name in loaded]


def test_answers_do_not_wait_for_a_receipt(bench: Served) -> None:
    host, port = bench.address.removeprefix("http://").strip("/").split(":")
    end_s = time.monotonic() + PATIENCE_MS / 1000.0
    with closing(HTTPConnection(host, int(port))) as asked:
        for number in count():
            begun = time.perf_counter()
            asked.request("GET", "/static/bench.js")
            asked.getresponse().read()
            # the first two are never held back
            if number > 1 and time.perf_counter() - begun < HELD_BACK_S:
                break
            assert time.monotonic() < end_s, "each answer was held back, on an idle moment as well"
