"""Reading real tools: how far a reading, and so a ratio, may be off, and where it may stop.

The figure held against the resin's tolerance is the hardener's relative error: by how much the
hardener in the cup may be over or under what the resin in the cup wants.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.shelf.items import MeasuringTool, ToolKind

VESSELS = (ToolKind.SYRINGE, ToolKind.CUP)
MOST_FILLS = 3
"""A vessel is filled at most so often for one part (assumed; range 2 to 5)."""


@dataclass(frozen=True, slots=True)
class Interval:
    """The least and greatest relative error of the hardener, as shares."""

    low: float
    high: float

    @property
    def worst(self) -> float:
        """The greater of the two by size."""
        return max(abs(self.low), abs(self.high))


Span = tuple[float, float]
"""The least and the greatest reading of a part."""


@dataclass(frozen=True, slots=True)
class MixRatio:
    """The right ratio by weight, both densities, and the share by which it may be off."""

    hardener_per_resin: float
    density_resin_g_cm3: float
    density_hardener_g_cm3: float
    tolerance: float


def fills(tool: MeasuringTool, amount: float) -> int:
    """Return how many times a vessel is filled for an amount; a scale is read once."""
    if tool.kind is ToolKind.SCALE:
        return 1
    return max(1, math.ceil(amount / top_mark(tool) - 1e-9))


def top_mark(tool: MeasuringTool) -> float:
    """Return the highest reading of a tool: its capacity, down to a whole step."""
    return math.floor(tool.capacity / tool.step + 1e-6) * tool.step


def each_fill(tool: MeasuringTool, amount: float) -> tuple[float, ...]:
    """Return the readings of all fills of a vessel: alike, but for the last."""
    count = fills(tool, amount)
    full = math.ceil(round(amount / tool.step) / count) * tool.step
    return (full,) * (count - 1) + (amount - (count - 1) * full,)


def least_reading(tool: MeasuringTool) -> float:
    """Return the least that can be measured on purpose: a step, or a drop if that is larger."""
    return max(tool.step, tool.drop)


def inward(low: float, high: float, step: float) -> Span:
    """Return the outermost readings between two figures."""
    return math.ceil(low / step - 1e-6) * step, math.floor(high / step + 1e-6) * step


def one_fill_error(tool: MeasuringTool) -> float:
    """Return how far one reading of a vessel may be off: half a mark, or a drop if larger."""
    return max(tool.step / 2.0, tool.drop)


def readable(tool: MeasuringTool) -> float:
    """Return the step to which limits are told: of a display, or half a mark by eye."""
    return tool.step if tool.kind is ToolKind.SCALE else tool.step / 2.0


def within(tool: MeasuringTool, target: float, span: Span) -> Span | None:
    """Return the part of a span that a tool can show; ``None`` where nothing is left to stop in.

    What is left must hold the target; on a scale it is as wide as a step and as what falls in at
    once.
    """
    before = sum(each_fill(tool, target)[:-1]) if tool.kind in VESSELS else 0.0
    step = readable(tool)
    low = max(span[0], before + step)
    high = min(span[1], before + top_mark(tool))
    hair = 1e-6 * tool.step
    room = least_reading(tool) if tool.kind is ToolKind.SCALE else step
    if not low - hair <= target <= high + hair or high - low < room - hair:
        return None
    return low, high


def reading_error(tool: MeasuringTool, amount: float) -> float:
    """Return how far an amount may be off, in the tool's unit.

    A scale: one display step, which covers rounding the target to the display and the display's
    own rounding, or a drop if that is larger (common practice, no source).  A vessel: half a mark
    at each fill, the usual reading of a graduated vessel (common practice, no source), or a drop
    if that is larger.
    """
    if tool.kind is ToolKind.SCALE:
        return max(tool.step, tool.drop)
    return one_fill_error(tool) * fills(tool, amount)


def nearest_mark(tool: MeasuringTool, amount: float) -> float:
    """Return the graduation nearest to an amount, at least the first."""
    return max(1, round(amount / tool.step)) * tool.step


def ratio_interval(
    resin: float, hardener: float, resin_error: float, hardener_error: float
) -> Interval:
    """Return the hardener's relative error by interval arithmetic.

    ``resin`` and ``hardener`` are the right amounts, the errors in the same unit each.  An error
    as large as the resin itself leaves the upper end open.
    """
    low = (1.0 - hardener_error / hardener) / (1.0 + resin_error / resin) - 1.0
    if resin_error >= resin:
        return Interval(low, math.inf)
    return Interval(low, (1.0 + hardener_error / hardener) / (1.0 - resin_error / resin) - 1.0)


def smallest_batch(
    resin_share: float, hardener_share: float, resin_error: float, hardener_error: float, tol: float
) -> float:
    """Return the least batch whose ratio error stays within ``tol``, to first order.

    (eA / fA + eB / fB) / tolerance, from the worst relative error eA / A + eB / B.  100:44 by
    weight on a 0.1 g scale at 3 %: 15.7 g.
    """
    return (resin_error / resin_share + hardener_error / hardener_share) / tol


def density_for(tool: MeasuringTool, density_g_cm3: float) -> float:
    """Return the g in one of the tool's units: 1 for a scale, the density for a vessel."""
    return 1.0 if tool.kind is ToolKind.SCALE else density_g_cm3
