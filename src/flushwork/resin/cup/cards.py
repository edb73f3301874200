"""The measuring card of one batch: which tool, to which mark, in which order, within what limits.

Order: resin, pigments wetted in it, thinner, hardener last, since the clock starts when hardener
meets resin (common practice, no source).  A scale is set to zero before each part: what the parts
before it really came to is then nobody's error but their own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
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
from flushwork.resin.cup.tool_pairs import ToolPair, best_pair
from flushwork.resin.cup.tool_readings import (
    MOST_FILLS,
    VESSELS,
    MixRatio,
    Span,
    each_fill,
    fills,
    inward,
    least_reading,
    nearest_mark,
    readable,
    reading_error,
    within,
)
from flushwork.resin.pours import Part
from flushwork.shelf.items import MeasuringTool, Thinner, ToolKind
from flushwork.shelf.working import EMPTY_CUP_G

ADDED_SLACK = 0.1
"""Share by which thinner or pigment may be off (assumed; range 0.05 to 0.25; a swatch test strip of
each shade replaces it)."""

ADDED_ERROR = 0.25
"""What may be off by more than this is not measured by that tool (assumed; range 0.1 to 0.5; a
swatch test strip replaces it)."""

MOST_SPOONS = 12
"""Nobody counts more level spoons than this into a cup (assumed; range 6 to 20)."""


@dataclass(frozen=True, slots=True)
class MeasuredBatch:
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


def ratio_of(mix: Mix) -> MixRatio:
    """Return a mix's ratio, densities and tolerance."""
    return MixRatio(
        mix_ratio_by_weight(mix),
        mix.resin.density_resin_g_cm3,
        mix.resin.density_hardener_g_cm3,
        mix.resin.tolerance,
    )


def limits(right: float, tolerance: float, other_error: float, error: float) -> Span:
    """Return the least and greatest reading of one part that keeps the ratio, the other known.

    ``right`` is what the other part wants of this one, ``other_error`` the other part's relative
    reading error, ``error`` this reading's own error; both ends lie inside the tolerance even when
    both readings err the wrong way.
    """
    low = right * (1.0 - tolerance) * (1.0 + other_error) + error
    high = right * (1.0 + tolerance) * (1.0 - other_error) - error
    return low, high


def measured_part(
    name: str, kind: str, tool: MeasuringTool, target: float, span: Span, density_g_cm3: float
) -> Part:
    """Return a part that a scale or a vessel measures, its limits counted in the last fill."""
    by_weight = tool.kind is ToolKind.SCALE
    filled = () if by_weight else each_fill(tool, target)
    before = sum(filled[:-1])
    return Part(
        name=name,
        kind=kind,
        volume_cm3=target / density_g_cm3 if by_weight else target,
        mass_g=target if by_weight else target * density_g_cm3,
        tool=tool,
        target=round(target, 6),
        low=round(span[0] - before, 6),
        high=round(span[1] - before, 6),
        fills=tuple(round(each, 6) for each in filled) if len(filled) > 1 else (),
    )


def _main_parts(mix: Mix, pair: ToolPair) -> tuple[Part, Part]:
    resin = mix.resin
    return (
        measured_part(
            resin.name,
            RESIN,
            pair.resin_tool,
            pair.resin,
            pair.resin_span,
            resin.density_resin_g_cm3,
        ),
        measured_part(
            f"{resin.name} hardener",
            HARDENER,
            pair.hardener_tool,
            pair.hardener,
            pair.hardener_span,
            resin.density_hardener_g_cm3,
        ),
    )


