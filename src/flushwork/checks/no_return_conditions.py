"""What must be true before a step that cannot be taken back, and the cheapest look at it.

What keeps somebody from being hurt is a condition of the step, never a look that has to pay.
All checks are common practice, no source; their minutes are assumed (half to twice).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from flushwork.built import Build
from flushwork.checks.odds.odds import QuantityOdds
from flushwork.checks.odds.variation import Critical
from flushwork.core.units.kinds import MINUTE_S
from flushwork.process.rounds import milled_to_words
from flushwork.process.sealing import seal_mix
from flushwork.process.stages import POURING, Stage, StageKind
from flushwork.resin.cure import wait_until_cured_s
from flushwork.resin.pours import Pour
from flushwork.resin.thinned import slowest_of_each
from flushwork.schedule.waits import (
    Awaited,
    cured_waits,
    hard_waits,
    planned_waits,
    wait_text,
    waits_text,
)

WARM_BOX: Final = "the time that a warm box takes"


@dataclass(frozen=True, slots=True)
class Check:
    """A look before the step: what is done, and how many minutes it takes for the whole run."""

    what: str
    minutes: float


CHECKS: Final[dict[StageKind, Check]] = {
    StageKind.CUT: Check("stop after the first shallow pass, measure its place and depth", 2.0),
    StageKind.FILL: Check(
        "wet one sealed wall with a drop of clear: no halo after five minutes",
        6.0,
    ),
    StageKind.CAP: Check("look along every line under a low lamp and lift what lies on it", 2.0),
    StageKind.MILL_FLUSH: Check(
        "touch off at three places of bare wood, take the first pass higher", 3.0
    ),
    StageKind.SAND: Check("draw pencil over the face and look again after twenty strokes", 1.0),
    StageKind.SHAPE: Check("stop after the first shallow pass, measure its place and depth", 2.0),
    StageKind.DRILL: Check("drill one hole in the waste, measure it and try the peg", 4.0),
    StageKind.TRIM: Check(
        "while it runs in air, measure from the outline to two edges of the blank", 2.0
    ),
    StageKind.FINISH: Check("look at a coat put on the filled scrap", 5.0),
}
TEST_STRIP: Final = Check("sand the filled scrap first and count the strokes", 8.0)
EDGE: Final = Check(
    "stop over the first place with the tip just above the face, and measure with a loupe how far "
    "it stands off the edge cut before",
    6.0,
)
BY_QUANTITY: Final[dict[str, Check]] = {
    Critical.SEAM_COVER: EDGE,
    Critical.FIRST_EDGE: EDGE,
    Critical.WOOD_BETWEEN: EDGE,
    Critical.WOOD_BETWEEN_FACES: Check(
        "measure the blank at this place and the first pocket's depth", 3.0
    ),
    Critical.FIRST_COLOUR: Check("measure the depth of the first pass beside the second", 3.0),
    Critical.LEFT_TO_SAND: CHECKS[StageKind.MILL_FLUSH],
    Critical.TRIM_GAP: Check(
        "while it runs in air, measure from the outline to the nearest inlay", 3.0
    ),
    Critical.HOLE_WALL: Check("mark two holes through paper and look where they fall", 3.0),
    Critical.RATIO: Check(
        "have the card's two figures read out to you and read both displays back", 1.0
    ),
    Critical.CAP: TEST_STRIP,
    Critical.BRIGHT_LINE: TEST_STRIP,
    Critical.FILL: CHECKS[StageKind.SAND],
    Critical.STROKE: CHECKS[StageKind.SAND],
}
"""The look that finds what rules a quantity; the figures it must meet stand in the conditions."""
SURE: Final = 0.9999


def check_for(build: Build, stage: Stage, weakest: QuantityOdds | None) -> Check:
    """Return the cheapest look before a stage: at what varies most, or at what hands do wrong."""
    if weakest is None or weakest.odds >= SURE or weakest.name not in BY_QUANTITY:
        return CHECKS[stage.kind]
    check = BY_QUANTITY[weakest.name]
    read = _marks_read(build, stage)
    if check is not EDGE:
        return check
    if read:
        what = f"read the registration marks of setup {read} with a loupe before anything is cut"
        return Check(what, check.minutes)
    return check if stage.round > 1 or stage.kind is not StageKind.CUT else CHECKS[stage.kind]


def _marks_read(build: Build, stage: Stage) -> int:
    """Return the number of the setup whose marks can be read at a stage, 0 for none."""
    setups = {each.number: each for each in build.plan.setups}
    at = setups.get(stage.setup)
    return at.reads if at is not None and at.reads and setups[at.reads].marks else 0


def conditions(build: Build, stage: Stage, weakest: QuantityOdds | None) -> tuple[str, ...]:
    """Return what must be true before a stage, each in words that can be ticked."""
    told = [*_by_kind(build, stage)]
    if weakest is not None and weakest.unit == "mm":
        told.append(_room(weakest))
    return tuple(told)


def _room(weakest: QuantityOdds) -> str:
    room = weakest.nominal - weakest.limit
    return (
        f"{weakest.name} of {weakest.subject} has {room:.2f} mm to spare; what varies most is "
        f"{weakest.dominant}"
    )


def _in_air(build: Build, stage: Stage) -> Iterator[str]:
    """Yield the run in air, which is compulsory: no file touches wood before it."""
    files = [file for file in build.gcode_files if file.order.setup == stage.setup]
    if not stage.setup or not files or stage.kind is StageKind.SAND:
        return
    steps = build.schedule.steps if build.schedule is not None else ()
    minutes = sum(step.air_min for step in steps if step.stage == stage.number)
    planned = f", {minutes} min of the plan" if minutes else ""
    what = "the outline" if stage.kind is StageKind.TRIM else "each file of this step"
    holds = ", and nothing that holds the piece was in its way"
    yield (
        f"{what} has been run once in air, well above the wood, before it first touches "
        f"it{holds}: compulsory{planned}"
    )


def _by_kind(build: Build, stage: Stage) -> Iterator[str]:
    yield from _in_air(build, stage)
    if stage.kind is StageKind.CUT:
        yield from _cutting(build, stage)
    elif stage.kind in POURING:
        yield from _pouring(build, stage)
    elif stage.kind in (StageKind.MILL_FLUSH, StageKind.SAND):
        yield from _flush_milling(build, stage)
    elif stage.kind is StageKind.SHAPE:
        yield from _hard(build, stage)
        yield "nothing is poured on this face any more, and its last sanding is done"
    elif stage.kind is StageKind.DRILL:
        yield from _hard(build, stage)
        yield "the pattern is up by its setup card, and a scrap lies under through holes"
    elif stage.kind is StageKind.TRIM:
        yield from _hard(build, stage)
        before = build.plan.stages[: stage.number - 1]
        if any(other.kind is StageKind.DRILL for other in before):
            yield "every hole is drilled and counted"
        yield "nothing that holds lies on the outline"
    elif stage.kind is StageKind.FINISH:
        yield from _finishing(build)


def _cutting(build: Build, stage: Stage) -> Iterator[str]:
    setup = build.plan.setup(stage.setup)
    stands_mm = build.replay.before_mm(stage.number, build.job.blank.thickness_mm)
    yield (
        f"the {stage.face} is up{', flipped' if setup.turned else ''}, located by "
        f"{setup.holding.locates_by}, and the blank measures {stands_mm:.2f} mm"
    )
    runs = {cut.file_name for cut in build.replay.cuts if cut.stage == stage.number}
    bits = dict.fromkeys(
        file.order.bit.name for file in build.gcode_files if file.file_name in runs
    )
    if bits:
        yield f"the bits are the card's, measured: {', '.join(bits)}"
    if stage.round > 1:
        yield from _hard(build, stage)
        read = _marks_read(build, stage)
        at = f"the registration marks of setup {read}" if read else "an edge that is cut already"
        yield f"it comes back within {setup.holding.repeat_mm:g} mm: measured at {at}"


def _pouring(build: Build, stage: Stage) -> Iterator[str]:
    resin = next(mix.resin for mix in build.job.mixes if mix.name == stage.mix)
    sealed = [
        other
        for other in build.plan.stages[: stage.number]
        if other.kind is StageKind.SEAL and set(other.subjects) & set(stage.subjects)
    ]
    if sealed and stage.kind is StageKind.FILL:
        waits = planned_waits(build.plan, build.schedule, sealed[-1])
        told = waits_text(waits, " or more") if waits else f"{_told(sealed[-1].lag_s)} or more"
        sets = "set" if seal_mix(build.job, sealed[-1]) is not None else "dried"
        yield f"the walls shine evenly and have {sets} for {told}"
    if stage.kind is StageKind.CAP or stage.layer > 1:
        yield "what lies beneath is firm, free of dust, and not yet hard"
    yield f"the air is above {resin.floor_c:g} degrees C and stays so until it is hard"
    own = [pour for pour in build.pours if pour.stage == stage.number]
    if own:
        numbers = " and ".join(str(pour.number) for pour in own)
        yield f"pour {numbers} is measured within the stop limits of its card"
        yield from (_within(item) for item in own)
    yield "the piece lies level both ways"


def _within(pour: Pour) -> str:
    """Return until when a pour is in its pockets, by the clock of the batch it comes from."""
    batch = f" in the batch of pour {pour.clock_of}" if pour.clock_of != pour.number else ""
    life = _floor_text(pour.pot_life_s / MINUTE_S)
    return f"pour {pour.number} will be in its pockets within {life} of first contact{batch}"


def _floor_text(minutes: float) -> str:
    """Return a time on its safe side: whole minutes, or seconds under one."""
    return f"{math.floor(minutes)} min" if minutes >= 1.0 else f"{math.floor(60.0 * minutes)} s"


def _flush_milling(build: Build, stage: Stage) -> Iterator[str]:
    yield from _hard(build, stage)
    if stage.kind is StageKind.MILL_FLUSH:
        yield "zero is touched off on bare wood, at more than one place"
        yield f"the machine stops {milled_to_words(build.job.allowances)} as it stands"
        return
    sand = build.job.allowances.sand_mm if stage.round <= 1 else build.job.allowances.light_sand_mm
    yield f"no more than {sand:g} mm of wood goes with it"


def _hard(build: Build, stage: Stage) -> Iterator[str]:
    """Yield how long ago the last resin of the stage's face must have been poured."""
    poured = [
        other
        for other in build.plan.stages[: stage.number - 1]
        if other.kind in POURING and other.face == stage.face
    ]
    if not poured:
        return
    last = max(poured, key=lambda other: other.number)
    waits = hard_waits(build.plan, build.schedule, last)
    if not waits:
        told = _told(_undated_s(build, last))
        yield f"{last.mix} was poured {told} ago or more, and a thumbnail leaves no mark in its cup"
    for mix in dict.fromkeys(name for each in waits for name in each.mixes):
        own = [each for each in waits if mix in each.mixes]
        yield f"{mix} was {_poured(own)}, and a thumbnail leaves no mark in its cup"


