"""What the days depend on beyond the job itself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from flushwork.job.records import Job, Lead
from flushwork.schedule.resume import NOTHING_DONE, Progress
from flushwork.schedule.solve.solver import LIMITS, Limits


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
    lead: Lead = Lead.NO
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
        lead=job.test_ahead if job.test_pieces else Lead.NO,
    )
