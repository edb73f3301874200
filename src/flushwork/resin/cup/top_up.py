"""The card backwards: what the display must read after what really went in; how to mend it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.resin.composition import HARDENER, RESIN
from flushwork.resin.cup.cards import limits
from flushwork.resin.cup.tool_readings import MixRatio


@dataclass(frozen=True, slots=True)
class Display:
    """What a scale that was not zeroed must read once the hardener is in, and its stop limits.

    ``hardener_g`` is what is still to be added.  Where even the display's own rounding is too much
    for the tolerance, ``low`` and ``high`` both stand at the target and ``fine`` is false: the
    batch is too small for this scale.
    """

    hardener_g: float
    target_g: float
    low_g: float
    high_g: float
    fine: bool


@dataclass(frozen=True, slots=True)
class TopUp:
    """What to add to bring a ratio back: ``kind`` is empty where nothing need be added.

    ``over`` is the hardener's relative error as it stands, ``whole_g`` the weight of resin and
    hardener after mending.
    """

    kind: str
    add_g: float
    over: float
    whole_g: float


def after_resin_g(resin_g: float, ratio: MixRatio, step_g: float, beside_g: float = 0.0) -> Display:
    """Return what the display must read after ``resin_g`` of resin really went in.

    ``beside_g`` is whatever else stands in the cup (pigment, thinner).  11.4 g of a resin that
    takes 100:44 wants 5.0 g of hardener, so the display must read 16.4 g.
    """
    hardener = resin_g * ratio.hardener_per_resin
    before = resin_g + beside_g
    error = step_g / 2.0
    low, high = limits(hardener, ratio.tolerance, error / resin_g, error)
    target = _step(round(_marks(before + hardener, step_g)), step_g)
    first = math.ceil(_marks(before + low, step_g) - 1e-6)
    last = math.floor(_marks(before + high, step_g) + 1e-6)
    if first > last:
        return Display(hardener, target, target, target, fine=False)
    return Display(
        hardener,
        min(max(target, _step(first, step_g)), _step(last, step_g)),
        _step(first, step_g),
        _step(last, step_g),
        fine=True,
    )


def mend(resin_g: float, hardener_g: float, ratio: MixRatio) -> TopUp:
    """Return what to add after an overshoot; nothing can be taken out of a mixed cup.

    Too much hardener is met with resin, too much resin with hardener; inside half the tolerance
    nothing is added, so that a reading error cannot push the ratio out again.
    """
    right = resin_g * ratio.hardener_per_resin
    over = hardener_g / right - 1.0
    if abs(over) <= ratio.tolerance / 2.0:
        return TopUp("", 0.0, over, resin_g + hardener_g)
    if over > 0.0:
        add = hardener_g / ratio.hardener_per_resin - resin_g
        return TopUp(RESIN, add, over, resin_g + hardener_g + add)
    add = right - hardener_g
    return TopUp(HARDENER, add, over, resin_g + hardener_g + add)


def _marks(amount_g: float, step_g: float) -> float:
    return amount_g / step_g


def _step(marks: int, step_g: float) -> float:
    return round(marks * step_g, 9)
