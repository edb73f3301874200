"""The stages in order, each with its tick boxes, its wait and the warnings that apply."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from flushwork.core.findings import Subject, SubjectKind
from flushwork.core.units import Quantity, quantity_text
from flushwork.core.units.kinds import DAY_S, HOUR_S, MINUTE_S
from flushwork.job.records import Allowances, Job, Manner, Mix
from flushwork.process.bright_lines import BrightLine
from flushwork.process.rounds import milled_to_mm
from flushwork.process.sealing import BESIDE_MM, seals_beside
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.cards import MeasuredBatch, measure
from flushwork.resin.pours import Part, left_in_cup_s
from flushwork.schedule.waits import (
    planned_wait_s,
    planned_waits,
    poured_on_next,
    wait_text,
    waits_text,
)
from flushwork.shelf.items import Shop, ToolKind
from flushwork.views.book_records import StageView
from flushwork.views.context import ViewContext
from flushwork.views.figures import (
    NO_BREAK,
    TIMES,
    Lengths,
    clean,
    counted,
    duration,
    grams,
    held,
    joined,
    measured_amount,
    percent,
    short,
)
from flushwork.views.setup_details import waste_words
from flushwork.views.stage_cards import (
    CARDS,
    CUT_AGAIN,
    FLUSH,
    SAND_BARE,
    SEAL_AGAIN,
    SETTING,
    Card,
)
from flushwork.views.warning_lines import accepted_lines, stage_warnings
from flushwork.wood.rough_stock import rough_parts

# ---- The touch-up of bright lines: what is expected to miss, and the fresh batch that mends it
#
# Mixed resin does not keep, so a touch-up always is a batch of its own, measured like any other.


LEAST_TOUCH_UP_G: Final = 0.005
"""Less than this is not told: half a step of a fine scale."""


def touch_up_batch(mix: Mix, needed_g: float, shop: Shop) -> MeasuredBatch:
    """Return the smallest batch the shop's tools can measure that holds ``needed_g`` of a mix.

    What stays in the cup is allowed for, as with every batch.
    """
    density = mix_density_g_cm3(mix)
    return measure(mix, (needed_g + shop.cup_loss_g) / density, shop.tools, shop.cup_g)


def batch_words(line: BrightLine, shop: Shop) -> str:
    """Return how a line's touch-up batch is measured, part by part in the order they go in."""
    mix, needed_g = line.inlay.mix, max(line.touch_up_g, LEAST_TOUCH_UP_G)
    batch = touch_up_batch(mix, needed_g, shop)
    if not math.isfinite(batch.ratio_error):
        return f"No tool on the shelf measures {clean(mix.name)} within its tolerance."
    parts = "; ".join(_part(part) for part in batch.parts)
    return (
        f"Nothing mixed today keeps till then: mix {grams(batch.mass_g)} of {clean(mix.name)} "
        f"afresh, the least these tools measure for it ({parts}), and pour what is left into "
        "test strips or spare parts."
    )


def _part(part: Part) -> str:
    name, tool = clean(part.name), part.tool
    spoons = ""
    if part.spoons > 0.0 and part.spoon is not None:
        spoons = f", {short(part.spoons, 1)}{NO_BREAK}{TIMES} {clean(part.spoon.name)}, level"
    if tool is None:
        return f"{name} {grams(part.mass_g, 0.01)}{spoons}"
    if tool.kind is ToolKind.SPOON:
        return f"{name} {spoons.removeprefix(', ')}"
    return f"{name} {measured_amount(part)} by {clean(tool.name)}{spoons}"


# ---- The stages in order, each with its tick boxes, its wait and the warnings that apply


LOOK_MIN: Final = 10
LEAST_LOOK_MIN: Final = 3
TOP_UP_MIN: Final = 1
"""Minutes after which bubbles have risen, before which none has, and that a top-up takes (common
practice, no source)."""


