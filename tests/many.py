"""How many random cases a property is tried on: a few in every run, many when asked for."""

from __future__ import annotations

import os


def examples(every_run: int) -> int:
    """Return ``every_run``, times the whole number in ``FLUSHWORK_MANY`` where it is set."""
    return every_run * int(os.environ.get("FLUSHWORK_MANY", "1"))
