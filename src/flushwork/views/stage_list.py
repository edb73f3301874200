"""The stages of a plan as plain lines, each with the reason for its place."""

from __future__ import annotations

import math
from collections.abc import Iterator

from flushwork.core.units import Quantity, quantity_text
from flushwork.core.units.factors import HOUR_S
from flushwork.process.stages import Plan, Stage, StageKind


def stage_lines(plan: Plan) -> Iterator[str]:
    """Yield the plan as lines of text: setups as headings, each stage with its reason."""
    mounted = 0
    for stage in plan.stages:
        if stage.setup != mounted:
            if stage.setup:
                yield _setup(plan, stage)
            elif mounted:
                yield "off the machine"
            mounted = stage.setup
        yield f"  {stage.number:3d}  {stage.title}"
        yield f"       because {stage.because}" if stage.because else ""
        if stage.lag_s > 0.0:
            yield f"       {_wait(stage)}"


def _setup(plan: Plan, stage: Stage) -> str:
    setup = plan.setup(stage.setup)
    turned = ", flipped" if setup.turned else ""
    holding = setup.holding
    stands = quantity_text(setup.stands_mm, Quantity.LENGTH)
    return (
        f"setup {setup.number}: {setup.face} up{turned}, held by {holding.how}, located "
        f"by {holding.locates_by}, {stands} thick"
    )


def _wait(stage: Stage) -> str:
    if math.isinf(stage.lag_s):
        return "no hour of the shop's day is warm enough: it may never get hard without a warm box"
    hours = stage.lag_s / HOUR_S
    told = f"{hours:.0f} h" if hours >= 3.0 else f"{stage.lag_s / 60.0:.0f} min"
    if stage.kind is StageKind.CURE:
        return f"about {told} where the pour ends with the day; the plan counts from the real hour"
    if stage.kind is StageKind.FINISH:
        return f"its coats dry for {told} in all"
    return f"dries for {told} before the next stage"
