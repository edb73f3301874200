"""The shop's days: which minutes are open, and which calendar day a minute falls on."""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left
from collections.abc import Collection
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from flushwork.core.units.factors import DAY_MIN, HOUR_MIN
from flushwork.schedule.solve.tasks import Shift, Span
from flushwork.shelf.items import Shop

MINUTE = dt.timedelta(minutes=1)
MOST_DAYS = 730
"""A plan that would take longer than this is no plan."""
MONDAY = dt.date(2024, 1, 1)
"""Stands for day 1 where nobody has said when the work begins: any Monday would do."""


@dataclass(frozen=True, slots=True)
class ShopDays:
    """Opening hours from a first day on, in minutes from its midnight.

    ``dated`` tells whether ``first`` is a real date or only a Monday.  ``off`` are days the shop is
    shut although its week has it open.  ``zone`` is the time zone of its clock, "" where that is
    never changed.
    """

    first: dt.date
    dated: bool
    opens_min: int
    closes_min: int
    weekdays: tuple[int, ...]
    off: frozenset[dt.date] = frozenset()
    zone: str = ""

    @property
    def open_min(self) -> int:
        """How long the shop is open on a working day; 0 where it has no hours."""
        return max(0, self.closes_min - self.opens_min) if self.weekdays else 0

    def works(self, day: int) -> bool:
        """Whether the shop is open on a day, counted from 0."""
        date = self.date(day)
        return date.weekday() in self.weekdays and date not in self.off

    def date(self, day: int) -> dt.date:
        """Return the date of a day, counted from 0."""
        return self.first + dt.timedelta(days=day)

    def closed(self, horizon: int) -> tuple[Span, ...]:
        """Return the spans, to beyond a horizon, in which nobody works."""
        spans: list[Span] = []
        begin = 0
        for day in range(horizon // DAY_MIN + 2):
            if self.works(day):
                opens = day * DAY_MIN + self.opens_min
                if opens > begin:
                    spans.append((begin, opens))
                begin = day * DAY_MIN + self.closes_min
        spans.append((begin, (horizon // DAY_MIN + 3) * DAY_MIN))
        return tuple(spans)

    def shifts(self, horizon: int) -> tuple[Shift, ...]:
        """Return the changes of the wall clock up to a horizon; none without a date or a zone."""
        if not self.zone or not self.dated:
            return ()
        zone = ZoneInfo(self.zone)
        days = range(horizon // DAY_MIN + 2)
        return tuple(
            shift for day in days if (shift := _shift(self.date(day), day, zone)) is not None
        )

    def next_open(self, minute: int) -> int:
        """Return the first minute at or after one at which the shop is open."""
        for day in range(minute // DAY_MIN, minute // DAY_MIN + 1000):
            opens, closes = day * DAY_MIN + self.opens_min, day * DAY_MIN + self.closes_min
            if self.works(day) and minute < closes:
                return max(minute, opens)
        return minute

    def clock_text(self, minute: int) -> str:
        """Return the time of day, as 08:05."""
        return f"{minute % DAY_MIN // HOUR_MIN:02d}:{minute % HOUR_MIN:02d}"

    def day_text(self, minute: int) -> str:
        """Return the day of a minute: a date where one was given, else day and weekday."""
        day = minute // DAY_MIN
        date = self.date(day)
        return f"{date:%A} {date.isoformat()}" if self.dated else f"day {day + 1} ({date:%A})"


def _shift(date: dt.date, day: int, zone: ZoneInfo) -> Shift | None:
    """Return the change of a zone's clock on a date that is day ``day`` of a plan, if any."""
    begins = dt.datetime.combine(date, dt.time(), zone)
    ends = dt.datetime.combine(date + dt.timedelta(days=1), dt.time(), zone)
    before, after = begins.utcoffset(), ends.utcoffset()
    if before is None or after is None or before == after:
        return None
    lasts = int((ends.astimezone(dt.UTC) - begins.astimezone(dt.UTC)) / MINUTE)
    # the first minute of the day from which the clock goes by the later offset
    changes = bisect_left(range(lasts), 1, key=lambda at: int(_offset(begins, at, zone) != before))
    forward = int((after - before) / MINUTE)
    at = day * DAY_MIN + changes
    return Shift(at, at + forward, 0) if forward > 0 else Shift(at + forward, at, 2)


def _offset(begins: dt.datetime, minutes: int, zone: ZoneInfo) -> dt.timedelta | None:
    moment = begins.astimezone(dt.UTC) + minutes * MINUTE
    return moment.astimezone(zone).utcoffset()


def shop_days(
    shop: Shop,
    first: dt.date | None = None,
    off: Collection[dt.date] = (),
    zone: str | None = None,
) -> ShopDays:
    """Return the shop's days from a first day on; without one, from a Monday called day 1."""
    return ShopDays(
        first=first or MONDAY,
        dated=first is not None,
        opens_min=round(shop.opens_h * HOUR_MIN),
        closes_min=round(shop.closes_h * HOUR_MIN),
        weekdays=shop.days,
        off=frozenset(off),
        zone=shop.zone if zone is None else zone,
    )
