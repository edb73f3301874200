"""What stands between the command and the first answer."""

from __future__ import annotations

import subprocess
import sys

SLOW = ("numpy", "shapely", "numba", "flushwork.pipeline", "flushwork.book.records")


def test_the_server_is_up_before_the_heavy_rooms_are_loaded() -> None:
    asked = "import sys, flushwork.bench.serve; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True
    ).stdout.split()
    assert not [name for name in SLOW if name in loaded]
