"""A hanger slot: down at its entry, along to its end and back, and out where it went in.

The head is wider than the slot its neck has cut: nowhere else may the bit be lifted.
"""

from __future__ import annotations

from flushwork.toolpaths import entry
from flushwork.toolpaths.orders import HangerCut
from flushwork.toolpaths.track import Track


def trace_hanger(track: Track, cut: HangerCut) -> None:
    """Cut a slot at its full depth in one way there and back."""
    begin, end = ((float(x), float(y)) for x, y in cut.way.coords)
    track.over(begin)
    track.drop(cut.top_mm + entry.ABOVE_MM)
    track.plunge(cut.top_mm)
    for height_mm in track.levels(cut):
        track.plunge(height_mm)
    track.feed(end)
    track.feed(begin)
    track.plunge(cut.top_mm + entry.ABOVE_MM)
    track.lift()
