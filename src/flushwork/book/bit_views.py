"""The chapter on bits: which are used, what each buys, how fast and deep each may go."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.fit.bit_sets import BitSet
from flushwork.process.orders.bit_tables import (
    HEAD,
    NOTE,
    against_one,
    cells,
    cells_in,
    feed_rows,
    rows,
)
from flushwork.process.orders.bit_tables import SETS_HEAD as SET_HEAD
from flushwork.toolpaths.orders import GcodeFile
from flushwork.views.book_records import BitSetView, BitsView, TableView
from flushwork.views.figures import NO_BREAK, clean, joined


def bits_view(
    gcode_files: Sequence[GcodeFile], sets: Sequence[BitSet], *, inch: bool = False
) -> BitsView | None:
    """Return the chapter; nothing where nothing is cut."""
    feeds = feed_rows(file.order for file in gcode_files)
    if not feeds:
        return None
    return BitsView(
        sets=tuple(_set(found) for found in sets),
        feeds=TableView(
            HEAD,
            tuple(tuple(_tight(cell) for cell in cells(row, inch=inch)) for row in feeds),
            (0, 1, len(HEAD) - 1),
        ),
        note=NOTE.replace("`", '"') + f" {cells_in(inch)}.",
    )


def _tight(cell: str) -> str:
    return clean(cell.replace(" %", f"{NO_BREAK}%"))


def _set(found: BitSet) -> BitSetView:
    return BitSetView(
        heading=clean(joined(found.subjects)),
        note=clean(against_one(found)),
        buys=TableView(
            SET_HEAD, tuple(tuple(clean(cell) for cell in row) for row in rows(found)), (0, 1, 2)
        ),
    )
