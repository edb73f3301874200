"""The axis of the chart of days: hours of the shop wide, nights narrow, idle days narrowest."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from flushwork.plan.shop_days import ShopDays
from flushwork.plan.tasks import DAY_MIN

SHUT: Final = 0.2
"""How wide a shut hour of a day with work is drawn, for an open one of 1."""

IDLE: Final = 0.1
"""The same for all hours of a day without work: enough for its date."""

WEEK_DAYS: Final = 7

ROW_MIN: Final = 3900.0
"""Weeks stand in one row while they are no wider than this, in open minutes: five days of work."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Which days have work and so are drawn wide."""

    days: ShopDays
    busy: Collection[int]

    def width(self, day: int, until_min: int = DAY_MIN) -> float:
        """Return how wide a day is until a minute of it, in open minutes."""
        if day not in self.busy:
            return IDLE * until_min
        opened = max(0, min(until_min, self.days.closes_min) - self.days.opens_min)
        return opened + SHUT * (until_min - opened)


@dataclass(frozen=True, slots=True)
class Strip:
    """Some days in a row on paper: ``count`` of them from the day ``first`` on.

    ``left_mm`` is where the first midnight stands, ``per_min`` how wide an open minute is.
    """

    axis: Axis
    first: int
    count: int
    left_mm: float
    per_min: float

    @property
    def begin_min(self) -> int:
        """The first minute."""
        return self.first * DAY_MIN

    @property
    def end_min(self) -> int:
        """The minute after the last one."""
        return (self.first + self.count) * DAY_MIN

    @property
    def right_mm(self) -> float:
        """Where the last midnight stands."""
        return self.place(self.end_min)

    def place(self, minute: int) -> float:
        """Return where a minute stands, mm from the left; outside the strip, its nearer end."""
        inside = min(max(minute, self.begin_min), self.end_min)
        day, rest = divmod(inside, DAY_MIN)
        before = sum(self.axis.width(each) for each in range(self.first, day))
        return self.left_mm + self.per_min * (before + self.axis.width(day, rest))


def strips(axis: Axis, first: int, last: int, left_mm: float, room_mm: float) -> list[Strip]:
    """Return the days from first to last in rows of whole weeks, all at one scale."""
    rows: list[tuple[int, int, float]] = []
    for begin in range(first, last + 1, WEEK_DAYS):
        count = min(WEEK_DAYS, last + 1 - begin)
        wide = sum(axis.width(day) for day in range(begin, begin + count))
        if rows and rows[-1][2] + wide <= ROW_MIN:
            before = rows.pop()
            rows.append((before[0], before[1] + count, before[2] + wide))
        else:
            rows.append((begin, count, wide))
    widest = max(wide for _, _, wide in rows)
    return [Strip(axis, begin, count, left_mm, room_mm / widest) for begin, count, _ in rows]
