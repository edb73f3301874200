"""The touch-up of bright lines: what is expected to miss, and the fresh batch that mends it.

Mixed resin does not keep, so a touch-up always is a batch of its own, measured like any other.
"""

from __future__ import annotations

import math
from typing import Final

from flushwork.job.records import Mix
from flushwork.process.bright_lines import BrightLine
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.cards import MeasuredBatch, measure
from flushwork.resin.pours import Part
from flushwork.shelf.items import Shop, ToolKind
from flushwork.views.figures import NO_BREAK, TIMES, clean, grams, measured_amount, short

LEAST_TOUCH_UP_G: Final = 0.005
"""Less than this is not told: half a step of a fine scale."""


def touch_up_batch(mix: Mix, needed_g: float, shop: Shop) -> MeasuredBatch:
    """Return the smallest batch the shop's tools can measure that holds ``needed_g`` of a mix.

    What stays in the cup is allowed for, as with every batch.
    """
    density = mix_density_g_cm3(mix)
    return measure(mix, (needed_g + shop.cup_loss_g) / density, shop.tools, shop.cup_g)


def batch_words(line: BrightLine, shop: Shop) -> str:
    """Return how a line's touch-up batch is measured, part by part in the order they go in."""
    mix, needed_g = line.inlay.mix, max(line.touch_up_g, LEAST_TOUCH_UP_G)
    batch = touch_up_batch(mix, needed_g, shop)
    if not math.isfinite(batch.ratio_error):
        return f"No tool on the shelf measures {clean(mix.name)} within its tolerance."
    parts = "; ".join(_part(part) for part in batch.parts)
    return (
        f"Nothing mixed today keeps till then: mix {grams(batch.mass_g)} of {clean(mix.name)} "
        f"afresh, the least these tools measure for it ({parts}), and pour what is left into "
        "test strips or spare parts."
    )


def _part(part: Part) -> str:
    name, tool = clean(part.name), part.tool
    spoons = ""
    if part.spoons > 0.0 and part.spoon is not None:
        spoons = f", {short(part.spoons, 1)}{NO_BREAK}{TIMES} {clean(part.spoon.name)}, level"
    if tool is None:
        return f"{name} {grams(part.mass_g, 0.01)}{spoons}"
    if tool.kind is ToolKind.SPOON:
        return f"{name} {spoons.removeprefix(', ')}"
    return f"{name} {measured_amount(part)} by {clean(tool.name)}{spoons}"
