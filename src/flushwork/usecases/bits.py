"""The bits of a job: which it uses, what each buys, how fast and deep each may go."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.fit.bit_sets import BitSet
from flushwork.process.orders.bit_tables import (
    HEAD,
    NOTE,
    FeedRow,
    cells,
    cells_in,
    feed_rows,
    feed_text,
    set_text,
)


def feeds(made: Build) -> tuple[FeedRow, ...]:
    """Return how fast and deep each bit goes in each kind of cut, in mm, mm/min and rpm."""
    return feed_rows(file.order for file in made.gcode_files)


__all__ = [
    "HEAD",
    "NOTE",
    "BitSet",
    "FeedRow",
    "cells",
    "cells_in",
    "feed_text",
    "feeds",
    "set_text",
]
