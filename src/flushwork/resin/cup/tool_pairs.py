"""Resin and hardener by a pair of real tools: their marks, where both may stop, the least batch."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from flushwork.resin.cup.tool_readings import (
    MOST_FILLS,
    VESSELS,
    Interval,
    MixRatio,
    Span,
    density_for,
    fills,
    inward,
    least_reading,
    nearest_mark,
    one_fill_error,
    ratio_interval,
    readable,
    reading_error,
    smallest_batch,
    within,
)
from flushwork.shelf.items import MeasuringTool, ToolKind

_MARKS_TRIED: Final = 5000

_SAME_WASTE: Final = 0.02
"""Batches this close in mass waste the same; then the better tool is taken (assumed; 0 to 0.05)."""


@dataclass(frozen=True, slots=True)
class ToolPair:
    """Resin and hardener by one pair of tools: the targets in each tool's unit, and the error.

    ``error`` is that of readings on their targets.  The spans are where both readings may stop:
    whatever the one and whatever the other, the ratio is off by no more than ``worst``.
    """

    resin_tool: MeasuringTool
    hardener_tool: MeasuringTool
    resin: float
    hardener: float
    resin_g: float
    hardener_g: float
    error: Interval
    smallest_g: float
    resin_span: Span = (0.0, 0.0)
    hardener_span: Span = (0.0, 0.0)
    worst: float = math.inf

    @property
    def mass_g(self) -> float:
        """Resin and hardener together."""
        return self.resin_g + self.hardener_g


def measure_pair(
    resin_tool: MeasuringTool,
    hardener_tool: MeasuringTool,
    ratio: MixRatio,
    hardener: float,
    beside: int = 0,
) -> ToolPair:
    """Return the pair for so much hardener (in its tool's unit), the resin on its nearest mark.

    ``beside`` takes a mark so many above that one.
    """
    resin_unit_g = density_for(resin_tool, ratio.density_resin_g_cm3)
    hardener_unit_g = density_for(hardener_tool, ratio.density_hardener_g_cm3)
    right = hardener * hardener_unit_g / ratio.hardener_per_resin / resin_unit_g
    resin = max(resin_tool.step, nearest_mark(resin_tool, right) + beside * resin_tool.step)
    resin_error = reading_error(resin_tool, resin)
    if resin_tool.kind is not ToolKind.SCALE:
        resin_error += abs(resin - right)
    elif beside:
        resin_error = max(resin_error, resin_tool.step / 2.0 + abs(resin - right))
    return ToolPair(
        resin_tool=resin_tool,
        hardener_tool=hardener_tool,
        resin=resin,
        hardener=hardener,
        resin_g=resin * resin_unit_g,
        hardener_g=hardener * hardener_unit_g,
        error=ratio_interval(right, hardener, resin_error, reading_error(hardener_tool, hardener)),
        smallest_g=0.0,
    )


def stop_spans(pair: ToolPair, ratio: MixRatio) -> tuple[Span, Span] | None:
    """Return where resin and hardener may stop, ``None`` where a scale has no room to stop in.

    Each may stand anywhere in its span, whatever the other reads and both readings erring the
    wrong way, and the ratio holds.  A vessel is filled to its mark: its span is what the eye may
    be off by.  On a scale (h (1 + w) + eh) / (r (1 - w) - er) is right (1 + tolerance) above, and
    so below, with one share w for all that is weighed; where that leaves no step of a coarse
    scale, the narrowest spans around the targets that hold are taken.
    """
    as_is = pair.hardener / pair.resin / _right(pair, ratio)

    def told(resin: Span, hardener: Span) -> tuple[Span, Span] | None:
        one = within(pair.resin_tool, pair.resin, resin)
        two = within(pair.hardener_tool, pair.hardener, hardener)
        if one is None or two is None:
            return None
        worst = _worst(pair, ratio, (one, two)).worst
        return (one, two) if worst <= ratio.tolerance + 1e-9 else None

    a, n = _error_and_room(pair.resin_tool, pair.resin)
    b, m = _error_and_room(pair.hardener_tool, pair.hardener)
    most, least = (1.0 + ratio.tolerance) / as_is, (1.0 - ratio.tolerance) / as_is
    up = max(0.0, (most * (1.0 - a) - 1.0 - b) / max(m + most * n, 1e-9))
    down = max(0.0, (1.0 - b - least * (1.0 + a)) / max(m + least * n, 1e-9))
    wide = told(
        _spans(pair.resin_tool, pair.resin, up, down)[0],
        _spans(pair.hardener_tool, pair.hardener, down, up)[0],
    )
    if wide is not None:
        return wide
    tried = (
        told(one, two)
        for one in _spans(pair.resin_tool, pair.resin)
        for two in _spans(pair.hardener_tool, pair.hardener)
    )
    return next((spans for spans in tried if spans is not None), None)


def _right(pair: ToolPair, ratio: MixRatio) -> float:
    """Return the hardener that is right for one unit of resin, both as their tools count."""
    right = ratio.hardener_per_resin * density_for(pair.resin_tool, ratio.density_resin_g_cm3)
    return right / density_for(pair.hardener_tool, ratio.density_hardener_g_cm3)


def _worst(pair: ToolPair, ratio: MixRatio, spans: tuple[Span, Span]) -> Interval:
    """Return how far the hardener may be off wherever both readings stop in their spans."""
    resin, hardener = spans
    resin_error = _beside(pair.resin_tool, pair.resin)
    hardener_error = _beside(pair.hardener_tool, pair.hardener)
    right = _right(pair, ratio)
    low = (hardener[0] - hardener_error) / (resin[1] + resin_error) / right - 1.0
    if resin[0] <= resin_error:
        return Interval(low, math.inf)
    return Interval(low, (hardener[1] + hardener_error) / (resin[0] - resin_error) / right - 1.0)


def _beside(tool: MeasuringTool, amount: float) -> float:
    """Return what a reading may be off by besides where in its span it stands.

    Of a scale its display's own rounding, since the target sits on a step; of a vessel the fills
    before the last.
    """
    if tool.kind is ToolKind.SCALE:
        return tool.step / 2.0
    return reading_error(tool, amount) - one_fill_error(tool)


def _error_and_room(tool: MeasuringTool, amount: float) -> tuple[float, float]:
    """Return a reading's relative error, and 1 where it may besides stand in a span, else 0."""
    if tool.kind is ToolKind.SCALE:
        return tool.step / 2.0 / amount, 1.0
    return reading_error(tool, amount) / amount, 0.0


def _spans(
    tool: MeasuringTool, target: float, below: float = 0.0, above: float = 0.0
) -> tuple[Span, ...]:
    """Return the spans to try around a target: by the shares given, or the narrowest there are."""
    if tool.kind is not ToolKind.SCALE:
        error = one_fill_error(tool)
        return (inward(target - error, target + error, readable(tool)),)
    if below or above:
        return (inward(target * (1.0 - below), target * (1.0 + above), tool.step),)
    steps = math.ceil(least_reading(tool) / tool.step - 1e-6)
    return tuple(
        (target - down * tool.step, target + (steps - down) * tool.step)
        for down in dict.fromkeys((0, steps, steps // 2))
    )


def _holds(pair: ToolPair, whole: float, cup_g: float) -> bool:
    """Whether the tools hold it: each vessel in a few fills, a scale with the cup and all in it."""
    for tool, amount in ((pair.resin_tool, pair.resin), (pair.hardener_tool, pair.hardener)):
        if tool.kind is ToolKind.SCALE:
            if cup_g + pair.mass_g * whole > tool.capacity:
                return False
        elif fills(tool, amount) > MOST_FILLS:
            return False
    return True


def _fine_enough(pair: ToolPair, ratio: MixRatio) -> bool:
    """Whether readings err little enough: on one scale by its least batch, else as they stand."""
    if pair.resin_tool == pair.hardener_tool and pair.resin_tool.kind is ToolKind.SCALE:
        return pair.mass_g >= smallest_by(pair.resin_tool, pair.hardener_tool, ratio) - 1e-9
    return pair.error.worst <= ratio.tolerance + 1e-9


@lru_cache(maxsize=4096)
def least_pair(
    resin_tool: MeasuringTool,
    hardener_tool: MeasuringTool,
    ratio: MixRatio,
    least_g: float,
    whole: float = 1.0,
    cup_g: float = 0.0,
) -> ToolPair | None:
    """Return the least batch of at least ``least_g`` that lands on marks within the tolerance.

    ``whole`` is the weight of all that goes into the cup over that of resin and hardener,
    ``cup_g`` what the cup weighs.  ``None`` where these tools cannot do it (too coarse, or the
    scale's capacity is passed).
    """
    unit_g = density_for(hardener_tool, ratio.density_hardener_g_cm3)
    share = ratio.hardener_per_resin / (1.0 + ratio.hardener_per_resin)
    first = max(1, math.floor(least_g * share / unit_g / hardener_tool.step))
    for marks in range(first, first + _MARKS_TRIED):
        hardener = marks * hardener_tool.step
        if not _holds(measure_pair(resin_tool, hardener_tool, ratio, hardener), whole, cup_g):
            return None
        for beside in (0, 1, -1):
            pair = measure_pair(resin_tool, hardener_tool, ratio, hardener, beside)
            if pair.mass_g < least_g - 1e-9 or not _fine_enough(pair, ratio):
                continue
            spans = stop_spans(pair, ratio)
            if spans is not None and _holds(pair, whole, cup_g):
                worst = _worst(pair, ratio, spans).worst
                return replace(pair, worst=worst, resin_span=spans[0], hardener_span=spans[1])
    return None


def smallest_by(resin_tool: MeasuringTool, hardener_tool: MeasuringTool, ratio: MixRatio) -> float:
    """Return the least g of resin and hardener that two tools measure within the tolerance.

    On one scale by the closed form of ``smallest_batch``; by vessels, whose error grows with each
    fill, by trying mark after mark.  Infinite where the tools never reach it.
    """
    if resin_tool == hardener_tool and resin_tool.kind is ToolKind.SCALE:
        share = 1.0 / (1.0 + ratio.hardener_per_resin)
        error = reading_error(resin_tool, 0.0)
        return smallest_batch(share, 1.0 - share, error, error, ratio.tolerance)
    pair = least_pair(resin_tool, hardener_tool, ratio, 0.0)
    return pair.mass_g if pair is not None else math.inf


def tool_pairs(tools: Iterable[MeasuringTool]) -> list[tuple[MeasuringTool, MeasuringTool]]:
    """Return the ways to measure two parts: on one scale, by vessels, hardener alone by a vessel.

    Never by two scales: what is weighed apart leaves a film of itself behind.
    """
    owned = tuple(tools)
    vessels = [tool for tool in owned if tool.kind in VESSELS]
    scales = [tool for tool in owned if tool.kind is ToolKind.SCALE]
    return [(tool, tool) for tool in scales] + [
        (first, second) for first in (*vessels, *scales) for second in vessels
    ]


def best_pair(
    tools: Iterable[MeasuringTool],
    ratio: MixRatio,
    least_g: float,
    whole: float = 1.0,
    cup_g: float = 0.0,
) -> ToolPair | None:
    """Return the pair of tools that wastes least; ``None`` where none will do.

    Among those that waste the same within ``_SAME_WASTE`` the one that errs least.
    """
    found = [
        pair
        for first, second in tool_pairs(tools)
        if (pair := least_pair(first, second, ratio, least_g, whole, cup_g)) is not None
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
