"""The usual warnings, one line each, only where they apply.

They are the trade's ordinary ones (common practice, no source) in our own words, and stand behind
the product's safety sheet, local rules and trained practice, which ``SAFETY_FIRST`` says on every
card.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from itertools import takewhile
from typing import Final

from flushwork.core.findings import Finding, Subject
from flushwork.job.records import Job
from flushwork.process.exposure import lit_by_a_flame, met_at, things_near
from flushwork.process.stages import POURING, Plan, Setup, Stage, StageKind
from flushwork.resin.pours import Pour
from flushwork.shelf.hazards import Hazard, HazardState
from flushwork.toolpaths.orders import GcodeFile, TrimCut, Work
from flushwork.views.figures import clean, joined

SAFETY_FIRST: Final = (
    "The product's safety sheet, local rules and trained practice come before anything "
    "printed here."
)

ACCEPTED: Final = "Accepted by name: "

SMALL_BIT_MM: Final = 1.6
"""Bits below this break often (common practice, no source)."""

SMALL_PIECE_MM: Final = 150.0
"""Nearer than a hand's breadth to a spinning bit is too near (common practice, no source)."""

SHORT_STOCK_MM: Final = 300.0
"""Shorter boards tip or jam in planers and on jointers (common practice, no source)."""

WORK_OF: Final = {
    StageKind.LOCATE: (Work.DRILL,),
    StageKind.MARK: (Work.DRILL,),
    StageKind.CUT: (Work.POCKET, Work.LINE, Work.ENGRAVE),
    StageKind.MILL_FLUSH: (Work.MILL_FLUSH,),
    StageKind.SHAPE: (Work.POCKET, Work.LINE, Work.ENGRAVE, Work.EDGE, Work.HANGER),
    StageKind.DRILL: (Work.DRILL,),
    StageKind.TRIM: (Work.TRIM,),
}
"""What is cut in the stages that run on the machine."""

MACHINE: Final = (
    "Eyes, ears and dust extraction. No gloves, loose sleeves or cords near the spindle.",
    "Stay with the machine while it cuts, a hand near the stop button; check the dust bag for "
    "embers afterwards.",
)
AIR_FIRST: Final = "Run each file once in air, well above the wood, before it touches it."
SMALL: Final = (
    "Small bits break and fly: guard closed, glasses on. Measure with the spindle off and locked."
)
CURED_ONLY: Final = (
    "Cut, scrape or sand resin only when fully hard; dust of half-cured resin can make you "
    "allergic for good. Respirator, extraction, arms covered, no compressed air."
)
METAL_DUST: Final = (
    "Metal powder: its dust can burn and explode. Keep it from flame, sparks and static; no vacuum "
    "with a brush motor on it, bag its chips apart."
)
POWDER_FIRE: Final = (
    "A cloud of this powder can flash: weigh it in still air, nothing lit or sparking near, wipe "
    "it up damp."
)
WOOD_DUST: Final = (
    "Wood dust harms lungs and nose, and hardwood dust can cause cancer: extraction at the source "
    "and a respirator; no compressed air. It burns, too."
)
SPECIES: Final = "The dust of {wood} can make you allergic: arms covered, wash before you rest."
OXIDISER: Final = (
    "One of these feeds a fire: keep it from oil, rags, dust and solvent, and from all heat."
)
HOT_CUP: Final = (
    "Mixed resin left in a cup heats itself: spread the rest thin; a hot cup goes outdoors on "
    "stone, untouched."
)
AIRED: Final = (
    "What was just put on still gives off vapour, on another piece too: dry it outdoors or in "
    "another aired room, else air the room before a machine, a vacuum or a heater runs."
)
COLLET: Final = (
    "Two thirds of the shank in the collet, no more standing out than the cut needs; never over "
    "the speed marked on the bit."
)
SMALL_PIECE: Final = (
    "A small piece: never steady it by hand near the bit. Hold it by tape, tabs or a jig, and cut "
    "it from a longer board where you can."
)
SAW: Final = (
    "Saw, jointer and planer: guard and riving knife on, push sticks, nothing freehand, hands "
    "clear of the line of cut; unplug before you change a blade or knife."
)
BOX_SAW: Final = (
    "Box work: the box in a carrier or against a high fence, spacers in the lid's kerf, splines "
    "sawn from long stock, never short."
)
SHORT_STOCK: Final = (
    "Short stock tips and jams: never through a planer or over a jointer; surface it held on the "
    "machine, on a carrier, or by hand plane."
)
GLOVES: Final = (
    "Nitrile gloves, long sleeves, eye protection. Uncured resin on skin can make you allergic for "
    "good: soap and water, never solvent."
)
POWDER: Final = "Weigh dry powder out of the draught, with a respirator on."
NO_FLAME: Final = (
    "No flame, torch, hot air or spark here, wet or freshly dried: it catches fire or explodes."
)
FLAME_BRIEF: Final = (
    "If you lift bubbles with heat: moving, brief, nothing that burns near, extinguisher at hand."
)
CURE: Final = (
    "Air the room. A warm box needs a thermostat and a second, independent cut-out; no food in it "
    "again."
)
SOLVENT: Final = (
    "Solvent burns, and so do its vapours: air the room, no flame, heater or sparking motor until "
    "they have gone; rags into a closed metal bin."
)
RAGS: Final = (
    "Rags wet with drying oil or varnish can set fire to themselves: dry them flat, outdoors."
)
TRIM: Final = "A part that comes free can fly: tabs stay until the spindle stands still."
DYE: Final = (
    "Gloves, and a powder mask while dye is dry: weigh it out of the draught. Some dyes irritate, "
    "a hot bath scalds, a bath in alcohol burns: air the room, no flame."
)
PEGS: Final = "Small parts are not for small children; finish and colour must be cured and fast."


