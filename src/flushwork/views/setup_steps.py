"""What a setup's card tells of its steps one by one: a setup may be sanded between two files.

How thick the blank then is comes from the replay's thickness table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from flushwork.gcode.swept import swept
from flushwork.process.stages import Setup, Stage, StageKind
from flushwork.toolpaths.orders import GcodeFile
from flushwork.views.book_records import Fact, SetupView
from flushwork.views.context import ViewContext
from flushwork.views.figures import Lengths, clean, joined

THICKNESS = "Thickness now"
OVER_WORK = "bit high over the work"
OUT_OF_THE_WAY = "nothing inside the red dashes"
IN_AIR = "each file in air first"


def stage_of(context: ViewContext, file: GcodeFile) -> int:
    """Return the number of the stage a file runs in, 0 where it is in no replay."""
    runs = (cut.stage for cut in context.build.replay.cuts if cut.file_name == file.file_name)
    return next(runs, 0)


def stands_mm(context: ViewContext, stage: int) -> float:
    """Return the blank's thickness when a stage begins."""
    return context.build.replay.before_mm(stage, context.build.job.blank.thickness_mm)


def done_before(
    context: ViewContext, setup: Setup, files: Sequence[GcodeFile], lengths: Lengths
) -> dict[str, str]:
    """Return what is done between a file and the one before it in its setup, by its name."""
    told: dict[str, str] = {}
    last = 0
    for file in files:
        stage = stage_of(context, file)
        between = [
            context.build.plan.stage(number) for number in setup.stages if 0 < last < number < stage
        ]
        if between:
            told[file.file_name] = _between(between, lengths.say(stands_mm(context, stage)))
        last = stage or last
    return told


def _between(stages: Sequence[Stage], thickness: str) -> str:
    titles = joined([f"step {stage.number}, {clean(stage.title)}" for stage in stages])
    if not any(stage.kind is StageKind.SAND for stage in stages):
        return f"First {titles}, still held."
    return f"First {titles}, still held. Then Z0 again on the sanded wood: {thickness} thick."


def into_spoilboard(context: ViewContext, file: GcodeFile, lengths: Lengths) -> tuple[Fact, ...]:
    """Return how deep a file goes into the spoilboard under the blank, none where it does not."""
    order, stage = file.order, stage_of(context, file)
    over = swept(file.program, order.bit)
    if over is None or order.bare or not stage:
        return ()
    below_mm = order.face_above_mm - over.deepest_mm - stands_mm(context, stage)
    return (Fact("into the spoilboard", lengths.say(below_mm)),) if below_mm > 0.005 else ()


def step_checks(setup: Setup, plan_stages: Sequence[Stage], number: int) -> tuple[str, ...]:
    """Return what is looked at before a later step of a setup begins."""
    before = [stage for stage in plan_stages if stage.setup == setup.number]
    sanded = any(stage.kind is StageKind.SAND and stage.number < number for stage in before)
    zero = "Z0 set again on the sanded wood" if sanded else "Z0 set again for this bit, on wood"
    return (
        f"{setup.face} face up, located and held as before",
        "X0 Y0 as it was",
        f"{zero}, not on resin or tape",
        OUT_OF_THE_WAY,
        OVER_WORK,
        IN_AIR,
    )


def step_facts(
    card: SetupView, context: ViewContext, stage: int, lengths: Lengths
) -> tuple[Fact, ...]:
    """Return a card's figures as they are when one of its steps begins."""
    now = lengths.say(stands_mm(context, stage))
    return tuple(
        replace(fact, value=now) if fact.label == THICKNESS else fact for fact in card.facts
    )