def ticks(job: Job) -> tuple[str, ...]:
    """Return the names of the run's pieces: numbers, then the test pieces."""
    tests = ("T",) if job.test_pieces == 1 else tuple(f"T{n + 1}" for n in range(job.test_pieces))
    return tuple(str(number + 1) for number in range(job.pieces)) + tests


def stage_keys(plan: Plan) -> dict[int, str]:
    """Return what the log of a run knows each stage by, by its number."""
    return {stage.number: clean(f"{stage.title} ({stage.face})") for stage in plan.stages}


def stage_views(
    context: ViewContext, letters: Mapping[str, str], lengths: Lengths
) -> tuple[StageView, ...]:
    """Return all stages."""
    return tuple(_stage(context, stage, letters, lengths) for stage in context.build.plan.stages)


def _stage(
    context: ViewContext, stage: Stage, letters: Mapping[str, str], lengths: Lengths
) -> StageView:
    mine = [file for file in context.build.gcode_files if file.order.setup == stage.setup]
    card = card_of(context.build.plan, stage, context.build.job.allowances)
    return StageView(
        number=stage.number,
        face=stage.face,
        title=clean(stage.title),
        because=clean(_sentence(stage.because)),
        details=_details(context, stage, letters, lengths),
        wait=_wait(context, stage),
        ticks=ticks(context.build.job),
        warnings=(
            *_accepted(context, stage),
            *stage_warnings(
                context.build.job, context.build.plan, stage, mine if stage.setup else ()
            ),
        ),
        how=card.name,
        differs=_sentence(card.differs.format_map(_words(context, stage, lengths))),
        touch_up=_touch_up(context, stage),
    )


def _accepted(context: ViewContext, stage: Stage) -> tuple[str, ...]:
    """Return what was accepted: all of it at the machine, what concerns it at any other stage."""
    if stage.setup:
        return accepted_lines(context.build.findings)
    things = {Subject("stage", stage.title), Subject("mix", stage.mix)}
    kinds: tuple[SubjectKind, ...] = ("inlay", "holes", "trim line")
    things |= {Subject(kind, name) for name in stage.subjects for kind in kinds}
    return accepted_lines(context.build.findings, things)


def card_of(plan: Plan, stage: Stage, allowances: Allowances) -> Card:
    """Return how a stage is worked.

    A later cut, the sealing of later walls, a wait for a pour and a flush milling into
    the wood have cards of their own.
    """
    if seals_beside(stage):
        return SEAL_AGAIN
    if stage.kind is StageKind.CUT and stage.round > 1:
        return CUT_AGAIN
    if stage.kind is StageKind.MILL_FLUSH and milled_to_mm(allowances) < 0.0:
        return FLUSH
    if stage.kind is StageKind.SAND and not stage.subjects:
        return SAND_BARE
    if stage.kind is StageKind.CURE and poured_on_next(plan, stage):
        return SETTING
    return CARDS[stage.kind]


def _words(context: ViewContext, stage: Stage, lengths: Lengths) -> dict[str, str]:
    """Return what the names in braces of a card stand for."""
    job, given = context.build.job, context.build.job.allowances
    pours = [str(pour.number) for pour in context.build.pours if pour.stage == stage.number]
    scraped = _scraped(context, stage)
    proud = f"{lengths.say(given.overfill_mm, 1)} proud"
    plan = job.finish
    return {
        "surfaced": lengths.say(given.surface_mm),
        "left": lengths.say(_left_mm(context, stage)),
        "milled": lengths.say(abs(milled_to_mm(given))),
        "sand": lengths.say(given.sand_mm if stage.round <= 1 else given.light_sand_mm),
        "seal_cup": f"Pour {joined(pours)}; " if pours else "",
        "seal_sets": "let it set" if pours else "dry",
        "beside": lengths.say(given.overspill_mm + BESIDE_MM, 1),
        "coats": counted(plan.coats, "coat") if plan is not None else "",
        "wait_coat": duration(plan.finish.recoat_s) if plan is not None else "",
        "wait": waited(context, stage),
        "again": _again(context, stage),
        "manner": "draw a card along the lines: nothing stays on the edges" if scraped else proud,
        **_stock_words(context, lengths),
        **waste_words(context, stage, lengths),
    }


