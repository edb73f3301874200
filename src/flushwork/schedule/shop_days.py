"""The shop's days: which minutes are open, and how resin's clock runs through them."""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise
from zoneinfo import ZoneInfo

from flushwork.core.units.kinds import DAY_MIN, HOUR_MIN
from flushwork.resin.cure import doubling_rate
from flushwork.schedule.solve.tasks import CureClock, Shift, Span
from flushwork.shelf.items import Air, Resin, Shop

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
        opens_min=round(shop.hours.opens_h * HOUR_MIN),
        closes_min=round(shop.hours.closes_h * HOUR_MIN),
        weekdays=shop.days,
        off=frozenset(off),
        zone=shop.zone if zone is None else zone,
    )


# ---- A resin's clock over the shop's days: how much of it has run, and when it will have run


def clock_of(name: str, resin: Resin, air: Air, *, cold_counts: bool) -> CureClock:
    """Return a resin's clock in a shop's air.

    With ``cold_counts`` every hour counts by the rate rule: the end of a window that closes.
    Without, hours below the resin's floor count for nothing: the safe side of a wait.  Where the
    shop never reaches the floor, the clock stands still and no wait on it ends.
    """
    edges = sorted(
        {0, DAY_MIN, *(round(hour * HOUR_MIN) for hour in (air.day_from_h, air.day_until_h))}
    )
    day: list[tuple[int, int, float]] = []
    floor_c = -math.inf if cold_counts else resin.floor_c
    for begin, until in pairwise(edges):
        warm = air.day_from_h * HOUR_MIN <= (begin + until) / 2 < air.day_until_h * HOUR_MIN
        at_c = air.day_c if warm else air.night_c
        day.append((begin, until, 0.0 if at_c < floor_c else doubling_rate(at_c, resin.at_c)))
    return CureClock(name, tuple(day))


def resin_clocks(resin: Resin, air: Air) -> tuple[CureClock, CureClock]:
    """Return a resin's waiting clock and its closing clock."""
    return (
        clock_of(waiting(resin), resin, air, cold_counts=False),
        clock_of(closing(resin), resin, air, cold_counts=True),
    )


def waiting(resin: Resin) -> str:
    """Return the name of the clock on which a resin is waited for."""
    return f"{resin.name}, waiting"


def closing(resin: Resin) -> str:
    """Return the name of the clock on which a resin's window closes."""
    return f"{resin.name}, closing"


def dose_until(clock: CureClock, minute: float) -> float:
    """Return the minutes at the reference temperature from minute 0 to ``minute``."""
    return _plain(clock, minute) + sum(
        shift_dose(clock, shift, minute) for shift in clock.shifts if shift.begin < minute
    )


def shift_dose(clock: CureClock, shift: Shift, minute: float = math.inf) -> float:
    """Return what a change of the wall clock adds to a dose by a minute, below 0 where it takes."""
    within = min(minute, shift.until)
    return (shift.times - 1) * (_plain(clock, within) - _plain(clock, shift.begin))


def _plain(clock: CureClock, minute: float) -> float:
    """Return the dose until a minute as if the wall clock were never changed."""
    days, into = divmod(minute, DAY_MIN)
    return days * clock.daily + sum(
        rate * max(0.0, min(into, until) - begin) for begin, until, rate in clock.day
    )


def minute_of_dose(clock: CureClock, dose: float) -> float:
    """Return the first minute at which the clock has run so far since minute 0."""
    if clock.shifts:
        most = sum(shift.until - shift.begin for shift in clock.shifts)
        last = int(dose / clock.daily + 2.0) * DAY_MIN + 2 * most
        minute = bisect_left(range(last), dose - 1e-9, key=lambda at: dose_until(clock, at))
        below = dose_until(clock, minute - 1) if minute else 0.0
        rise = dose_until(clock, minute) - below
        return minute - 1 + (dose - below) / rise if minute and rise > 0.0 else float(minute)
    days, left = divmod(dose, clock.daily)
    if left <= 1e-9 and days > 0:
        days, left = days - 1, clock.daily
    for begin, until, rate in clock.day:
        worth = (until - begin) * rate
        if left <= worth + 1e-9:
            return days * DAY_MIN + begin + (left / rate if rate > 0.0 and left > 0.0 else 0.0)
        left -= worth
    return (days + 1) * DAY_MIN


def ready_minute(clock: CureClock, since: float, dose: float) -> int:
    """Return the first whole minute at which a dose begun at ``since`` is full."""
    return math.ceil(minute_of_dose(clock, dose_until(clock, since) + dose) - 1e-6)


def last_minute(clock: CureClock, since: float, dose: float) -> int:
    """Return the last whole minute at which a window opened at ``since`` has not closed."""
    return math.floor(minute_of_dose(clock, dose_until(clock, since) + dose) + 1e-6)


def logged_dose(
    resin: Resin,
    log: Sequence[tuple[int, float]],
    since: int,
    until: int,
    *,
    cold_counts: bool,
) -> float | None:
    """Return the dose between two minutes by a log of (minute, degrees C) readings.

    Each reading holds until the next.  None where the log does not reach back to ``since``.
    """
    if not log or log[0][0] > since:
        return None
    dose = 0.0
    for index, (begin, at_c) in enumerate(log):
        end = log[index + 1][0] if index + 1 < len(log) else until
        lasted = min(end, until) - max(begin, since)
        if lasted > 0 and (cold_counts or at_c >= resin.floor_c):
            dose += lasted * doubling_rate(at_c, resin.at_c)
    return dose
