"""One clear batch, measured together, then split into colours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flushwork.job.records import Mix
from flushwork.resin.cards import Measured, added_parts, measure, on_one_cup
from flushwork.resin.composition import CLEAR, HARDENER, RESIN, compose
from flushwork.resin.measuring import VESSELS, reading_error
from flushwork.resin.pours import Part
from flushwork.shelf.items import MeasuringTool, ToolKind


@dataclass(frozen=True, slots=True)
class Shared:
    """The common clear batch, each colour made of it, and the clear left over, in g."""

    clear: Measured
    colours: tuple[Measured, ...]
    left_g: float

    @property
    def mass_g(self) -> float:
        """Everything mixed: the clear batch and what is added to its shares."""
        added = sum(
            part.mass_g for colour in self.colours for part in colour.parts if part.kind != CLEAR
        )
        return self.clear.mass_g + added


def clear_of(mix: Mix) -> Mix:
    """Return the mix with nothing but its resin and hardener."""
    return replace(mix, name="clear", thinner=None, thinner_share=0.0, pigments=())


def clear_part(mix: Mix, mass_g: float, tools: Sequence[MeasuringTool]) -> Part:
    """Return one colour's share of the clear batch, rounded up to the tool's next mark."""
    density = compose(clear_of(mix), 1.0).density_g_cm3
    scales = [tool for tool in tools if tool.kind is ToolKind.SCALE]
    usable = scales or [tool for tool in tools if tool.kind in VESSELS]
    tool = min(usable, key=lambda each: reading_error(each, mass_g)) if usable else None
    per_unit = density if tool is not None and tool.kind in VESSELS else 1.0
    target = mass_g / per_unit
    slack = 0.1 * target
    if tool is not None:
        target = math.ceil(target / tool.step - 1e-9) * tool.step
        slack = max(tool.step, slack)
    mass = target * per_unit
    return Part(
        name=f"mixed {mix.resin.name}",
        kind=CLEAR,
        volume_cm3=mass / density,
        mass_g=mass,
        tool=tool,
        target=target,
        running=target,
        low=target - slack,
        high=target + slack,
        spoons=0.0,
    )


def share_clear(
    wanted: Sequence[tuple[Mix, float]], tools: Sequence[MeasuringTool], cup_loss_g: float
) -> Shared | None:
    """Return a common clear batch for mixes of one resin and ratio, each wanted in cm3.

    The clear cup loses ``cup_loss_g`` of its own.  ``None`` where no tool holds the common batch.
    """
    recipes = [compose(mix, wanted_cm3) for mix, wanted_cm3 in wanted]
    shares = [
        clear_part(mix, recipe.mass_of(RESIN, HARDENER), tools)
        for (mix, _), recipe in zip(wanted, recipes, strict=True)
    ]
    clear_mix = clear_of(wanted[0][0])
    taken_g = sum(part.mass_g for part in shares) + cup_loss_g
    clear = measure(clear_mix, taken_g / compose(clear_mix, 1.0).density_g_cm3, tools)
    if not math.isfinite(clear.ratio_error):
        return None
    colours = []
    for (mix, wanted_cm3), recipe, share in zip(wanted, recipes, shares, strict=True):
        factor = share.mass_g / recipe.mass_of(RESIN, HARDENER)
        parts = on_one_cup([share, *added_parts(mix, wanted_cm3 * factor, tools)])
        mass_g = sum(part.mass_g for part in parts)
        least_g = clear.smallest_g / clear.mass_g * mass_g
        colours.append(Measured(parts, clear.ratio_error, least_g))
    return Shared(clear, tuple(colours), max(0.0, clear.mass_g - taken_g))