LINES: Final = {
    "solvent": SOLVENT,
    "aired": AIRED,
    "rags": RAGS,
    "flame brief": FLAME_BRIEF,
    "warm cure": CURE,
    "hot cup": HOT_CUP,
    "cured only": CURED_ONLY,
    "species": SPECIES,
    "gloves": GLOVES,
    "metal dust": METAL_DUST,
    "powder fire": POWDER_FIRE,
    "powder": POWDER,
    "wood dust": WOOD_DUST,
    "oxidiser": OXIDISER,
    "dye": DYE,
}
"""The sentence for each warning of the table of hazards."""


BITES: Final = {
    MACHINE[0]: "Eyes, ears, dust; no gloves.",
    MACHINE[1]: "Hand near stop; look for embers.",
    AIR_FIRST: "Each file in air first.",
    SMALL: "Small bits fly: guard closed.",
    CURED_ONLY: "Fully hard resin only; respirator.",
    METAL_DUST: "Metal powder: no spark, no vacuum.",
    POWDER_FIRE: "Powder can flash: no spark.",
    WOOD_DUST: "Wood dust: respirator.",
    OXIDISER: "Feeds a fire: no oil, no rags.",
    HOT_CUP: "Leftovers heat up: spread them thin.",
    AIRED: "Vapour: air the room first.",
    COLLET: "Shank two thirds in; mind its speed.",
    SMALL_PIECE: "Small piece: hands off.",
    SAW: "Saw: guards on, push sticks.",
    BOX_SAW: "Box: a carrier, spacers in the kerf.",
    SHORT_STOCK: "Too short for planer or jointer.",
    GLOVES: "Nitrile gloves, sleeves, glasses.",
    POWDER: "Dry powder: respirator.",
    FLAME_BRIEF: "Heat: moving, brief.",
    CURE: "Air the room.",
    SOLVENT: "It burns: air, no flame.",
    RAGS: "Wet rags: flat, outdoors.",
    TRIM: "Tabs stay till the spindle stands.",
    DYE: "Gloves; mask for dry dye.",
    PEGS: "Small parts: not for small children.",
}
"""What bites at a step, for the card at hand; the safety page has the whole of it."""


def bites(lines: Iterable[str]) -> tuple[str, ...]:
    """Return what a card says of some warnings: the few words that bite there."""
    return _once(_bite(line) for line in lines)


def _bite(line: str) -> str:
    if line in BITES:
        return BITES[line]
    if line.startswith(NO_FLAME):
        return f"No flame, no spark: {line[len(NO_FLAME) :].removeprefix(' That is for ')}"
    head, _, tail = SPECIES.partition("{wood}")
    if line.startswith(head) and line.endswith(tail):
        return f"Dust of {line[len(head) : -len(tail)]}: cover your arms."
    if line.startswith(ACCEPTED):
        return f"{line.partition('. ')[0]}: see the run sheet."
    return line


def safety_lines(told: Iterable[Iterable[str]]) -> tuple[str, ...]:
    """Return the safety page: every warning of the book once, in the order of work.

    What a flame would light is told of the whole job at once; accepted stops are on the run sheet.
    """
    lines = dict.fromkeys(line for each in told for line in each)
    lit: dict[str, None] = {}
    for line in [*lines]:
        if line.startswith(NO_FLAME):
            burns = line[len(NO_FLAME) :].removeprefix(" That is for ").rstrip(".")
            lit |= dict.fromkeys(re.split(", | and ", burns))
            del lines[line]
    kept = [line for line in lines if not line.startswith(ACCEPTED)]
    flame = (f"{NO_FLAME} That is for {joined([*lit])}.",) if lit else ()
    return _once((*kept, *flame))