def _ways(
    tools: Sequence[MeasuringTool],
    mass_g: float,
    density_g_cm3: float,
    cup_g: float,
    slack: Span,
    *,
    powder: bool = False,
) -> Iterator[tuple[MeasuringTool, float, Span, float]]:
    """Yield how what is added to a batch can be measured: tool, target, span, relative error.

    ``slack`` is the least and the greatest share of the amount that will do; a tool that is too
    coarse for it may still be off by a step.  A powder comes off the tip of a knife in less than a
    step; only liquids come by the drop.
    """
    for owned in tools:
        if owned.kind is ToolKind.SPOON:
            continue
        tool = replace(owned, drop=0.0) if powder else owned
        wanted = mass_g if tool.kind is ToolKind.SCALE else mass_g / density_g_cm3
        target = nearest_mark(tool, wanted)
        if tool.kind is ToolKind.SCALE:
            holds = cup_g + target <= tool.capacity
        else:
            holds = fills(tool, target) <= MOST_FILLS
        error = (reading_error(tool, target) + abs(target - wanted)) / wanted
        if not holds or target < least_reading(tool) - 1e-9 or error > ADDED_ERROR:
            continue
        room = least_reading(tool)
        low, high = min(wanted * slack[0], target - room), max(wanted * slack[1], target + room)
        span = within(tool, target, inward(low, high, readable(tool)))
        if span is not None:
            yield owned, target, span, error


def thinner_part(
    thinner: Thinner,
    volume_cm3: float,
    tools: Sequence[MeasuringTool],
    cup_g: float = EMPTY_CUP_G,
) -> Part:
    """Return the thinner by volume, in the vessel that errs least; by weight where none will do."""
    density = thinner.density_g_cm3
    slack = (1.0 - ADDED_SLACK, 1.0 + ADDED_SLACK)
    ways = list(_ways(tools, volume_cm3 * density, density, cup_g, slack))
    if not ways:
        return _untooled(thinner.name, THINNER, volume_cm3, volume_cm3 * density)
    tool, target, span, _ = min(
        ways, key=lambda way: (way[0].kind not in VESSELS, way[3], fills(way[0], way[1]))
    )
    return measured_part(thinner.name, THINNER, tool, target, span, density)


def level_spoons(
    mass_g: float, bulk_g_cm3: float, tools: Sequence[MeasuringTool], slack: Span
) -> tuple[MeasuringTool | None, float]:
    """Return the spoon that fits a mass of powder best, and how many level (or half) spoons.

    None and 0 where none comes as near as ``slack`` or ``ADDED_SLACK`` asks, whichever is wider.
    A spoon is halved by eye where half of it is no less than its drop.
    """
    least, most = min(slack[0], 1.0 - ADDED_SLACK), max(slack[1], 1.0 + ADDED_SLACK)
    fitting: list[tuple[float, float, MeasuringTool]] = []
    for tool in tools:
        if tool.kind is not ToolKind.SPOON or bulk_g_cm3 <= 0.0:
            continue
        count = mass_g / (bulk_g_cm3 * tool.capacity)
        part = 2.0 if tool.drop <= 0.5 * tool.capacity * (1.0 + 1e-6) else 1.0
        spoons = max(1.0 / part, round(count * part) / part)
        if least <= spoons / count <= most and spoons <= MOST_SPOONS:
            fitting.append((abs(spoons / count - 1.0), spoons, tool))
    if not fitting:
        return None, 0.0
    close = [fit for fit in fitting if fit[0] <= ADDED_SLACK]
    best = min(close, key=lambda fit: fit[1]) if close else min(fitting, key=lambda fit: fit[0])
    return best[2], best[1]


def pigment_part(
    each: MixPigment,
    mass_g: float,
    tools: Sequence[MeasuringTool],
    cup_g: float = EMPTY_CUP_G,
) -> Part:
    """Return a pigment by weight and by level spoon; by spoon alone where no scale is fine enough.

    ``low`` and ``high`` are the pigment's advised shares where the wanted share lies between them.
    """
    pigment = each.pigment
    slack = pigment.share_low / each.share, pigment.share_high / each.share
    if not slack[0] <= 1.0 <= slack[1]:
        slack = 1.0 - ADDED_SLACK, 1.0 + ADDED_SLACK
    spoon, spoons = level_spoons(mass_g, pigment.bulk_g_cm3, tools, slack)
    scales = [tool for tool in tools if tool.kind is ToolKind.SCALE]
    ways = list(_ways(scales, mass_g, pigment.density_g_cm3, cup_g, slack, powder=True))
    if ways:
        tool, target, span, _ = min(ways, key=lambda way: way[3])
        part = measured_part(pigment.name, PIGMENT, tool, target, span, pigment.density_g_cm3)
        return replace(part, spoons=spoons, spoon=spoon)
    if spoon is None:
        return _untooled(pigment.name, PIGMENT, mass_g / pigment.density_g_cm3, mass_g)
    level = spoons * spoon.capacity
    mass = level * pigment.bulk_g_cm3
    volume = mass / pigment.density_g_cm3
    return Part(pigment.name, PIGMENT, volume, mass, spoon, level, level, level, spoons, spoon)


