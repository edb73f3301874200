"""The measuring card of one batch: which tool, to which mark, in which order, within what limits.

Order: resin, pigments wetted in it, thinner, hardener last, since the clock starts when hardener
meets resin (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flushwork.job.records import Mix, MixPigment
from flushwork.resin.composition import (
    HARDENER,
    PIGMENT,
    RESIN,
    THINNER,
    compose,
    mix_ratio_by_weight,
)
from flushwork.resin.measuring import (
    VESSELS,
    Pair,
    Ratio,
    best_pair,
    fills,
    nearest_mark,
    reading_error,
)
from flushwork.resin.pours import Part
from flushwork.shelf.items import MeasuringTool, Thinner, ToolKind

ADDED_SLACK = 0.1
"""Share by which thinner or pigment may be off (assumed; range 0.05 to 0.25; a swatch coupon of
each shade replaces it)."""

PIGMENT_ERROR = 0.25
"""A pigment whose weighing may be off by more than this goes by the spoon (assumed; range 0.1 to
0.5; a swatch coupon replaces it)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A batch as real tools measure it; ``smallest_g`` is the least whole batch they can."""

    parts: tuple[Part, ...]
    ratio_error: float
    smallest_g: float

    @property
    def volume_cm3(self) -> float:
        """The whole volume."""
        return sum(part.volume_cm3 for part in self.parts)

    @property
    def mass_g(self) -> float:
        """The whole mass."""
        return sum(part.mass_g for part in self.parts)


def ratio_of(mix: Mix) -> Ratio:
    """Return a mix's ratio, densities and tolerance."""
    return Ratio(
        mix_ratio_by_weight(mix),
        mix.resin.density_resin_g_cm3,
        mix.resin.density_hardener_g_cm3,
        mix.resin.tolerance,
    )


def limits(right: float, tolerance: float, other_error: float, error: float) -> tuple[float, float]:
    """Return the least and greatest reading of one part that keeps the ratio.

    ``right`` is what the other part wants of this one, ``other_error`` the other part's relative
    reading error, ``error`` this reading's own error; both ends lie inside the tolerance even when
    both readings err the wrong way.
    """
    low = right * (1.0 - tolerance) * (1.0 + other_error) + error
    high = right * (1.0 + tolerance) * (1.0 - other_error) - error
    return low, high


def _inward(low: float, high: float, step: float, target: float) -> tuple[float, float]:
    marks_low, marks_high = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    return min(marks_low * step, target), max(marks_high * step, target)


def _display_error(tool: MeasuringTool, amount: float) -> float:
    # the target already sits on the display, so only the display's own rounding is left
    return tool.step / 2.0 if tool.kind is ToolKind.SCALE else reading_error(tool, amount)


def _main_parts(mix: Mix, ratio: Ratio, pair: Pair) -> tuple[Part, Part]:
    resin = mix.resin
    unit = (pair.resin_g / pair.resin) / (pair.hardener_g / pair.hardener)
    per = ratio.hardener_per_resin * unit
    resin_error = _display_error(pair.resin_tool, pair.resin)
    hardener_error = _display_error(pair.hardener_tool, pair.hardener)
    resin_low, resin_high = _inward(
        *limits(pair.hardener / per, ratio.tolerance, hardener_error / pair.hardener, resin_error),
        pair.resin_tool.step,
        pair.resin,
    )
    low, high = _inward(
        *limits(pair.resin * per, ratio.tolerance, resin_error / pair.resin, hardener_error),
        pair.hardener_tool.step,
        pair.hardener,
    )
    first = Part(
        name=resin.name,
        kind=RESIN,
        volume_cm3=pair.resin_g / resin.density_resin_g_cm3,
        mass_g=pair.resin_g,
        tool=pair.resin_tool,
        target=pair.resin,
        running=pair.resin,
        low=resin_low,
        high=resin_high,
        spoons=0.0,
    )
    second = Part(
        name=f"{resin.name} hardener",
        kind=HARDENER,
        volume_cm3=pair.hardener_g / resin.density_hardener_g_cm3,
        mass_g=pair.hardener_g,
        tool=pair.hardener_tool,
        target=pair.hardener,
        running=pair.hardener,
        low=low,
        high=high,
        spoons=0.0,
    )
    return first, second


def thinner_part(thinner: Thinner, volume_cm3: float, tools: Sequence[MeasuringTool]) -> Part:
    """Return the thinner by volume, in the vessel that errs least; by weight without a vessel."""
    vessels = [tool for tool in tools if tool.kind in VESSELS]
    usable = vessels or [tool for tool in tools if tool.kind is ToolKind.SCALE]

    def amount(tool: MeasuringTool) -> float:
        return volume_cm3 if tool.kind in VESSELS else volume_cm3 * thinner.density_g_cm3

    def error(tool: MeasuringTool) -> float:
        wanted = amount(tool)
        return reading_error(tool, wanted) + abs(nearest_mark(tool, wanted) - wanted)

    if not usable:
        return _untooled(thinner.name, THINNER, volume_cm3, volume_cm3 * thinner.density_g_cm3)
    best = min(usable, key=lambda tool: (error(tool) / amount(tool), fills(tool, amount(tool))))
    target = nearest_mark(best, amount(best))
    volume = target if best.kind in VESSELS else target / thinner.density_g_cm3
    slack = max(best.step, target * ADDED_SLACK)
    return Part(
        name=thinner.name,
        kind=THINNER,
        volume_cm3=volume,
        mass_g=volume * thinner.density_g_cm3,
        tool=best,
        target=target,
        running=target,
        low=max(0.0, target - slack),
        high=target + slack,
        spoons=0.0,
    )


