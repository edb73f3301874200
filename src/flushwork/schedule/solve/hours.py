"""What the solver counts with: open hours, steps of a dose, a time by which all is surely done."""

from __future__ import annotations

from itertools import accumulate

from flushwork.core.units.factors import DAY_MIN
from flushwork.schedule.solve.tasks import CureClock, Problem, Span

DOSE_SCALE = 100_000
"""Steps in which rates are told apart: half a minute in a month of waiting at worst."""


def open_windows(closed: tuple[Span, ...], horizon: int) -> list[Span]:
    """Return the open spans between closed ones, up to a horizon."""
    found: list[Span] = []
    begin = 0
    for shut, opens in closed:
        if shut > begin:
            found.append((begin, shut))
        begin = opens
        if begin > horizon:
            break
    return found


def scaled(minutes: float) -> int:
    """Return minutes at the reference temperature in steps of a dose."""
    return round(minutes * DOSE_SCALE)


def doses_before(clock: CureClock) -> list[float]:
    """Return the dose of a day before each of its pieces."""
    doses = ((until - begin) * rate for begin, until, rate in clock.day)
    return list(accumulate(doses, initial=0.0))[:-1]


def common_hours(closed: list[Span]) -> Span:
    """Return the hours of the day that lie outside every closed span, as one stretch.

    Closed spans of a shop run from closing to opening; (0, 1440) where nothing is closed.
    """
    opens = {end % DAY_MIN for _, end in closed if end % DAY_MIN}
    closes = {begin % DAY_MIN for begin, _ in closed if begin > 0}
    if not opens or not closes or min(opens) >= max(closes):
        return (0, DAY_MIN)
    return (min(opens), max(closes))


def horizon_of(problem: Problem) -> int:
    """Return a time by which everything can surely be done, one thing after another."""
    work = sum(task.minutes for task in problem.tasks)
    work += sum(cure.missed_minutes for cure in problem.cures)
    clocks = {clock.name: clock for clock in problem.clocks}
    waits = float(sum(lag.least for lag in problem.lags))
    waits += sum(
        (max(cure.least, cure.missed_least or 0.0) / max(clocks[cure.clock].daily, 1e-9) + 1.0)
        * DAY_MIN
        for cure in problem.cures
    )
    begins = (max(task.earliest, task.start or 0) for task in problem.tasks)
    return int(max(begins, default=0) + work + waits)