def stage_warnings(
    job: Job, plan: Plan, stage: Stage, gcode_files: Iterable[GcodeFile]
) -> tuple[str, ...]:
    """Return the warnings of one stage; ``gcode_files`` are those of its setup."""
    lines: list[str] = []
    if stage.kind in WORK_OF:
        lines += _machine(stage, tuple(gcode_files))
    elif stage.kind in (StageKind.ROUGH, StageKind.SURFACE):
        lines += [SAW, MACHINE[0]] if stage.kind is StageKind.ROUGH else [MACHINE[0]]
        if min(job.blank.length_mm, job.blank.width_mm) < SHORT_STOCK_MM:
            lines.append(SHORT_STOCK)
    elif stage.kind in (StageKind.BOX_SAW, StageKind.BOX_FIT):
        lines += [SAW, BOX_SAW, MACHINE[0]]
    if stage.kind in POURING:
        lines += pouring_warnings(job, plan, stage)
    if stage.kind is StageKind.CURE:
        lines.append(CURE)
    if stage.kind is StageKind.TRIM:
        lines.append(TRIM)
    if stage.kind in WORK_OF and is_small(job, tuple(gcode_files)):
        lines.append(SMALL_PIECE)
    return _once((*lines, *hazard_lines(job, plan, stage)))


def hazard_lines(job: Job, plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return what the table of hazards warns of at a stage, and what is wet on the hands."""
    wet = (near for near in things_near(job, plan, stage) if near.state is HazardState.WET)
    bare = any({Hazard.SENSITISER, Hazard.CORROSIVE} & set(near.hazards.classes) for near in wet)
    met = met_at(job, plan, stage)
    named = [each.pair.line for each in met if each.pair.line]
    if any(each.pair.hazard is Hazard.SENSITISER and not each.pair.line for each in met):
        named.append("cured only")
    if lit_by_a_flame(job, plan, stage):
        named = [line for line in named if line != "flame brief"]
    wood = job.blank.wood.name
    return _once((*((GLOVES,) if bare else ()), *(LINES[line].format(wood=wood) for line in named)))


def pouring_warnings(job: Job, plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return the warnings of mixing and pouring at a stage."""
    lit = lit_by_a_flame(job, plan, stage)
    flame = clean(f"{NO_FLAME} That is for {joined(list(lit))}.") if lit else FLAME_BRIEF
    return _once((GLOVES, flame, *hazard_lines(job, plan, stage)))


def is_small(job: Job, gcode_files: Iterable[GcodeFile]) -> bool:
    """Whether the blank, or what is trimmed out of it, is too small to be near with a hand."""
    sides = [job.blank.length_mm, job.blank.width_mm]
    for file in gcode_files:
        for operation in file.order.operations:
            if isinstance(operation, TrimCut) and not operation.region.is_empty:
                left, low, right, high = operation.region.bounds
                sides += [right - left, high - low]
    return min(sides) < SMALL_PIECE_MM


def setup_warnings(
    job: Job, plan: Plan, setup: Setup, gcode_files: tuple[GcodeFile, ...]
) -> tuple[str, ...]:
    """Return the warnings of a setup's card."""
    lines = [AIR_FIRST, *MACHINE, COLLET]
    if any(file.order.bit.diameter_mm < SMALL_BIT_MM for file in gcode_files):
        lines.append(SMALL)
    if any(item.work is Work.TRIM for each in gcode_files for item in each.order.operations):
        lines.append(TRIM)
    if is_small(job, gcode_files):
        lines.append(SMALL_PIECE)
    for number in setup.stages:
        lines += hazard_lines(job, plan, plan.stage(number))
    if job.pieces + job.test_pieces > 1 and _coated_after(plan, setup):
        lines.append(AIRED)
    return _once(lines)


def _coated_after(plan: Plan, setup: Setup) -> bool:
    """Whether what gives off vapour goes onto a piece before the setup's next piece is cut."""
    after = plan.stages[max(setup.stages) :]
    by_hand = (StageKind.SEAL, StageKind.SAND)
    return any(each.airing_s for each in takewhile(lambda each: each.kind in by_hand, after))


def pour_warnings(job: Job, plan: Plan, pour: Pour) -> tuple[str, ...]:
    """Return the warnings of a pour's card; no mixed resin may be left in its cup."""
    return _once((*pouring_warnings(job, plan, plan.stage(pour.stage)), HOT_CUP))


def accepted_lines(
    findings: Iterable[Finding], things: Collection[Subject] = ()
) -> tuple[str, ...]:
    """Return a line for each finding accepted by name.

    Only those of ``things`` where they are given.

    One without a subject, or told of several, belongs everywhere.
    """
    return tuple(
        clean(f"{ACCEPTED}{each.code}. {each.message} Reason given: {each.accepted}")
        for each in findings
        if each.accepted is not None
        and (not things or not each.subject or each.also or each.subjects[0] in things)
    )


def _machine(stage: Stage, gcode_files: tuple[GcodeFile, ...]) -> list[str]:
    lines = [*MACHINE]
    mine = tuple(
        file
        for file in gcode_files
        if any(operation.work in WORK_OF[stage.kind] for operation in file.order.operations)
    )
    if any(file.order.bit.diameter_mm < SMALL_BIT_MM for file in mine):
        lines.append(SMALL)
    return lines


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lines))
