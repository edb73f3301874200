"""Does heat or a spark come near what burns, and is it known what the things used can do?

A piece's own coat is waited for; that of another piece is not: it has to dry where no motor runs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.core.findings import Finding, Severity, Subject
from flushwork.core.units.kinds import MINUTE_S
from flushwork.job.records import Job, Mix, thing_at
from flushwork.process.exposure import ON_MACHINE, Exposure, exposures
from flushwork.process.stages import Stage, StageKind
from flushwork.schedule.schedule import Step
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
            yield Finding(
                code="oxidiser-in-mix",
                severity=Severity.MUST_FIX,
                message=f"{mix.name} holds {feeds[0]}, which feeds a fire, beside {burns[0]}, "
                "which burns: together they can light by themselves.",
                remedy="Leave one of them out. It cannot be accepted.",
                subjects=(Subject("mix", mix.name),),
                source=mix.source,
            )
        elif feeds:
            yield Finding(
                code="oxidiser-in-mix",
                severity=Severity.WARNING,
                message=f"{mix.name} holds {feeds[0]}, which feeds a fire, in {mix.resin.name}: "
                "resin and hardener burn, heat themselves in the cup, and a hardener of amines may "
                "catch fire on it.",
                remedy="Take another colourant. Else ask the makers of both, by their safety "
                "sheets, and try a few grams outside on stone.",
                subjects=(Subject("mix", mix.name),),
                source=mix.source,
            )


def machine_near_wet_coat(build: Build) -> Iterator[Finding]:
    """Yield a warning for each coat that burns, where the plan machines or sands too soon after.

    Too soon is before it is dry or the time of airing has passed (see ``shelf.hazards.AIRING_S``).
    """
    steps = build.schedule.steps if build.schedule is not None else ()
    told: set[str] = set()
    for stage in build.plan.stages:
        name = coat_name(build, stage)
        if not name or name in told:
            continue
        soon = soonest(steps, stage)
        if soon is not None:
            told.add(name)
            yield _vapour_rules_finding(build, stage, name, *soon)


def coat_name(build: Build, stage: Stage) -> str:
    """Return what a stage puts on that burns; empty where nothing does."""
    if not stage.airing_s:
        return ""
    if stage.kind is StageKind.SEAL and build.job.sealer is not None:
        return build.job.sealer.name
    if stage.kind is StageKind.FINISH and build.job.finish is not None:
        return build.job.finish.finish.name
    return ""


def soonest(steps: tuple[Step, ...], stage: Stage) -> tuple[int, Step] | None:
    """Return how many minutes after a coat the next step with a motor begins, where too few."""
    lasts_s = max(stage.airing_s, stage.lag_s if stage.kind is StageKind.SEAL else 0.0)
    within_min = math.ceil(lasts_s / MINUTE_S)
    coats = [step for step in steps if step.stage == stage.number and not step.done]
    hot = [step for step in steps if step.kind in (*ON_MACHINE, StageKind.SAND)]
    near = [
        (step.begin_min - coat.end_min, step)
        for coat in coats
        for step in hot
        if 0 <= step.begin_min - coat.end_min < within_min
    ]
    return min(near, key=lambda each: each[0], default=None)


def _vapour_rules_finding(
    build: Build, stage: Stage, name: str, minutes: int, step: Step
) -> Finding:
    after = f"{minutes} min after" if minutes else "straight after"
    return Finding(
        code="vapour-near-machine",
        severity=Severity.WARNING,
        message=f"The days begin stage {step.stage} ({step.title}) {after} the coat of {name} on "
        f"another piece at stage {stage.number}: its vapour burns, and the plan does not wait for "
        f"it to leave the room.",
        remedy="Coat and dry the pieces outdoors or in another aired room, with no motor, flame or "
        f"heat; else air the workshop {math.ceil(stage.airing_s / MINUTE_S)} min after each coat "
        "before a machine runs, whatever the day sheet says, or take a sealer that does not burn.",
        subjects=(Subject("material", name),),
        source=thing_at(build.job, name),
    )


RULES = (heat_near_what_burns, hazards_guessed, oxidiser_in_mix, machine_near_wet_coat)