def level_spoons(
    mass_g: float, bulk_g_cm3: float, tools: Sequence[MeasuringTool]
) -> tuple[MeasuringTool | None, float]:
    """Return the spoon that fits a mass of powder best, and how many level (or half) spoons."""
    spoons = [tool for tool in tools if tool.kind is ToolKind.SPOON]
    if not spoons or bulk_g_cm3 <= 0.0:
        return None, 0.0

    def count(tool: MeasuringTool) -> float:
        return mass_g / (bulk_g_cm3 * tool.capacity)

    def halves(tool: MeasuringTool) -> float:
        return max(0.5, round(count(tool) * 2.0) / 2.0)

    def misfit(tool: MeasuringTool) -> float:
        return abs(halves(tool) / count(tool) - 1.0)

    close = [tool for tool in spoons if misfit(tool) <= ADDED_SLACK]
    best = min(close, key=halves) if close else min(spoons, key=misfit)
    return best, halves(best)


def pigment_part(each: MixPigment, mass_g: float, tools: Sequence[MeasuringTool]) -> Part:
    """Return a pigment by weight and by level spoon; by spoon alone where no scale is fine enough.

    ``low`` and ``high`` are the pigment's advised shares where the wanted share lies between them.
    """
    pigment = each.pigment
    spoon, spoons = level_spoons(mass_g, pigment.bulk_g_cm3, tools)
    scales = sorted(
        (tool for tool in tools if tool.kind is ToolKind.SCALE),
        key=lambda tool: reading_error(tool, mass_g),
    )
    tool: MeasuringTool | None = None
    target = mass = mass_g
    if scales and reading_error(scales[0], mass_g) <= PIGMENT_ERROR * mass_g:
        tool = scales[0]
        target = mass = nearest_mark(tool, mass_g)
    elif spoon is not None:
        tool, target = spoon, spoons * spoon.capacity
        mass = target * pigment.bulk_g_cm3
    low, high = pigment.share_low / each.share, pigment.share_high / each.share
    if not low <= 1.0 <= high:
        low, high = 1.0 - ADDED_SLACK, 1.0 + ADDED_SLACK
    return Part(
        name=pigment.name,
        kind=PIGMENT,
        volume_cm3=mass / pigment.density_g_cm3,
        mass_g=mass,
        tool=tool,
        target=target,
        running=target,
        low=target * low,
        high=target * high,
        spoons=spoons,
        spoon=spoon,
    )


def _untooled(name: str, kind: str, volume_cm3: float, mass_g: float) -> Part:
    return Part(name, kind, volume_cm3, mass_g, None, mass_g, mass_g, mass_g, mass_g, 0.0)


def on_one_cup(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts with the running display of a scale that is not zeroed between them.

    Only parts on the scale of the first part run on; the others show their own target, though
    what they weigh stands in the cup all the same.
    """
    scale = parts[0].tool
    if scale is None or scale.kind is not ToolKind.SCALE:
        return tuple(parts)
    done: list[Part] = []
    before = 0.0
    for part in parts:
        if part.tool == scale:
            shown = round(before / scale.step) * scale.step
            done.append(
                replace(
                    part,
                    running=round(shown + part.target, 6),
                    low=round(shown + part.low, 6),
                    high=round(shown + part.high, 6),
                )
            )
        else:
            done.append(part)
        before += part.mass_g
    return tuple(done)


def measure(mix: Mix, wanted_cm3: float, tools: Sequence[MeasuringTool]) -> Measured:
    """Return the card that makes at least ``wanted_cm3`` of a mix with the tools owned.

    Where no pair of tools holds the ratio, the parts come unmeasured (no tool) with an infinite
    error and an infinite least batch: nothing honest can be mixed.
    """
    recipe = compose(mix, wanted_cm3)
    ratio = ratio_of(mix)
    main_g = recipe.mass_of(RESIN, HARDENER)
    pair = best_pair(tools, ratio, main_g)
    if pair is None:
        return Measured(
            tuple(_untooled(x.name, x.kind, x.volume_cm3, x.mass_g) for x in recipe.ingredients),
            math.inf,
            math.inf,
        )
    factor = pair.mass_g / main_g
    resin, hardener = _main_parts(mix, ratio, pair)
    added = added_parts(mix, recipe.volume_cm3 * factor, tools)
    parts = on_one_cup([resin, *added, hardener])
    whole = sum(part.mass_g for part in parts) / pair.mass_g
    return Measured(parts, pair.error.worst, pair.smallest_g * whole)


def added_parts(mix: Mix, volume_cm3: float, tools: Sequence[MeasuringTool]) -> list[Part]:
    """Return pigments and thinner for so much finished mix, pigments first."""
    recipe = compose(mix, volume_cm3)
    weights = [each.mass_g for each in recipe.ingredients if each.kind == PIGMENT]
    parts = [
        pigment_part(each, mass_g, tools)
        for each, mass_g in zip(mix.pigments, weights, strict=True)
        if mass_g > 0.0
    ]
    if mix.thinner is not None and recipe.volume_of(THINNER) > 0.0:
        parts.append(thinner_part(mix.thinner, recipe.volume_of(THINNER), tools))
    return parts
