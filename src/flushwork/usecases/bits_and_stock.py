"""What a job takes of the shop: its bits and how fast they go, and what is on hand beside it."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.checks.rules.work.stock_rules import LEAST_G, Need, Thing, needs, told
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
from flushwork.shelf.known_hazards import Item, hazards_of

# ---- The bits of a job: which it uses, what each buys, how fast and deep each may go


def feeds(made: Build) -> tuple[FeedRow, ...]:
    """Return how fast and deep each bit goes in each kind of cut, in mm, mm/min and rpm."""
    return feed_rows(file.order for file in made.gcode_files)


# ---- What the shop has on hand, beside what a build takes of it, and what can harm in it


def taken(made: Build) -> dict[Thing, Need]:
    """Return what a build takes of resins, pigments, bits and wood, by kind and name."""
    return needs(made)
