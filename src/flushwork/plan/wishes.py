"""What the days depend on beyond the job itself."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from flushwork.plan.hand_times import ASSUMED, CURE_PLACES, HandTimes
from flushwork.plan.progress import NOTHING_DONE, Progress
from flushwork.plan.run_lags import Gate
from flushwork.plan.solver import LIMITS, Limits


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the days depend on beyond the job: dates, hands, places, the lead of the test piece.

    ``one_by_one`` makes each piece wait until the one before it needs nothing but its last cure:
    the yardstick, not a way to work.
    """

    first: dt.date | None = None
    off: frozenset[dt.date] = frozenset()
    gate: Gate = Gate.NONE
    hands: HandTimes = ASSUMED
    cure_places: int = CURE_PLACES
    limits: Limits = LIMITS
    progress: Progress = NOTHING_DONE
    one_by_one: bool = False
