"""What somebody wishes of the days on the page: a first day, days off, stages put off by hand.

They lie in the log of the run, so that they outlive a reload; the job file is left alone.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.schedule.shop_days import MONDAY, MOST_DAYS
from flushwork.usecases.plan import (
    NotBefore,
    Schedule,
    ScheduleOptions,
    planned_anew,
    schedule_options_of,
)
from flushwork.views.stage_views import stage_keys

MOST: Final = 400
Held = tuple[str, int, str]
"""A stage's key, the index of a piece (-1 for all), the date it shall not begin before."""


class WishError(ValueError):
    """What was sent is no wish; the message says why."""


@dataclass(frozen=True, slots=True)
class DayWishes:
    """Wishes as the page sends them; dates as 2027-03-01, empty for the job's own first day.

    ``off`` is None where the job's own days off stand.
    """

    first: str = ""
    off: tuple[str, ...] | None = None
    held: tuple[Held, ...] = ()

    def __bool__(self) -> bool:
        """Whether anything is wished that the job does not say."""
        return bool(self.first or self.off is not None or self.held)

    def holds(self, key: str, piece: int) -> bool:
        """Whether a stage is put off for a piece."""
        return any(stage == key and each in (-1, piece) for stage, each, _ in self.held)

    def data(self) -> dict[str, Any]:
        """Return the wishes as the page and the log hold them."""
        return {
            "first": self.first,
            "off": list(self.off) if self.off is not None else None,
            "held": [list(held) for held in self.held],
        }


def wishes_in(sent: Mapping[str, Any]) -> DayWishes:
    """Return the wishes in what was sent.  Raises WishError where they are none."""
    first, off, held = sent.get("first", ""), sent.get("off"), sent.get("held", [])
    if not isinstance(first, str) or not isinstance(held, list) or len(held) > MOST:
        raise WishError("wishes are a first day, days off and stages put off")
    if off is not None and (not isinstance(off, list) or len(off) > MOST):
        raise WishError(f"days off are a list of at most {MOST} dates")
    dates = tuple(sorted({_iso(each) for each in off})) if off is not None else None
    return DayWishes(_iso(first) if first else "", dates, tuple(_held(each) for each in held))


def _held(each: Any) -> Held:
    if not isinstance(each, list) or len(each) != 3:
        raise WishError("a stage is put off by its key, its piece and a date")
    key, piece, date = each
    if not isinstance(key, str) or len(key) > 300 or type(piece) is not int or piece < -1:
        raise WishError("a stage is put off by its key, its piece and a date")
    return key, piece, _iso(date)


def _iso(text: Any) -> str:
    try:
        return dt.date.fromisoformat(text).isoformat()
    except (TypeError, ValueError):
        raise WishError("a date is written as 2027-03-01") from None


@lru_cache(maxsize=2)
def planned(made_by: BuildById, wished: DayWishes) -> Schedule:
    """Return the days of a build under the wishes of the page."""
    made = made_by.made
    own = schedule_options_of(made.job)
    first = dt.date.fromisoformat(wished.first) if wished.first else own.first
    held = held_back(made, wished, first or MONDAY)
    off = own.off if wished.off is None else frozenset(map(dt.date.fromisoformat, wished.off))
    wishes: ScheduleOptions = replace(own, first=first, off=off, held=held)
    return planned_anew(made, wishes)


def held_back(made: Build, wished: DayWishes, zero: dt.date) -> tuple[NotBefore, ...]:
    """Return the stages put off by hand, in minutes from midnight of the day ``zero``."""
    numbers = {key: number for number, key in stage_keys(made.plan).items()}
    return tuple(
        NotBefore(numbers[key], day * DAY_MIN, None if piece < 0 else piece, made.job.part)
        for key, piece, date in wished.held
        if key in numbers
        and 0 < (day := (dt.date.fromisoformat(date) - zero).days) < MOST_DAYS // 2
    )


@dataclass(frozen=True, slots=True, eq=False)
class BuildById:
    """A build as something remembered by what it is, not by what it holds."""

    made: Build
