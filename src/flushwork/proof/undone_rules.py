"""Does a step insisted on undo, or outlive, what another has done?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from flushwork.built import Build
from flushwork.findings import TRIM_LINE, Finding, Severity, Source, Subject
from flushwork.plan.insisted import named
from flushwork.plan.stages import Stage, StageKind

WORKS_OFF: Final = (StageKind.FLATTEN, StageKind.LEVEL, StageKind.SAND)
"""What takes a finish off the whole face."""
BREAKS: Final = (
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.SEAL,
    StageKind.FILL,
    StageKind.CAP,
    StageKind.DRILL,
    StageKind.TRIM,
)
"""What cuts through a finish, or is put on it."""


def finish_worked_off(build: Build) -> Iterator[Finding]:
    """Yield a finding for a finish that is worked afterwards.

    A stop where it is sanded or milled away, a caution where it is cut through or poured on.
    Holes that the job asks for after the finish are no fault.
    """
    stages, plan = build.plan.stages, build.job.finish
    finish = next((stage for stage in stages if stage.kind is StageKind.FINISH), None)
    if finish is None or plan is None:
        return
    later = [
        stage
        for stage in stages[finish.number :]
        if stage.kind in (*WORKS_OFF, *BREAKS)
        and (stage.kind is not StageKind.DRILL or plan.holes_first)
    ]
    if not later:
        return
    gone = [stage for stage in later if stage.kind in WORKS_OFF]
    told = ", ".join(f"{stage.number} ({stage.title})" for stage in later)
    yield Finding(
        code="finish-worked-off",
        severity=Severity.STOP if gone else Severity.CAUTION,
        message=f"{plan.finish.name} is put on at stage {finish.number}, before stage {told}: "
        + ("its coats are sanded or milled away." if gone else "its coats are cut through."),
        remedy="Put the finish on last of all: take the order out, or turn it round.",
        subjects=(Subject("material", plan.finish.name),),
        source=_insisted(build, (finish,), later),
    )


def freed_then_mounted(build: Build) -> Iterator[Finding]:
    """Yield a stop for a piece that is trimmed free and then mounted again.

    A caution where tabs still hold it in its waste.
    """
    stages = build.plan.stages
    trim = next((stage for stage in stages if stage.kind is StageKind.TRIM), None)
    if trim is None:
        return
    asked_late = build.job.finish is not None and not build.job.finish.holes_first
    later = [
        stage
        for stage in stages[trim.number :]
        if stage.mounting > trim.mounting and not (asked_late and stage.kind is StageKind.DRILL)
    ]
    if not later:
        return
    tabs = build.job.outline.tabs
    first = later[0]
    yield Finding(
        code="freed-then-mounted",
        severity=Severity.CAUTION if tabs else Severity.STOP,
        message=f"The piece is trimmed at stage {trim.number} and mounted again for stage "
        f"{first.number} ({first.title}): "
        + (
            f"only its {tabs} tabs hold it in the waste while it is worked."
            if tabs
            else "it has no waste and no dowels left to be held and found by, and a piece that "
            "comes loose under a cutter is thrown."
        ),
        remedy="Trim last of all: take the order out, or turn it round.",
        subjects=(TRIM_LINE,),
        source=_insisted(build, (trim,), later),
    )


def _insisted(build: Build, first: Sequence[Stage], later: Sequence[Stage]) -> Source:
    """Return the line of the order that brings one before the others; else the job's first."""
    ahead, behind = ({stage.number for stage in row} for row in (first, later))
    best: tuple[int, Source] | None = None
    for pin in build.job.pins:
        one, two = (
            {each.index + 1 for each in named(build.plan.stages, step)}
            for step in (pin.first, pin.then)
        )
        # one whose two steps are both meant tells more than one that names either
        rank = 2 * bool(one & ahead) + bool(two & behind)
        if rank and (best is None or rank > best[0]):
            best = rank, pin.source
    return best[1] if best is not None else build.job.source


RULES = (finish_worked_off, freed_then_mounted)
