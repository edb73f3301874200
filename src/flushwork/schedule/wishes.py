"""What the days depend on beyond the job itself.

The dates of each piece: what comes next, when it is finished, when it may be shipped.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flushwork.job.records import Job, Lead
from flushwork.process.hand_times import FINISH_HARD_MIN
from flushwork.process.stages import StageKind
from flushwork.resin.thinned import working_resin
from flushwork.schedule.dose import ready_minute, waiting
from flushwork.schedule.plan import Milestones, Piece, Step, Wait
from flushwork.schedule.resume import NOTHING_DONE, Progress
from flushwork.schedule.shop_days import ShopDays
from flushwork.schedule.solve.solver import LIMITS, Limits
from flushwork.schedule.solve.tasks import CureClock


@dataclass(frozen=True, slots=True)
class NotBefore:
    """A stage that shall not begin before a minute: for one piece by index, or for all."""

    stage: int
    minute: int
    piece: int | None = None

    def holds_for(self, stage: int, pieces: Iterable[int]) -> bool:
        """Whether it speaks of a stage done to these pieces."""
        return self.stage == stage and (self.piece is None or self.piece in pieces)


@dataclass(frozen=True, slots=True)
class ScheduleOptions:
    """What the days depend on beyond the job: dates, hands, places, the lead of the test piece.

    ``one_by_one`` makes each piece wait until the one before it needs nothing but its last cure:
    the yardstick, not a way to work.  ``zone`` is another time zone than the shop's.  ``held`` are
    stages put off by hand.
    """

    first: dt.date | None = None
    off: frozenset[dt.date] = frozenset()
    gate: Lead = Lead.NO
    limits: Limits = LIMITS
    progress: Progress = NOTHING_DONE
    one_by_one: bool = False
    held: tuple[NotBefore, ...] = ()
    zone: str | None = None


def schedule_options_of(job: Job) -> ScheduleOptions:
    """Return what the job itself says about its days."""
    return ScheduleOptions(
        first=job.begin,
        off=frozenset(job.days_off),
        gate=job.test_ahead if job.test_pieces else Lead.NO,
    )


MINUTE_S = 60.0


def milestones_of(
    job: Job,
    days: ShopDays,
    pieces: Sequence[Piece],
    steps: Sequence[Step],
    waits: Sequence[Wait],
    clocks: Mapping[str, CureClock],
) -> tuple[Milestones, ...]:
    """Return each piece's dates, from what is still to be done."""
    own_steps: dict[Piece, list[Step]] = defaultdict(list)
    own_waits: dict[Piece, list[Wait]] = defaultdict(list)
    for step in steps:
        for piece in step.pieces:
            own_steps[piece].append(step)
    for wait in waits:
        own_waits[wait.piece].append(wait)
    return tuple(
        _of_piece(job, days, piece, own_steps[piece], own_waits[piece], clocks) for piece in pieces
    )


def _of_piece(
    job: Job,
    days: ShopDays,
    piece: Piece,
    steps: Sequence[Step],
    waits: Sequence[Wait],
    clocks: Mapping[str, CureClock],
) -> Milestones:
    to_come = {step.task for step in steps if not step.done}
    closing = [
        wait.closes_min
        for wait in waits
        if wait.closes_min is not None and wait.until in to_come and not wait.missed
    ]
    finish = max((step.end_min for step in steps), default=0)
    return Milestones(
        piece=piece,
        cut_min=_next(steps, StageKind.CUT),
        level_min=_next(steps, StageKind.LEVEL),
        last_pour_min=min(closing, default=None),
        finish_min=finish,
        ship_min=days.next_open(max(finish, _hard(job, steps, clocks))),
    )


def _next(steps: Sequence[Step], kind: StageKind) -> int | None:
    begins = [step.begin_min for step in steps if step.kind is kind and not step.done]
    return min(begins, default=None)


def _hard(job: Job, steps: Sequence[Step], clocks: Mapping[str, CureClock]) -> int:
    """Return when finish and resin are both as hard as they get."""
    mixes = {mix.name: mix for mix in job.mixes}
    ready = [step.end_min + FINISH_HARD_MIN for step in steps if step.kind is StageKind.FINISH]
    poured: dict[str, int] = {}
    for step in steps:
        if step.mix:
            resin = mixes[step.mix].resin.name
            poured[resin] = max(poured.get(resin, 0), step.end_min)
    for mix in mixes.values():
        if mix.resin.name in poured:
            clock = clocks[waiting(mix.resin)]
            dose = working_resin(mix).cure_s / MINUTE_S
            if clock.daily > 0.0:
                ready.append(ready_minute(clock, poured[mix.resin.name], dose))
    return math.ceil(max(ready, default=0))
