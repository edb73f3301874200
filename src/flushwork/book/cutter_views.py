"""The chapter on cutters: which are used, what each buys, how fast and deep each may go."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.book.figures import NO_BREAK, clean, joined
from flushwork.book.records import CutterSetView, CuttersView, TableView
from flushwork.fit.sets import CutterSet
from flushwork.plan.feed_table import HEAD, NOTE, cells, feed_rows
from flushwork.plan.set_table import HEAD as SET_HEAD
from flushwork.plan.set_table import against_one, rows
from flushwork.toolpaths.orders import CutFile


def cutters_view(cut_files: Sequence[CutFile], sets: Sequence[CutterSet]) -> CuttersView | None:
    """Return the chapter; nothing where nothing is cut."""
    feeds = feed_rows(file.order for file in cut_files)
    if not feeds:
        return None
    return CuttersView(
        sets=tuple(_set(found) for found in sets),
        feeds=TableView(
            HEAD,
            tuple(tuple(_tight(cell) for cell in cells(row)) for row in feeds),
            (0, 1, len(HEAD) - 1),
        ),
        note=NOTE.replace("`", '"') + " Feeds in mm/min, lengths in mm.",
    )


def _tight(cell: str) -> str:
    return clean(cell.replace(" %", f"{NO_BREAK}%"))


def _set(found: CutterSet) -> CutterSetView:
    return CutterSetView(
        heading=clean(joined(found.subjects)),
        note=clean(against_one(found)),
        buys=TableView(
            SET_HEAD, tuple(tuple(clean(cell) for cell in row) for row in rows(found)), (0, 1, 2)
        ),
    )
