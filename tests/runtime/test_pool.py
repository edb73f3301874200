"""The cases of the pool, in a process of their own.

Copies of a process are made only where nothing else runs in it; one that tests many things has the
threads of browsers and servers about.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

CASES = Path(__file__).with_name("pool_cases.py")
LONGEST_S = 240


def test_whatever_fails_the_pool_ends_right_and_leaves_nothing_behind() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:xdist", "-p", "no:cacheprovider", str(CASES)],
        cwd=CASES.parents[2],
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=False,
    )
    assert run.returncode == 0, run.stdout[-6000:] + run.stderr[-2000:]
