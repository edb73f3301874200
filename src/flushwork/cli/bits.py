"""The command about cutting: ``bits``."""

from __future__ import annotations

import textwrap
from math import isinf
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.core.units import System
from flushwork.core.units.shown import shown
from flushwork.pipeline import build
from flushwork.usecases.bits import HEAD, NOTE, BitSet, cells, cells_in, feed_text, feeds, set_text

DONE = 0


def show_bits(path: Path, console: Console) -> int:
    """Print the bits chosen for a job, what each buys, and the table of feeds."""
    made = build(path, console.progress)
    rows = feeds(made)
    if console.as_json:
        console.data(
            {
                "feeds": [dict(zip(HEAD, cells(row), strict=True)) for row in rows],
                "sets": [_set_data(found) for found in made.bit_sets],
            }
        )
        return DONE
    inch = made.job.shop.units is System.INCH
    console.units = made.job.shop.reads
    console.write(set_text(made.bit_sets) + "\n")
    console.write(f"{cells_in(inch)}\n{feed_text(rows, inch=inch)}")
    console.write("\n" + textwrap.fill(shown(NOTE, console.units), 96) + "\n")
    return DONE


def _set_data(found: BitSet) -> dict[str, object]:
    """Return a set for other programs, times in seconds; what cannot be is null."""
    return {
        "inlays": list(found.subjects),
        "total_s": found.total_s,
        "single": found.single.name if found.single is not None else None,
        "single_s": found.single_s if found.single is not None else None,
        "bits": [
            {
                "bit": buy.bit.name,
                "serves": list(buy.serves),
                "without_s": None if isinf(buy.without_s) else buy.without_s,
                "asked": buy.asked,
            }
            for buy in found.buys
        ],
    }
