"""How long is waited for what dries, sets or cures, as the days are planned: told alike everywhere.

A wait counts from the end of the pour or coat; it is what the plan keeps before the next step, so
that whoever starts by the day sheet has waited as long as any card or point of no return asks.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from flushwork.core.units.kinds import MINUTE_S
from flushwork.core.words import listed
from flushwork.process.stages import POURING, Plan, Stage, StageKind
from flushwork.schedule.schedule import Piece, Reached, Schedule, Wait


@dataclass(frozen=True, slots=True)
class Awaited:
    """How many minutes are waited for some mixes on some pieces; no pieces stand for all."""

    minutes: int
    mixes: tuple[str, ...] = ()
    pieces: tuple[Piece, ...] = ()


def poured_on_next(plan: Plan, stage: Stage) -> bool:
    """Whether what is waited for at a cure is poured on next, within its window."""
    following = plan.stages[stage.number :]
    return bool(following) and following[0].kind in POURING and following[0].face == stage.face


def planned_waits(plan: Plan, schedule: Schedule | None, stage: Stage) -> tuple[Awaited, ...]:
    """Return what is waited for at a stage; empty where the days plan no wait there.

    Where the next step is a pour, it is the time until that can be poured; else until all that was
    poured in the round can be cut.
    """
    if stage.kind is StageKind.CURE and poured_on_next(plan, stage):
        poured = _poured_before(plan, stage)
        return _awaited(plan, schedule, poured, (Reached.POURABLE,), stage.number)
    if stage.kind is StageKind.CURE:
        return hard_waits(plan, schedule, stage)
    if stage.kind is StageKind.SEAL:
        own = {stage.number}
        filled = _awaited(plan, schedule, own, (Reached.SEALED, Reached.DRY), stage.number)
        return filled or _awaited(plan, schedule, own, (Reached.HARD,), stage.number)
    return ()


def hard_waits(plan: Plan, schedule: Schedule | None, stage: Stage) -> tuple[Awaited, ...]:
    """Return the waits until what is poured in the round of a stage can be cut or sanded."""
    poured = {
        other.number
        for other in plan.stages
        if other.kind in POURING and (other.face, other.round) == (stage.face, stage.round)
    }
    return _awaited(plan, schedule, poured, (Reached.HARD,), 0)


def cured_waits(plan: Plan, schedule: Schedule | None) -> tuple[Awaited, ...]:
    """Return the waits until each resin is fully cured."""
    poured = {other.number for other in plan.stages if other.kind in POURING}
    return _awaited(plan, schedule, poured, (Reached.CURED,), 0)


def planned_wait_s(plan: Plan, schedule: Schedule | None, stage: Stage) -> float:
    """Return the longest wait at a stage; the one it was inferred with where no days are planned.

    That one counts from the end of the warm hours.
    """
    waits = planned_waits(plan, schedule, stage)
    return MINUTE_S * max(each.minutes for each in waits) if waits else stage.lag_s


def wait_text(minutes: float) -> str:
    """Return a wait to the minute, never less than it is."""
    whole = math.ceil(minutes - 1e-6)
    if whole < 90:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    days, hours = divmod(hours, 24) if hours >= 72 else (0, hours)
    told = [(days, "day" if days == 1 else "days"), (hours, "h"), (rest, "min")]
    return " ".join(f"{count} {unit}" for count, unit in told if count)


def waits_text(waits: Collection[Awaited], closing: str = "") -> str:
    """Return waits in words, one figure where they are alike; ``closing`` follows each figure."""
    if len({each.minutes for each in waits}) == 1:
        return wait_text(next(iter(waits)).minutes) + closing
    mixes = len({each.mixes for each in waits}) > 1
    pieces = len({each.pieces for each in waits}) > 1
    told = "; ".join(
        f"{wait_text(each.minutes)}{closing} for {about(each, mixes=mixes, pieces=pieces)}"
        for each in waits
    )
    return f"{told}; each counts from its own pour"


def about(each: Awaited, *, mixes: bool = True, pieces: bool = True) -> str:
    """Return in words what a wait is about."""
    told = [listed(each.mixes)] if mixes and any(each.mixes) else []
    told += [listed(piece.name for piece in each.pieces)] if pieces and each.pieces else []
    return " on ".join(told)


def _poured_before(plan: Plan, stage: Stage) -> set[int]:
    poured: set[int] = set()
    for before in reversed(plan.stages[: stage.number - 1]):
        if before.kind not in POURING:
            break
        poured.add(before.number)
    return poured


def _awaited(
    plan: Plan,
    schedule: Schedule | None,
    stages: Collection[int],
    until: tuple[Reached, ...],
    after: int,
) -> tuple[Awaited, ...]:
    """Return the waits planned for what is put on at some stages, gathered where they are alike.

    Only those that a step behind stage ``after`` waits for.
    """
    if schedule is None:
        return ()
    of_task = {step.task: step.stage for step in schedule.steps}
    longest: dict[tuple[str, Piece], int] = {}
    for wait in schedule.waits:
        stage = of_task.get(wait.task, 0)
        if stage not in stages or wait.reaches not in until:
            continue
        if of_task.get(wait.until, 0) <= after:
            continue
        key = (_put_on(plan.stage(stage), wait), wait.piece)
        longest[key] = max(longest.get(key, 0), wait.ready_min - wait.since_min)
    alike: dict[tuple[str, int], list[Piece]] = {}
    for (mix, piece), minutes in longest.items():
        alike.setdefault((mix, minutes), []).append(piece)
    same: dict[tuple[int, tuple[Piece, ...]], list[str]] = {}
    for (mix, minutes), pieces in alike.items():
        in_order = tuple(piece for piece in schedule.pieces if piece in pieces)
        same.setdefault((minutes, in_order), []).append(mix)
    return tuple(
        Awaited(minutes, tuple(mixes), pieces) for (minutes, pieces), mixes in same.items()
    )


def _put_on(stage: Stage, wait: Wait) -> str:
    """Return what was put on: of a pour its mix, of a coat nothing but the coat."""
    return wait.mix if stage.kind in POURING else ""