def _untooled(name: str, kind: str, volume_cm3: float, mass_g: float) -> Part:
    return Part(name, kind, volume_cm3, mass_g, None, mass_g, mass_g, mass_g)


def measure(
    mix: Mix, wanted_cm3: float, tools: Sequence[MeasuringTool], cup_g: float = EMPTY_CUP_G
) -> MeasuredBatch:
    """Return the card that makes at least ``wanted_cm3`` of a mix with the tools owned.

    Where no pair of tools holds the ratio, or the batch in a cup of ``cup_g``, the parts come
    unmeasured (no tool) with an infinite error and an infinite least batch: nothing honest can be
    mixed.
    """
    recipe = compose(mix, wanted_cm3)
    main_g = recipe.mass_of(RESIN, HARDENER)
    pair = best_pair(tools, ratio_of(mix), main_g, recipe.mass_g / main_g, cup_g)
    if pair is not None:
        resin, hardener = _main_parts(mix, pair)
        added = added_parts(mix, recipe.volume_cm3 * pair.mass_g / main_g, tools, cup_g)
        parts = (resin, *added, hardener)
        whole_g = sum(part.mass_g for part in parts)
        if _bears(parts, whole_g + cup_g):
            return MeasuredBatch(parts, pair.worst, pair.smallest_g * whole_g / pair.mass_g)
    return MeasuredBatch(
        tuple(_untooled(x.name, x.kind, x.volume_cm3, x.mass_g) for x in recipe.ingredients),
        math.inf,
        math.inf,
    )


def _bears(parts: Sequence[Part], whole_g: float) -> bool:
    """Whether the scale under the cup bears it with all that goes into it."""
    main = [part.tool for part in parts if part.kind in (RESIN, HARDENER)]
    return all(
        tool is None or tool.kind is not ToolKind.SCALE or whole_g <= tool.capacity + 1e-9
        for tool in main
    )


def added_parts(
    mix: Mix, volume_cm3: float, tools: Sequence[MeasuringTool], cup_g: float = EMPTY_CUP_G
) -> list[Part]:
    """Return pigments and thinner for so much finished mix, pigments first."""
    recipe = compose(mix, volume_cm3)
    weights = [each.mass_g for each in recipe.ingredients if each.kind == PIGMENT]
    parts = [
        pigment_part(each, mass_g, tools, cup_g)
        for each, mass_g in zip(mix.pigments, weights, strict=True)
        if mass_g > 0.0
    ]
    if mix.thinner is not None and recipe.volume_of(THINNER) > 0.0:
        parts.append(thinner_part(mix.thinner, recipe.volume_of(THINNER), tools, cup_g))
    return parts


# ---- The card backwards: what the display must read after what really went in; how to mend it


@dataclass(frozen=True, slots=True)
class Display:
    """What a scale that was not zeroed must read once the hardener is in, and its stop limits.

    Where even the display's own rounding is too much for the tolerance, ``low`` and ``high`` both
    stand at the target and ``fine`` is false: the batch is too small for this scale.
    """

    target_g: float
    low_g: float
    high_g: float
    fine: bool


@dataclass(frozen=True, slots=True)
class TopUp:
    """What to add to bring a ratio back: ``kind`` is empty where nothing need be added.

    ``over`` is the hardener's relative error as it stands.
    """

    kind: str
    add_g: float
    over: float


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
        return Display(target, target, target, fine=False)
    return Display(
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
        return TopUp("", 0.0, over)
    if over > 0.0:
        add = hardener_g / ratio.hardener_per_resin - resin_g
        return TopUp(RESIN, add, over)
    return TopUp(HARDENER, right - hardener_g, over)


def _marks(amount_g: float, step_g: float) -> float:
    return amount_g / step_g


def _step(marks: int, step_g: float) -> float:
    return round(marks * step_g, 9)
