"""Does heat or a spark come near what burns, and is it known what the things used can do?

A piece's own coat is waited for, and what gives off vapour that burns on any other.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.core.findings import Finding, Severity, Subject
from flushwork.job.records import Job, Mix, thing_at
from flushwork.process.exposure import Exposure, exposures, put_on
from flushwork.process.stages import Stage
from flushwork.schedule.schedule import Reached
from flushwork.shelf.hazards import CHOSEN, Basis, Hazard, HazardState, Heat, Verdict
from flushwork.shelf.known_hazards import Item, hazards_of

LIQUIDS: Final = (Hazard.VERY_FLAMMABLE, Hazard.FLAMMABLE, Hazard.SELF_HEATING)
SOLIDS: Final = (Hazard.METAL_DUST, Hazard.EXPLOSIBLE_DUST, Hazard.OXIDISER)
CODES: Final = {
    **dict.fromkeys(LIQUIDS, "flame-near-solvent"),
    **dict.fromkeys(SOLIDS, "heat-near-dust"),
}
"""What is told of a pair that must be fixed; dust of uncured resin is told by the order rules."""
STATES: Final = {
    HazardState.WET: "wet",
    HazardState.FRESH: "freshly put on",
    HazardState.DRY: "weighed as a dry powder",
}
HEATS: Final = {
    Heat.FLAME: "a flame",
    Heat.HOT_AIR: "hot air",
    Heat.LAMP: "a heat lamp",
    Heat.WARM_BOX: "a warm box",
    Heat.HOT_WOOD: "warmed wood",
    Heat.SPINDLE: "the spindle",
    Heat.SANDING: "sanding",
}


def heat_near_what_burns(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for each heat that meets what it lights.

    A warning for what wants care.

    One for each thing and each mix whose recipe brings the heat, at the first stage they meet.
    """
    told: set[tuple[str, str, str]] = set()
    met = sorted(exposures(build.job, build.plan), key=_gravest_first)
    for each in met:
        if each.pair.hazard not in CODES:
            continue
        must = each.pair.verdict is Verdict.MUST_FIX
        if not must and each.imported.heat not in CHOSEN:
            continue
        mix = each.imported.mix
        subject = Subject("mix", mix.name) if mix else Subject("material", each.near.name)
        key = (each.near.name, subject.name, each.imported.heat)
        if key not in told:
            told.add(key)
            code = CODES[each.pair.hazard] if must else "heat-with-care"
            yield _finding(
                build, each, code, subject, Severity.MUST_FIX if must else Severity.WARNING
            )


def _gravest_first(each: Exposure) -> tuple[bool, bool]:
    """Sort what must be fixed before the rest, and what is in the heated mix before the rest."""
    mix = each.imported.mix
    own = mix is not None and mix.name == each.near.mix
    return (each.pair.verdict is not Verdict.MUST_FIX, not own)


def _finding(
    build: Build, each: Exposure, code: str, subject: Subject, severity: Severity
) -> Finding:
    near, mix = each.near, each.imported.mix
    flash = _flash_words(build.job, near.name)
    return Finding(
        code=code,
        severity=severity,
        message=f"Stage {each.stage.number} ({each.stage.title}) brings "
        f"{HEATS[each.imported.heat]} near {near.name}{_share(near.mix, build.job)}, "
        f"{STATES[near.state]} there and "
        f"{each.pair.hazard}{_how_known(near.hazards.basis)}{flash}: {each.pair.reason}.",
        remedy=_remedy(each, mix)
        + (" It cannot be accepted." if severity is Severity.MUST_FIX else ""),
        subjects=(subject,),
        source=mix.source if mix is not None else thing_at(build.job, near.name),
    )


def _share(name: str, job: Job) -> str:
    return f" of {name}" if any(mix.name == name for mix in job.mixes) else ""


def _how_known(basis: Basis) -> str:
    return "" if basis in (Basis.LISTED, Basis.STATED) else f" ({basis})"


def _flash_words(job: Job, name: str) -> str:
    """Return from which temperature on a liquid catches fire, where that is known."""
    for item in used(job):
        flash_c = getattr(item, "flash_point_c", None)
        if item.name == name and flash_c is not None:
            return f", catches fire from {flash_c:.0f} degrees C"
    return ""


def _remedy(each: Exposure, mix: Mix | None) -> str:
    if mix is None:
        return "Keep the two apart: let it dry and air the room first."
    heat = each.imported.heat
    what = (
        "Write `bubbles: pick` or `bubbles: vacuum`"
        if heat in (Heat.FLAME, Heat.HOT_AIR)
        else "Write `heated by: nothing`"
    )
    if each.near.state is HazardState.FRESH and not each.near.mix:
        return (
            f"{what}, take a sealer that does not burn, or let it air for a day (`dry after: 24 h`,"
            " by its safety sheet)."
        )
    if each.pair.hazard in SOLIDS:
        return f"{what}; weigh it apart from all heat, with no flame lit in the room."
    return (
        f"{what}; warm the parts and leave the thinner out, or take a thinner resin; no flame or "
        "spark until the vapour has gone."
    )


