"""The usual cautions, one line each, only where they apply.

They are the trade's ordinary ones (common practice, no source) in our own words, and stand behind
the product's safety sheet, local rules and trained practice, which ``SAFETY_FIRST`` says on every
card.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Final

from flushwork.book.figures import clean
from flushwork.findings import Finding
from flushwork.job.records import Job, Mix
from flushwork.plan.stages import Stage, StageKind
from flushwork.resin.pours import Pour
from flushwork.shelf.items import PigmentKind
from flushwork.toolpaths.orders import CutFile, Work

SAFETY_FIRST: Final = (
    "The product's safety sheet, local rules and trained practice come before anything "
    "printed here."
)

SMALL_CUTTER_MM: Final = 1.6
"""Cutters below this break often (common practice, no source)."""

HEAVY_POWDER_G_CM3: Final = 4.5
"""A denser powder is likely a metal: mica lies near 2.8, iron oxide near 5.2, brass near 8.5
(from memory)."""

WORK_OF: Final = {
    StageKind.LOCATE: (Work.DRILL,),
    StageKind.MARK: (Work.DRILL,),
    StageKind.CUT: (Work.POCKET, Work.LINE, Work.ENGRAVE),
    StageKind.LEVEL: (Work.LEVEL,),
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
    "Small cutters break and fly: guard closed, glasses on. Measure with the spindle off and "
    "locked."
)
CURED_ONLY: Final = (
    "Cut, scrape or sand resin only when fully hard; dust of half-cured resin can make you "
    "allergic for good. Respirator, extraction, arms covered, no compressed air."
)
METAL_DUST: Final = (
    "A heavy powder here may be metal: its dust can burn. Keep it from flame, sparks and static; "
    "bag its chips apart."
)
GLOVES: Final = (
    "Nitrile gloves, long sleeves, eye protection. Uncured resin on skin can make you allergic for "
    "good: soap and water, never solvent."
)
POWDER: Final = "Weigh dry powder out of the draught, with a respirator on."
NO_FLAME: Final = (
    "No flame, torch or spark near it: the thinner in this mix burns. Hot air only after it has "
    "flashed off, as its sheet says."
)
CUP_RUNS_AWAY: Final = (
    "This batch is more than the resin bears in one deep cup: it can heat, smoke and crack. Split "
    "it or spread it flat; a hot cup goes outdoors on stone."
)
FLAME_BRIEF: Final = (
    "If you lift bubbles with heat: moving, brief, nothing that burns near, extinguisher at hand."
)
CURE: Final = (
    "Air the room. A warm box needs a thermostat and a second, independent cut-out; no food in it "
    "again."
)
SOLVENT: Final = (
    "It burns, and so do its vapours: air the room, no flame, heater or sparking motor until they "
    "have gone."
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


def stage_cautions(job: Job, stage: Stage, cut_files: Iterable[CutFile]) -> tuple[str, ...]:
    """Return the cautions of one stage; ``cut_files`` are those of its mounting."""
    lines: list[str] = []
    if stage.kind in WORK_OF:
        lines += _machine(stage, tuple(cut_files))
    elif stage.kind is StageKind.FLATTEN:
        lines.append(MACHINE[0])
    if stage.kind in (StageKind.LEVEL, StageKind.SAND):
        lines.append(CURED_ONLY)
    if stage.kind is StageKind.SEAL and job.sealer is not None and job.sealer.flammable:
        lines.append(SOLVENT)
    if stage.kind in (StageKind.FILL, StageKind.CAP):
        lines += mix_cautions(_mix(job, stage.mix))
    if stage.kind is StageKind.CURE:
        lines.append(CURE)
    if stage.kind is StageKind.TRIM:
        lines.append(TRIM)
    if stage.kind is StageKind.FINISH and job.finish is not None and job.finish.finish.flammable:
        lines += [SOLVENT, RAGS]
    return _once(lines)


def mounting_cautions(job: Job, cut_files: tuple[CutFile, ...]) -> tuple[str, ...]:
    """Return the cautions of a mounting's card."""
    lines = [AIR_FIRST, *MACHINE]
    if any(file.order.cutter.diameter_mm < SMALL_CUTTER_MM for file in cut_files):
        lines.append(SMALL)
    if cuts_resin(cut_files):
        lines.append(CURED_ONLY)
        if any(_heavy(mix) for mix in job.mixes):
            lines.append(METAL_DUST)
    return _once(lines)


def pour_cautions(pour: Pour) -> tuple[str, ...]:
    """Return the cautions of a pour's card; a batch too large for one cup is told first."""
    lines = list(mix_cautions(pour.mix))
    if pour.batch_g > pour.mix.resin.pot_mass_g > 0.0:
        lines.insert(0, CUP_RUNS_AWAY)
    return _once(lines)


def mix_cautions(mix: Mix | None) -> tuple[str, ...]:
    """Return the cautions of mixing and pouring one mix."""
    lines = [GLOVES]
    if mix is None:
        return tuple(lines)
    if any(part.pigment.kind is not PigmentKind.DYE for part in mix.pigments):
        lines.append(POWDER)
    if _heavy(mix):
        lines.append(METAL_DUST)
    burns = mix.thinner is not None and mix.thinner_share > 0.0 and mix.thinner.flammable
    lines.append(NO_FLAME if burns else FLAME_BRIEF)
    return tuple(lines)


def accepted_lines(findings: Iterable[Finding], names: Collection[str] = ()) -> tuple[str, ...]:
    """Return a line for each stop accepted by name; only those of ``names`` where they are given.

    One without a subject, or told of several, belongs everywhere.
    """
    return tuple(
        clean(f"Accepted by name: {each.code}. {each.message} Reason given: {each.accepted}")
        for each in findings
        if each.accepted is not None
        and (not names or not each.subject or each.also or each.subject in names)
    )


def cuts_resin(cut_files: Iterable[CutFile]) -> bool:
    """Whether any of the files cuts cured resin."""
    return any(operation.resin for file in cut_files for operation in file.order.operations)


def _machine(stage: Stage, cut_files: tuple[CutFile, ...]) -> list[str]:
    lines = [*MACHINE]
    mine = tuple(
        file
        for file in cut_files
        if any(operation.work in WORK_OF[stage.kind] for operation in file.order.operations)
    )
    if any(file.order.cutter.diameter_mm < SMALL_CUTTER_MM for file in mine):
        lines.append(SMALL)
    if cuts_resin(mine):
        lines.append(CURED_ONLY)
    return lines


def _heavy(mix: Mix) -> bool:
    return any(
        part.pigment.kind is not PigmentKind.DYE
        and part.pigment.density_g_cm3 >= HEAVY_POWDER_G_CM3
        for part in mix.pigments
    )


def _mix(job: Job, name: str) -> Mix | None:
    return next((mix for mix in job.mixes if mix.name == name), None)


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lines))
