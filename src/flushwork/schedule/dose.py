"""A resin's clock over the shop's days: how much of it has run, and when it will have run."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from itertools import pairwise

from flushwork.core.units.factors import DAY_MIN, HOUR_MIN
from flushwork.resin.clocks import doubling_rate
from flushwork.schedule.solve.tasks import CureClock, Shift
from flushwork.shelf.items import Air, Resin


def clock_of(
    name: str, resin: Resin, air: Air, *, cold_counts: bool, rate: Callable[[float, float], float]
) -> CureClock:
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
        day.append((begin, until, 0.0 if at_c < floor_c else rate(at_c, resin.at_c)))
    return CureClock(name, tuple(day))


def resin_clocks(resin: Resin, air: Air) -> tuple[CureClock, CureClock]:
    """Return a resin's waiting clock and its closing clock."""
    return (
        clock_of(waiting(resin), resin, air, cold_counts=False, rate=doubling_rate),
        clock_of(closing(resin), resin, air, cold_counts=True, rate=doubling_rate),
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
