"""Wall clocks that are put forward or back: minutes shown against minutes passed.

A plan counts minutes as the clock on the wall shows them, so that shop hours stay what they are.
Where the clock is put forward an hour shown never was; where it is put back one is shown twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Shift:
    """A change of the clock: the minutes shown from ``begin`` to ``until`` pass ``times`` times.

    0 times where the clock is put forward over them, twice where it is put back.
    """

    begin: int
    until: int
    times: int


def passed(shifts: Sequence[Shift], minute: float) -> float:
    """Return the minutes passed from minute 0 until a minute shown."""
    return minute + sum(
        (shift.times - 1) * max(0.0, min(minute, shift.until) - shift.begin) for shift in shifts
    )


def shown(shifts: Sequence[Shift], minutes: float) -> float:
    """Return the first minute shown at which so many have passed since minute 0."""
    at = minutes
    for shift in sorted(shifts, key=lambda item: item.begin):
        if at <= shift.begin:
            break
        length = shift.until - shift.begin
        inside = min(at - shift.begin, shift.times * length)
        if shift.times and at - shift.begin < shift.times * length:
            return shift.begin + inside / shift.times
        at += length - shift.times * length
    return at


def real_after(shifts: Sequence[Shift], since: int, minutes: int) -> int:
    """Return the first minute shown at least so many minutes after another."""
    if not shifts:
        return since + minutes
    return -int(-shown(shifts, passed(shifts, since) + minutes) // 1)


def moved(shifts: Sequence[Shift], by: int) -> tuple[Shift, ...]:
    """Return the changes counted from a minute 0 that lies ``by`` minutes earlier or later."""
    return tuple(Shift(item.begin + by, item.until + by, item.times) for item in shifts)
