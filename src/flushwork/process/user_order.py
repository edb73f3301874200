"""Orders the user insists on: the stages are moved as the job says, whatever that breaks.

The check tells afterwards what it breaks; nothing is put right in silence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flushwork.job.records import OrderConstraint
from flushwork.process.stages import Stage, StageKind

KINDS = tuple(kind.value for kind in StageKind)


@dataclass(frozen=True, slots=True)
class NamedStage:
    """A stage by its place in the row, and the one subject of it that is meant ("" for all)."""

    index: int
    subject: str


def stages_named(stages: Sequence[Stage], step: str) -> tuple[NamedStage, ...]:
    """Return the stages a step's name means: a kind, and what it is done to.

    ``cut body`` means the inlay, ``fill night`` the inlay or the mix, ``seal front`` the face as a
    whole where there is such a stage, ``trim`` every stage of that kind.
    """
    step = step.strip()
    kind = next((each for each in KINDS if f"{step} ".startswith(f"{each} ")), "")
    rest = step[len(kind) :]
    of_kind = [(index, stage) for index, stage in enumerate(stages) if stage.kind.value == kind]
    rest = rest.strip()
    if not rest:
        return tuple(NamedStage(index, "") for index, _ in of_kind)
    subjects = tuple(NamedStage(index, rest) for index, stage in of_kind if rest in stage.subjects)
    if subjects:
        return subjects
    mixes = tuple(NamedStage(index, "") for index, stage in of_kind if stage.mix == rest)
    if mixes:
        return mixes
    on_face = [(index, stage) for index, stage in of_kind if stage.face == rest]
    whole = [(index, stage) for index, stage in on_face if not stage.subjects]
    return tuple(NamedStage(index, "") for index, _ in whole or on_face)


def known_steps(stages: Sequence[Stage]) -> tuple[str, ...]:
    """Return the names by which the steps of a plan may be called."""
    found = [
        f"{stage.kind.value} {subject}"
        for stage in stages
        for subject in (stage.subjects or (stage.face,))
    ]
    return tuple(dict.fromkeys(found))


def keeps_order(stages: Sequence[Stage], each: OrderConstraint) -> bool:
    """Whether stages stand as the user wants them; an order that names nothing always holds."""
    first, then = stages_named(stages, each.first), stages_named(stages, each.then)
    if not first or not then:
        return True
    return max(item.index for item in first) < min(item.index for item in then)


def in_user_order(
    stages: Sequence[Stage], constraints: Sequence[OrderConstraint]
) -> tuple[Stage, ...]:
    """Return the stages in the order insisted on, numbered and set up anew.

    Orders that contradict one another are left as far as they went; the check tells of them.
    """
    row = list(stages)
    for _ in range(len(constraints) + 1):
        broken = [each for each in constraints if not keeps_order(row, each)]
        if not broken:
            break
        for each in broken:
            row = _moved(row, each)
    return tuple(row) if row == list(stages) else renumbered(row)


def _moved(row: list[Stage], each: OrderConstraint) -> list[Stage]:
    row = _parted(_parted(row, each.first), each.then)
    first, then = stages_named(row, each.first), stages_named(row, each.then)
    moving = {item.index for item in (then if each.only_after else first)}
    moved = [replace(row[index], because=_why(each)) for index in sorted(moving)]
    target = (
        max(item.index for item in first) if each.only_after else min(item.index for item in then)
    )
    before = [row[index] for index in range(target) if index not in moving]
    after = [row[index] for index in range(target + 1, len(row)) if index not in moving]
    middle = [row[target], *moved] if each.only_after else [*moved, row[target]]
    return before + middle + after


def _why(each: OrderConstraint) -> str:
    return f"the job insists on {each.first} before {each.then}"


def _parted(row: list[Stage], step: str) -> list[Stage]:
    """Split stages that are done to several things, so that the one meant can move alone."""
    meant = {item.index: item.subject for item in stages_named(row, step) if item.subject}
    result: list[Stage] = []
    for index, stage in enumerate(row):
        subject = meant.get(index, "")
        if subject and len(stage.subjects) > 1:
            others = tuple(name for name in stage.subjects if name != subject)
            verb = stage.kind.value.capitalize()
            result.append(replace(stage, subjects=(subject,), title=f"{verb} {subject}"))
            result.append(replace(stage, subjects=others, title=f"{verb} {', '.join(others)}"))
        else:
            result.append(stage)
    return result


def renumbered(row: Sequence[Stage]) -> tuple[Stage, ...]:
    """Return stages counted from 1, with a setup for each run of machine work on one face."""
    result: list[Stage] = []
    setup = 0
    for number, stage in enumerate(row, start=1):
        if stage.setup:
            last = result[-1] if result else None
            if last is None or not last.setup or last.face != stage.face:
                setup += 1
        result.append(replace(stage, number=number, setup=setup if stage.setup else 0))
    return tuple(result)
