"""The bench of one job as a process of the shop: it says its address, and ends with its input."""

from __future__ import annotations

import datetime as dt
import json
import os
import signal
import sys
import threading
from contextlib import suppress
from pathlib import Path

from flushwork.bench.server.serve import serve
from flushwork.core.findings import FlushworkError, JobRefusedError


def run(path: Path, shop: str) -> None:
    """Serve the bench of a job until this process's input ends."""
    threading.Thread(target=_end_with_input, name="ending", daemon=True).start()
    try:
        with suppress(KeyboardInterrupt):
            serve(
                path, 0, lambda told: _say(address=told), lambda: dt.datetime.now(tz=dt.UTC), shop
            )
    except JobRefusedError as refused:
        _say(error="; ".join(each.message for each in refused.findings))
    except FlushworkError as error:
        _say(error=str(error))


def _end_with_input() -> None:
    # what the shop never writes to ends when the shop closes it, or is no more
    while os.read(sys.stdin.fileno(), 4096):
        pass
    os.kill(os.getpid(), signal.SIGINT)


def _say(**told: str) -> None:
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    run(Path(sys.argv[1]), sys.argv[2])
