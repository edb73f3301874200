"""The run: which pieces there are, which batches serve them, and each stage's tasks by piece."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from flushwork.job.records import Job
from flushwork.plan.pouring import pour_sessions
from flushwork.plan.schedule import Piece
from flushwork.plan.stages import Plan, Stage, StageKind
from flushwork.resin.pot_life import MIXING_S, fill_time_s
from flushwork.resin.pours import Pour
from flushwork.shelf.working import HandTimes
from flushwork.toolpaths.orders import CutFile

MINUTE_S = 60.0
POURING = (StageKind.FILL, StageKind.CAP)


@dataclass(frozen=True, slots=True)
class Part:
    """One task of the run: a stage, or a part of it, done to some pieces (by index).

    ``tools`` are the cutters it takes, in order; ``mounts`` says that it begins a mounting.
    ``cup`` is the number that pours out of one mixed cup have in common, ``life_min`` its pot life.
    """

    name: str
    stage: Stage
    pieces: tuple[int, ...]
    minutes: int
    pour: int = 0
    coat: int = 0
    mounts: bool = False
    tools: tuple[str, ...] = ()
    cup: int = 0
    life_min: int = 0

    @property
    def machine(self) -> bool:
        """Whether it runs on the machine, or by hand on what is mounted there."""
        return self.stage.mounting > 0


def pieces_of(job: Job) -> tuple[Piece, ...]:
    """Return the pieces, test pieces first."""
    return tuple(Piece(number + 1, test=True) for number in range(job.test_pieces)) + tuple(
        Piece(number + 1, test=False) for number in range(job.pieces)
    )


def parts_of(
    job: Job,
    plan: Plan,
    cut_files: Mapping[int, Sequence[CutFile]],
    pours: Sequence[Pour],
    hands: HandTimes,
    longest_min: int,
) -> tuple[Part, ...]:
    """Return all tasks of a run, stage by stage in working order.

    A cutting stage that would not fit into a day is parted between its cut files.  A cutter that
    a mounting's stage before has left in the machine is not changed again.
    """
    count = len(pieces_of(job))
    result: list[Part] = []
    left_in: dict[int, str] = {}
    for stage in plan.stages:
        if stage.kind is StageKind.CURE:
            continue
        if stage.kind in POURING:
            result += _pourings(plan, stage, pours, count, hands)
            continue
        mounts = stage.mounting > 0 and stage.mounting not in left_in
        files = cut_files.get(stage.number, ())
        first_min = hands.mount_min if mounts else 0
        if files and left_in.get(stage.mounting) == files[0].order.cutter.name:
            first_min -= hands.change_min
        left_in[stage.mounting] = (
            files[-1].order.cutter.name if files else left_in.get(stage.mounting, "")
        )
        for piece in range(count):
            if stage.kind is StageKind.FINISH:
                result += _coats(job, stage, piece, hands)
            else:
                parts = _worked(stage, files, piece, hands, longest_min - first_min)
                result.append(
                    replace(parts[0], mounts=mounts, minutes=parts[0].minutes + first_min)
                )
                result += parts[1:]
    return tuple(result)


def _worked(
    stage: Stage, files: Sequence[CutFile], piece: int, hands: HandTimes, room_min: int
) -> list[Part]:
    """Return a stage's tasks on one piece: one where it fits into the room, else one per file."""
    name = f"{stage.number}:{piece}"
    if not files:
        return [Part(name, stage, (piece,), by_hand_min(stage, hands))]
    minutes = [hands.change_min + math.ceil(file.cut_s / MINUTE_S) for file in files]
    tools = tuple(file.order.cutter.name for file in files)
    if sum(minutes) <= room_min:
        return [Part(name, stage, (piece,), sum(minutes), tools=tools)]
    return [
        Part(f"{name}:{index}", stage, (piece,), each, tools=(tool,))
        for index, (each, tool) in enumerate(zip(minutes, tools, strict=True))
    ]


def by_hand_min(stage: Stage, hands: HandTimes) -> int:
    """Return the minutes a stage takes by hand, per piece."""
    sand_min = hands.sand_min if stage.round <= 1 else hands.light_sand_min
    return {
        StageKind.FLATTEN: hands.flatten_min,
        StageKind.SEAL: hands.seal_min,
        StageKind.SAND: sand_min,
    }.get(stage.kind, 0)


def _coats(job: Job, stage: Stage, piece: int, hands: HandTimes) -> list[Part]:
    coats = job.finish.coats if job.finish is not None else 1
    return [
        Part(f"{stage.number}:{piece}:coat {coat}", stage, (piece,), hands.coat_min, coat=coat)
        for coat in range(1, coats + 1)
    ]


def _pourings(
    plan: Plan, stage: Stage, pours: Sequence[Pour], count: int, hands: HandTimes
) -> list[Part]:
    """Return the batches of a stage, each with the pieces it fills, test pieces first."""
    own = [pour for pour in pours if pour.stage == stage.number]
    if own:
        return [
            _poured(stage, pour, hands.tidy_min + math.ceil(_working_s(pour) / MINUTE_S))
            for pour in own
        ]
    shared = _shared(plan, stage, pours)
    if not shared:
        minutes = hands.tidy_min + math.ceil(MIXING_S / MINUTE_S)
        return [Part(f"{stage.number}:pour", stage, tuple(range(count)), minutes)]
    return [_poured(stage, pour, hands.tidy_min) for pour in shared]


def _poured(stage: Stage, pour: Pour, minutes: int) -> Part:
    return Part(
        f"{stage.number}:pour {pour.number}",
        stage,
        tuple(range(pour.first, pour.first + pour.pieces)),
        minutes,
        pour=pour.number,
        cup=pour.out_of or min((pour.number, *pour.shares_clear_with)),
        life_min=math.floor(pour.pot_life_s / MINUTE_S),
    )


def _working_s(pour: Pour) -> float:
    """Return how long a batch is worked on; a common clear batch is mixed with its first colour."""
    if not pour.shares_clear_with:
        return pour.working_s
    mixing_s = MIXING_S if all(pour.number < other for other in pour.shares_clear_with) else 0.0
    return mixing_s + pour.pieces * fill_time_s(pour.serves)


def _shared(plan: Plan, stage: Stage, pours: Sequence[Pour]) -> list[Pour]:
    """Return the batches of the same session and mix that a stage is filled from."""
    sessions = pour_sessions(plan)
    return [
        pour
        for pour in pours
        if pour.mix.name == stage.mix and sessions.get(pour.stage) == sessions.get(stage.number)
    ]
