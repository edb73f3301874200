"""What to do when too much went into a cup: the measuring card read backwards."""

from __future__ import annotations

import math

from flushwork.resin.composition import HARDENER, RESIN, weight_parts_to_volume
from flushwork.resin.cup.cards import after_resin_g, mend, ratio_of
from flushwork.resin.pours import Part, Pour
from flushwork.shelf.items import ToolKind
from flushwork.views.book_records import TableView
from flushwork.views.figures import NO_BREAK, mark_text, short

RESIN_OVER = (0.02, 0.05)
HARDENER_OVER = (0.05,)
"""Overshoots that the card works out beforehand."""


def overshoot_table(pour: Pour) -> TableView | None:
    """Return what the display must read after too much resin, and the cure for too much hardener.

    The scale is set to zero before each part.  None where resin and hardener do not stand on one
    scale.
    """
    parts = pour.clear_parts or pour.parts
    resin, hardener = _part(parts, RESIN), _part(parts, HARDENER)
    if resin is None or hardener is None or resin.tool is None or resin.tool != hardener.tool:
        return None
    if resin.tool.kind is not ToolKind.SCALE or not math.isfinite(pour.ratio_error):
        return None
    tool, step = resin.tool, resin.tool.step
    ratio = ratio_of(pour.mix)
    rows: list[tuple[str, ...]] = []
    for share in RESIN_OVER:
        reads = max(round(resin.target * (1.0 + share) / step), round(resin.target / step) + 1)
        wanted = after_resin_g(reads * step, ratio, step, -reads * step)
        between = "this scale is too coarse for it"
        if wanted.fine:
            between = f"{mark_text(wanted.low_g, tool)} and {mark_text(wanted.high_g, tool)}"
        read = f"resin reads {mark_text(reads * step, tool)}"
        rows.append((read, f"hardener to {mark_text(wanted.target_g, tool)}", between))
    for share in HARDENER_OVER:
        put_in = step * max(
            round(hardener.mass_g * (1.0 + share) / step), round(hardener.mass_g / step) + 1
        )
        cure = mend(resin.mass_g, put_in, ratio)
        if cure.kind != RESIN:
            continue
        add_g = step * max(1, round(cure.add_g / step))
        read = f"hardener reads {mark_text(put_in, tool)}"
        rows.append((read, "from zero, more resin", f"at {mark_text(add_g, tool)}"))
    head = ("too much", "then", "stop between")
    return TableView(head, tuple(dict.fromkeys(rows)), wide=(0, 1, 2))


def overshoot_words(pour: Pour) -> str:
    """Return the rule for mending a batch measured by volume."""
    resin = pour.mix.resin
    by_weight = ratio_of(pour.mix).hardener_per_resin
    by_volume = weight_parts_to_volume(
        by_weight, resin.density_resin_g_cm3, resin.density_hardener_g_cm3
    )
    unit = f"{NO_BREAK}cm\N{SUPERSCRIPT THREE}"
    return (
        f"Too much went in? Nothing comes out of a mixed cup: for each 1{unit} of resin too much "
        f"add {short(by_volume, 2)}{unit} of hardener, for each 0.1{unit} of hardener too much "
        f"{short(0.1 / by_volume, 2)}{unit} of resin."
    )


def _part(parts: tuple[Part, ...], kind: str) -> Part | None:
    return next((part for part in parts if part.kind == kind), None)