def _stock_words(context: ViewContext, lengths: Lengths) -> dict[str, str]:
    """Return what the cards of rough stock and glue-up say of this job."""
    job, glue_up = context.build.job, context.build.job.blank.glue_up
    sizes = [
        f"{part.count} of {lengths.size(part.along_mm, part.across_mm, part.thick_mm)}"
        for part in rough_parts(job)
    ]
    return {
        "rough_size": joined(sizes),
        "rests": duration(job.rough.rest_s),
        "strips": joined([lengths.say(each, 1) for each in job.blank.strips_mm]),
        "rings": "up and down in turn" if glue_up and glue_up.alternating else "all one way",
    }


def _left_mm(context: ViewContext, stage: Stage) -> float:
    """Return the blank's thickness once a stage is done."""
    table = context.build.replay.thickness_table
    done = [entry.thickness_mm for entry in table if entry.stage <= stage.number]
    return done[-1] if done else context.build.job.blank.thickness_mm


def _again(context: ViewContext, stage: Stage) -> str:
    """Return when the fills are looked at again: never to be topped up from a cup that sets."""
    own = [pour for pour in context.build.pours if pour.stage == stage.number] or [
        pour for pour in context.build.pours if pour.mix.name == stage.mix
    ]
    left_s = min((left_in_cup_s(pour, context.build.all_pours) for pour in own), default=0.0)
    minutes = min(LOOK_MIN, math.floor(left_s / MINUTE_S) - TOP_UP_MIN)
    if minutes < LEAST_LOOK_MIN:
        return f"Look again after {LOOK_MIN} min; the cup sets too soon to top up"
    return f"Look again after {minutes} min" if minutes < LOOK_MIN else ""


def _scraped(context: ViewContext, stage: Stage) -> bool:
    """Whether all that a stage fills is scraped flush."""
    manners = [
        drawn.inlay.manner
        for face in context.build.faces
        if face.name == stage.face
        for drawn in face.inlays
        if drawn.inlay.name in stage.subjects
    ]
    return bool(manners) and all(manner is not Manner.OVERFILLED for manner in manners)


def _touch_up(context: ViewContext, stage: Stage) -> tuple[str, ...]:
    """Return, where bright lines are sanded, what of them will miss and what mending it takes."""
    if stage.kind is not StageKind.SAND:
        return ()
    lag_s = sum(
        planned_wait_s(context.build.plan, context.schedule, other)
        for other in context.build.plan.stages
        if other.kind is StageKind.CURE and (other.face, other.round) == (stage.face, stage.round)
    )
    return tuple(
        _miss(line, context.build.job.shop, lag_s)
        for line in context.lines
        if line.inlay.face == stage.face and line.inlay.name in stage.subjects
    )


def _miss(line: BrightLine, shop: Shop, lag_s: float) -> str:
    days = math.ceil(lag_s / DAY_S) if math.isfinite(lag_s) else 0
    after = f" It adds {counted(days, 'day')} for its cure." if days else ""
    batch = batch_words(line, shop)
    if line.touch_up_g < LEAST_TOUCH_UP_G:
        return (
            f"{clean(line.inlay.name)}: none of it is expected dull. Where a place is, cut it out "
            f"again, refill and scrape. {batch}{after}"
        )
    return (
        f"{clean(line.inlay.name)}: expect about {percent(1.0 - line.odds)} of its length dull. "
        f"Cut those places out again, refill and scrape: it takes {grams(line.touch_up_g, 0.01)} "
        f"for all pieces. {batch}{after}"
    )


def _sentence(text: str) -> str:
    text = text.strip()
    return f"{text[0].upper()}{text[1:].rstrip('.')}." if text else ""


