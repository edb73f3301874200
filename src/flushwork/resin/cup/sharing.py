"""One clear batch, measured together, then split into colours.

The shares are taken out of the clear cup one after another; the greatest stays in it and is
coloured there, so that no cup more is used, and none loses more, than there are colours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from flushwork.job.records import Mix
from flushwork.resin.composition import CLEAR, HARDENER, RESIN, REST, compose, mix_density_g_cm3
from flushwork.resin.cup.cards import MeasuredBatch, added_parts, measure, measured_part
from flushwork.resin.cup.tool_readings import (
    MOST_FILLS,
    fills,
    inward,
    least_reading,
    readable,
    reading_error,
    within,
)
from flushwork.resin.pours import Part
from flushwork.shelf.items import MeasuringTool, ToolKind

SHARE_OVER: Final = 0.03
"""A share may be over by this, or by a step of its tool: never under, since its pockets want it
(assumed; range 0.02 to 0.1)."""


@dataclass(frozen=True, slots=True)
class Shared:
    """The common clear batch, and each colour made of it."""

    clear: MeasuredBatch
    colours: tuple[MeasuredBatch, ...]

    @property
    def mass_g(self) -> float:
        """Everything mixed: the clear batch and what is added to its shares."""
        added = sum(
            part.mass_g
            for colour in self.colours
            for part in colour.parts
            if part.kind not in (CLEAR, REST)
        )
        return self.clear.mass_g + added


def clear_of(mix: Mix) -> Mix:
    """Return the mix with nothing but its resin and hardener."""
    return replace(mix, name="clear", thinner=None, thinner_share=0.0, pigments=())


def clear_part(
    mix: Mix, mass_g: float, tools: Sequence[MeasuringTool], cup_g: float
) -> Part | None:
    """Return one colour's share of the clear batch, on the tool's next mark.

    By the tool that wastes least; None where none holds it.
    """
    density = mix_density_g_cm3(clear_of(mix))
    found: list[tuple[float, float, Part]] = []
    for tool in tools:
        unit_g = 1.0 if tool.kind is ToolKind.SCALE else density
        target = math.ceil(mass_g / unit_g / tool.step - 1e-9) * tool.step
        target = max(target, math.ceil(tool.drop / tool.step - 1e-9) * tool.step)
        if tool.kind is ToolKind.SPOON:
            continue
        if tool.kind is ToolKind.SCALE:
            holds = cup_g + target <= tool.capacity
        else:
            holds = fills(tool, target) <= MOST_FILLS
        high = target + max(SHARE_OVER * target, least_reading(tool))
        span = within(tool, target, inward(target, high, readable(tool)))
        if not holds or span is None:
            continue
        part = measured_part(f"mixed {mix.resin.name}", CLEAR, tool, target, span, density)
        found.append((span[1] * unit_g, reading_error(tool, target) * unit_g, part))
    return min(found, key=lambda each: each[:2])[2] if found else None


def most_g(part: Part) -> float:
    """Return the most a measured share may come to."""
    return part.mass_g * (1.0 + (part.high - (part.fills or (part.target,))[-1]) / part.target)


def share_clear(
    wanted: Sequence[tuple[Mix, float]], tools: Sequence[MeasuringTool], cup_g: float
) -> Shared | None:
    """Return a common clear batch for mixes of one resin and ratio, each wanted in cm3.

    What is wanted holds what each colour's own cup keeps.  ``None`` where no tool holds the common
    batch or a share of it.
    """
    recipes = [compose(mix, wanted_cm3) for mix, wanted_cm3 in wanted]
    masses = [recipe.mass_of(RESIN, HARDENER) for recipe in recipes]
    stays = masses.index(max(masses))
    shares = [
        clear_part(mix, mass_g, tools, cup_g) if place != stays else None
        for place, ((mix, _), mass_g) in enumerate(zip(wanted, masses, strict=True))
    ]
    taken = [share for share in shares if share is not None]
    if len(taken) < len(shares) - 1:
        return None
    clear_mix = clear_of(wanted[0][0])
    density = mix_density_g_cm3(clear_mix)
    clear = measure(clear_mix, (sum(map(most_g, taken)) + masses[stays]) / density, tools, cup_g)
    if not math.isfinite(clear.ratio_error):
        return None
    left_g = clear.mass_g - sum(share.mass_g for share in taken)
    rest = Part(
        f"mixed {wanted[stays][0].resin.name}",
        REST,
        left_g / density,
        left_g,
        None,
        left_g,
        left_g,
        left_g,
    )
    colours = []
    for (mix, wanted_cm3), mass_g, share in zip(wanted, masses, shares, strict=True):
        first = share or rest
        more = added_parts(mix, wanted_cm3 * first.mass_g / mass_g, tools, cup_g)
        whole_g = sum(part.mass_g for part in (first, *more))
        least_g = clear.smallest_g / clear.mass_g * whole_g
        colours.append(MeasuredBatch((first, *more), clear.ratio_error, least_g))
    return Shared(clear, tuple(colours))
