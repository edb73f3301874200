"""Measuring two parts with real tools: how far the ratio may be off, and the least batch.

The figure held against the resin's tolerance is the hardener's relative error: by how much the
hardener in the cup may be over or under what the resin in the cup wants.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from flushwork.shelf.items import MeasuringTool, ToolKind

VESSELS = (ToolKind.SYRINGE, ToolKind.CUP)
_MARKS_TRIED = 5000
_FILLS = 3
"""A vessel is filled at most so often for one part (assumed; range 2 to 5)."""

_SAME_WASTE = 0.02
"""Batches this close in mass waste the same; then the better tool is taken (assumed; 0 to 0.05)."""


@dataclass(frozen=True, slots=True)
class Interval:
    """The least and greatest relative error of the hardener, as shares."""

    low: float
    high: float

    @property
    def worst(self) -> float:
        """The greater of the two by size."""
        return max(abs(self.low), abs(self.high))


@dataclass(frozen=True, slots=True)
class Pair:
    """Resin and hardener by one pair of tools: the targets in each tool's unit, and the error."""

    resin_tool: MeasuringTool
    hardener_tool: MeasuringTool
    resin: float
    hardener: float
    resin_g: float
    hardener_g: float
    error: Interval
    smallest_g: float

    @property
    def mass_g(self) -> float:
        """Resin and hardener together."""
        return self.resin_g + self.hardener_g


@dataclass(frozen=True, slots=True)
class Ratio:
    """The right ratio by weight, both densities, and the share by which it may be off."""

    hardener_per_resin: float
    density_resin_g_cm3: float
    density_hardener_g_cm3: float
    tolerance: float


def fills(tool: MeasuringTool, amount: float) -> int:
    """Return how many times a vessel is filled for an amount; a scale is read once."""
    if tool.kind is ToolKind.SCALE:
        return 1
    return max(1, math.ceil(amount / tool.capacity - 1e-9))


def reading_error(tool: MeasuringTool, amount: float) -> float:
    """Return how far an amount may be off, in the tool's unit.

    A scale: one display step, which covers rounding the target to the display and the display's
    own rounding, or a drop if that is larger (common practice, no source).  A vessel: half a mark
    at each fill, the usual reading of a graduated vessel (common practice, no source), or a drop
    if that is larger.
    """
    if tool.kind is ToolKind.SCALE:
        return max(tool.step, tool.drop)
    return max(tool.step / 2.0, tool.drop) * fills(tool, amount)


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


def measure_pair(
    resin_tool: MeasuringTool, hardener_tool: MeasuringTool, ratio: Ratio, hardener: float
) -> Pair:
    """Return the pair for so much hardener (in its tool's unit), the resin on its nearest mark."""
    resin_unit_g = density_for(resin_tool, ratio.density_resin_g_cm3)
    hardener_unit_g = density_for(hardener_tool, ratio.density_hardener_g_cm3)
    right = hardener * hardener_unit_g / ratio.hardener_per_resin / resin_unit_g
    resin = nearest_mark(resin_tool, right)
    resin_error = reading_error(resin_tool, resin)
    if resin_tool.kind is not ToolKind.SCALE:
        resin_error += abs(resin - right)
    return Pair(
        resin_tool=resin_tool,
        hardener_tool=hardener_tool,
        resin=resin,
        hardener=hardener,
        resin_g=resin * resin_unit_g,
        hardener_g=hardener * hardener_unit_g,
        error=ratio_interval(right, hardener, resin_error, reading_error(hardener_tool, hardener)),
        smallest_g=0.0,
    )


def _holds(pair: Pair) -> bool:
    if pair.resin_tool.kind is ToolKind.SCALE:
        return pair.mass_g <= pair.resin_tool.capacity
    most = max(fills(pair.resin_tool, pair.resin), fills(pair.hardener_tool, pair.hardener))
    return most <= _FILLS


@lru_cache(maxsize=4096)
def least_pair(
    resin_tool: MeasuringTool, hardener_tool: MeasuringTool, ratio: Ratio, least_g: float
) -> Pair | None:
    """Return the least batch of at least ``least_g`` that lands on marks within the tolerance.

    ``None`` where these tools cannot do it (too coarse, or the scale's capacity is passed).
    """
    unit_g = density_for(hardener_tool, ratio.density_hardener_g_cm3)
    share = ratio.hardener_per_resin / (1.0 + ratio.hardener_per_resin)
    first = max(1, math.floor(least_g * share / unit_g / hardener_tool.step))
    for marks in range(first, first + _MARKS_TRIED):
        pair = measure_pair(resin_tool, hardener_tool, ratio, marks * hardener_tool.step)
        if not _holds(pair):
            return None
        if pair.mass_g >= least_g - 1e-9 and pair.error.worst <= ratio.tolerance + 1e-9:
            return pair
    return None


def smallest_by(resin_tool: MeasuringTool, hardener_tool: MeasuringTool, ratio: Ratio) -> float:
    """Return the least g of resin and hardener that two tools measure within the tolerance.

    On one scale by the closed form of ``smallest_batch``; by vessels, whose error grows with each
    fill, by trying mark after mark.  Infinite where the tools never reach it.
    """
    if resin_tool.kind is ToolKind.SCALE:
        share = 1.0 / (1.0 + ratio.hardener_per_resin)
        error = reading_error(resin_tool, 0.0)
        return smallest_batch(share, 1.0 - share, error, error, ratio.tolerance)
    pair = least_pair(resin_tool, hardener_tool, ratio, 0.0)
    return pair.mass_g if pair is not None else math.inf


def tool_pairs(tools: Iterable[MeasuringTool]) -> list[tuple[MeasuringTool, MeasuringTool]]:
    """Return the ways to measure two parts: both on one scale, or each by a vessel."""
    owned = tuple(tools)
    vessels = [tool for tool in owned if tool.kind in VESSELS]
    return [(tool, tool) for tool in owned if tool.kind is ToolKind.SCALE] + [
        (first, second) for first in vessels for second in vessels
    ]


def best_pair(tools: Iterable[MeasuringTool], ratio: Ratio, least_g: float) -> Pair | None:
    """Return the pair of tools that wastes least; ``None`` where none will do.

    Among those that waste the same within ``_SAME_WASTE`` the one that errs least.
    """
    found = [
        pair
        for first, second in tool_pairs(tools)
        if least_pair(first, second, ratio, 0.0) is not None
        and (pair := least_pair(first, second, ratio, least_g)) is not None
    ]
    if not found:
        return None
    most_g = min(pair.mass_g for pair in found) * (1.0 + _SAME_WASTE)
    best = min(
        (pair for pair in found if pair.mass_g <= most_g),
        key=lambda pair: (pair.error.worst, pair.mass_g),
    )
    smallest = smallest_by(best.resin_tool, best.hardener_tool, ratio)
    return replace(best, smallest_g=smallest)
