"""What the days depend on beyond the job itself."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from flushwork.job.records import Job, Lead
from flushwork.plan.progress import NOTHING_DONE, Progress
from flushwork.plan.solver import LIMITS, Limits


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the days depend on beyond the job: dates, hands, places, the lead of the test piece.

    ``one_by_one`` makes each piece wait until the one before it needs nothing but its last cure:
    the yardstick, not a way to work.
    """

    first: dt.date | None = None
    off: frozenset[dt.date] = frozenset()
    gate: Lead = Lead.NO
    limits: Limits = LIMITS
    progress: Progress = NOTHING_DONE
    one_by_one: bool = False


def wishes_of(job: Job) -> Wishes:
    """Return what the job itself says about its days."""
    return Wishes(
        first=job.begin,
        off=frozenset(job.days_off),
        gate=job.test_ahead if job.test_pieces else Lead.NO,
    )