def _undated_s(build: Build, poured: Stage) -> float:
    """Return the wait after a pour where the days plan none: that of its cure."""
    return max(
        other.lag_s
        for other in build.plan.stages[poured.number :]
        if other.kind is StageKind.CURE and (other.face, other.round) == (poured.face, poured.round)
    )


def _poured(waits: list[Awaited]) -> str:
    """Return how long ago something was poured, by piece where the days differ."""
    own = [Awaited(each.minutes, (), each.pieces) for each in waits]
    return f"poured {waits_text(own, ' ago or more')}"


def _told(wait_s: float) -> str:
    return wait_text(wait_s / MINUTE_S) if math.isfinite(wait_s) else WARM_BOX


def _finishing(build: Build) -> Iterator[str]:
    poured = {item.mix for item in build.replay.poured}
    resins = slowest_of_each(mix for mix in build.job.mixes if mix.name in poured)
    air = build.job.shop.air
    wait_s = max((wait_until_cured_s(resin, air) for resin in resins), default=0.0)
    waits = cured_waits(build.plan, build.schedule)
    for mix in dict.fromkeys(name for each in waits for name in each.mixes):
        yield f"{mix} was {_poured([each for each in waits if mix in each.mixes])}"
    if wait_s and not waits:
        yield f"the last resin was poured {_told(wait_s)} ago or more"
    yield "no dust, no pencil, no shine of blush; the finish was tried beside this resin"