def _details(
    context: ViewContext, stage: Stage, letters: Mapping[str, str], lengths: Lengths
) -> tuple[str, ...]:
    lines: list[str] = []
    if stage.setup:
        lines.append(f"setup {stage.setup}")
    pours = [pour.number for pour in context.build.pours if pour.stage == stage.number]
    if pours:
        word = "pour" if len(pours) == 1 else "pours"
        lines.append(f"{word} {joined([str(number) for number in pours])}")
    if stage.mix:
        lines.append(f"mix {letters.get(stage.mix, '')} {clean(stage.mix)}".replace("  ", " "))
    if stage.airing_s:
        lines.append(
            "coat and dry it outdoors or in another aired room; in the workshop air "
            f"{duration(stage.airing_s)} before a machine runs, or anything hot or sparking"
            if stage.kind in (StageKind.SEAL, StageKind.FINISH, StageKind.BOX_COAT)
            else f"air the room {duration(stage.airing_s)} before a machine runs, or anything hot "
            "or sparking"
        )
    if stage.subjects and stage.kind is StageKind.DRILL:
        lines.append(counted(_holes(context, stage), "hole") + " each piece")
    lines.extend(
        f"the face comes to {lengths.say(entry.face_mm)}, "
        f"the blank to {lengths.say(entry.thickness_mm)}"
        for entry in context.build.replay.thickness_table
        if entry.stage == stage.number and entry.face == stage.face
    )
    return tuple(lines)


def _holes(context: ViewContext, stage: Stage) -> int:
    return sum(
        len(pattern.places)
        for face in context.build.faces
        if face.name == stage.face
        for pattern in face.holes
        if pattern.holes.name in stage.subjects
    )


def _wait(context: ViewContext, stage: Stage) -> str:
    if stage.lag_s <= 0.0:
        return ""
    return f"then wait {waited(context, stage)}"


def waited(context: ViewContext, stage: Stage) -> str:
    """Return how long a stage is waited for: as the days are planned, where they are.

    A picture drawn before its days are planned tells no figure, since another will follow.
    """
    waits = planned_waits(context.build.plan, context.schedule, stage)
    if waits:
        return held(clean(waits_text(waits, " at least")))
    if stage.kind is StageKind.CURE and not context.dated:
        return "as long as the days say once they are planned"
    if math.isinf(stage.lag_s):
        return "in a warm box, without end"
    return held(f"{wait_text(stage.lag_s / MINUTE_S)} at least")


# ---- The stages of a plan as plain lines, each with the reason for its place


def stage_lines(plan: Plan) -> Iterator[str]:
    """Yield the plan as lines of text: setups as headings, each stage with its reason."""
    mounted = 0
    for stage in plan.stages:
        if stage.setup != mounted:
            if stage.setup:
                yield _setup_told(plan, stage)
            elif mounted:
                yield "off the machine"
            mounted = stage.setup
        yield f"  {stage.number:3d}  {stage.title}"
        yield f"       because {stage.because}" if stage.because else ""
        if stage.lag_s > 0.0:
            yield f"       {_lag_told(stage)}"


def _setup_told(plan: Plan, stage: Stage) -> str:
    setup = plan.setup(stage.setup)
    turned = ", flipped" if setup.turned else ""
    holding = setup.holding
    stands = quantity_text(setup.stands_mm, Quantity.LENGTH)
    return (
        f"setup {setup.number}: {setup.face} up{turned}, held by {holding.how}, located "
        f"by {holding.locates_by}, {stands} thick"
    )


def _lag_told(stage: Stage) -> str:
    if math.isinf(stage.lag_s):
        return "no hour of the shop's day is warm enough: it may never get hard without a warm box"
    hours = stage.lag_s / HOUR_S
    told = f"{hours:.0f} h" if hours >= 3.0 else f"{stage.lag_s / 60.0:.0f} min"
    if stage.kind is StageKind.CURE:
        return f"about {told} where the pour ends with the day; the plan counts from the real hour"
    if stage.kind is StageKind.FINISH:
        return f"its coats dry for {told} in all"
    return f"dries for {told} before the next stage"