def used(job: Job) -> tuple[Item, ...]:
    """Return the things of the shelf that a job uses and that may harm."""
    found: list[Item] = [job.blank.wood]
    found += [] if job.sealer is None else [job.sealer]
    found += [] if job.finish is None else [job.finish.finish]
    for mix in job.mixes:
        found.append(mix.resin)
        found += [] if mix.thinner is None else [mix.thinner]
        found += [part.pigment for part in mix.pigments]
    return tuple(dict.fromkeys(found))


def hazards_guessed(build: Build) -> Iterator[Finding]:
    """Yield a finding for each thing used whose hazards nobody states: what is taken instead."""
    for item in used(build.job):
        known = hazards_of(item)
        if known.basis not in (Basis.GUESSED, Basis.ASSUMED):
            continue
        guessed = known.basis is Basis.GUESSED
        classes = ", ".join(known.classes) or "nothing"
        yield Finding(
            code="hazards-guessed",
            severity=Severity.WARNING if guessed else Severity.NOTE,
            message=f"Nothing says what hazards there are in {item.name}; "
            + (f"guessed from its name alone, it is: {classes}." if guessed else "")
            + ("" if guessed else f"to be safe it is treated as: {classes}."),
            remedy="Read its safety sheet and write its `hazards` in the shop file, or `none`.",
            subjects=(Subject("material", item.name),),
            source=thing_at(build.job, item.name),
        )


def oxidiser_in_mix(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for a mix with an oxidiser beside what burns.

    A warning for any other with one.

    What the oxidiser does with the resin and its hardener alone is common practice, no source.
    """
    for mix in build.job.mixes:
        parts: list[Item] = [each.pigment for each in mix.pigments]
        parts += [] if mix.thinner is None else [mix.thinner]
        feeds = [each.name for each in parts if Hazard.OXIDISER in hazards_of(each)]
        burns = [
            each.name
            for each in parts
            if hazards_of(each).burns or Hazard.METAL_DUST in hazards_of(each)
        ]
        if feeds and burns:
            yield Finding.must_fix(
                "oxidiser-in-mix",
                message=f"{mix.name} holds {feeds[0]}, which feeds a fire, beside {burns[0]}, "
                "which burns: together they can light by themselves.",
                remedy="Leave one of them out. It cannot be accepted.",
                subjects=(Subject("mix", mix.name),),
                source=mix.source,
            )
        elif feeds:
            yield Finding.warning(
                "oxidiser-in-mix",
                message=f"{mix.name} holds {feeds[0]}, which feeds a fire, in {mix.resin.name}: "
                "resin and hardener burn, heat themselves in the cup, and a hardener of amines may "
                "catch fire on it.",
                remedy="Take another colourant. Else ask the makers of both, by their safety "
                "sheets, and try a few grams outside on stone.",
                subjects=(Subject("mix", mix.name),),
                source=mix.source,
            )


def vapour_awaited(build: Build) -> Iterator[Finding]:
    """Yield a note for each thing whose vapour burns and that other pieces' steps wait for."""
    schedule = build.schedule
    if schedule is None:
        return
    awaited = {wait.task for wait in schedule.waits if wait.reaches is Reached.AIRED}
    told: set[str] = set()
    for step in schedule.steps:
        if step.task not in awaited or step.done:
            continue
        stage = build.plan.stage(step.stage)
        for name in put_on_names(build.job, stage):
            if name not in told:
                told.add(name)
                yield _awaited(build, stage, name, step.airing_min)


def put_on_names(job: Job, stage: Stage) -> tuple[str, ...]:
    """Return the names of what a stage puts on whose vapour burns."""
    return tuple(item.name for item in put_on(job, stage.kind, stage.mix) if hazards_of(item).burns)


def _awaited(build: Build, stage: Stage, name: str, minutes: int) -> Finding:
    return Finding.note(
        "vapour-awaited",
        message=f"For {minutes} min after stage {stage.number} ({stage.title}) the days begin no "
        f"machine, sanding, flame or heat, on any piece: {name} gives off vapour that burns.",
        remedy="Air the room all that time. Where it is put on and dries outdoors or in another "
        "aired room, with no motor, flame or heat, write `coats apart: yes` in the shop file; by "
        "its safety sheet set its `air for`.",
        subjects=(Subject("material", name),),
        source=thing_at(build.job, name),
    )


RULES = (heat_near_what_burns, hazards_guessed, oxidiser_in_mix, vapour_awaited)
