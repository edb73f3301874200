"""The one log: silent, until somebody asks to see it."""

from __future__ import annotations

import logging
import sys
from typing import Final

LOG: Final = logging.getLogger("flushwork")
LOG.addHandler(logging.NullHandler())


def show_log() -> None:
    """Show the log on standard error, each line with its time and process."""
    shown = logging.StreamHandler(sys.stderr)
    shown.setFormatter(logging.Formatter("%(asctime)s %(process)d %(levelname)s %(message)s"))
    LOG.handlers = [shown]
    LOG.setLevel(logging.INFO)
