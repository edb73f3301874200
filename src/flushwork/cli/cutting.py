"""The command about cutting: ``cutters``."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.pipeline import build
from flushwork.plan.feed_table import HEAD, NOTE, cells, feed_rows, feed_text

DONE = 0


def show_cutters(path: Path, console: Console) -> int:
    """Print the table of feeds of a job."""
    made = build(path, console.progress)
    rows = feed_rows(file.order for file in made.cut_files)
    if console.as_json:
        console.data({"feeds": [dict(zip(HEAD, cells(row), strict=True)) for row in rows]})
        return DONE
    sys.stdout.write("Feeds in mm/min, lengths in mm\n" + feed_text(rows))
    sys.stdout.write("\n" + textwrap.fill(NOTE, 96) + "\n")
    return DONE
