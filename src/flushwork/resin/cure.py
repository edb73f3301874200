"""Resin's clocks: how fast they run at a temperature, and the dose that is a cure.

Below a resin's floor an hour may still count by the rate rule, or for nothing: both ends are
given, never one number.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.core.units.kinds import HOUR_S
from flushwork.shelf.items import Air, Resin

# ---- How fast resin's clocks run at a temperature
#
# Twice as fast for every 10 C warmer (common practice, no source). By Arrhenius' law, rate = exp(-E
# / R (1 / T - 1 / T_ref)), that is an activation energy of 52.9 kJ/mol from 25 to 35 C; for amine-
# cured epoxies 44 to 57 kJ/mol are published (Barral and others, J. Appl. Polym. Sci. 56(9), 1995,
# 1029, abstract) and 55 to 60 (Thermochim. Acta 447(2), 2006, 167, abstract), both of resins cured
# hot. Cure sticks at two temperatures replace the rule.


def doubling_rate(at_c: float, reference_c: float) -> float:
    """Return the rate relative to the reference temperature, doubling every 10 C."""
    return math.exp2((at_c - reference_c) / 10.0)


def at_temperature_s(clock_s: float, at_c: float, reference_c: float) -> float:
    """Return how long a clock that takes ``clock_s`` at the reference takes at ``at_c``."""
    return clock_s / doubling_rate(at_c, reference_c)


# ---- Cure as a dose: the resin's clock integrated over the shop's days and nights


DAY_H = 24.0


@dataclass(frozen=True, slots=True)
class CureEnds:
    """How long a dose takes: by the rate rule throughout, and if cold hours count for nothing.

    ``later_s`` is infinite where no hour of the day reaches the floor.  ``cold_h_per_day`` is how
    long each day is below the floor; there amine blush is likely (common practice, no source).
    """

    earlier_s: float
    later_s: float
    cold_h_per_day: float


def is_day(air: Air, clock_h: float) -> bool:
    """Whether a time of day (0 to 24) lies in the warm hours."""
    return air.day_from_h <= clock_h < air.day_until_h


def temperature_c(air: Air, clock_h: float) -> float:
    """Return the air's temperature at a time of day."""
    return air.day_c if is_day(air, clock_h % DAY_H) else air.night_c


def _pieces(air: Air, start_h: float) -> list[tuple[float, float]]:
    """Return the (hours, temperature) that a day is made of, counted from ``start_h``."""
    edges = sorted({(edge - start_h) % DAY_H for edge in (air.day_from_h, air.day_until_h)} | {0.0})
    ends = [*edges[1:], DAY_H]
    return [
        (end - begin, temperature_c(air, start_h + (begin + end) / 2.0))
        for begin, end in zip(edges, ends, strict=True)
        if end > begin
    ]


def hours_for_dose(
    dose_h: float,
    reference_c: float,
    air: Air,
    start_h: float,
    floor_c: float = -math.inf,
) -> float:
    """Return the hours from a time of day until the dose is full.

    ``dose_h`` is the clock in hours at ``reference_c``; hours colder than ``floor_c`` count for
    nothing.  Infinite where every hour is too cold.
    """
    day = [
        (hours, 0.0 if at_c < floor_c else doubling_rate(at_c, reference_c))
        for hours, at_c in _pieces(air, start_h % DAY_H)
    ]
    daily = sum(hours * speed for hours, speed in day)
    if daily <= 0.0:
        return math.inf
    whole = max(0, math.ceil(dose_h / daily) - 1)
    left, passed = dose_h - whole * daily, whole * DAY_H
    for hours, speed in day:
        if left <= hours * speed:
            return passed + (left / speed if speed > 0.0 else 0.0)
        left -= hours * speed
        passed += hours
    return passed


def cure_ends(clock_s: float, resin: Resin, air: Air, start_h: float) -> CureEnds:
    """Return both ends of how long one of a resin's clocks takes in the shop's air."""
    dose_h = clock_s / HOUR_S
    earlier = hours_for_dose(dose_h, resin.at_c, air, start_h)
    later = hours_for_dose(dose_h, resin.at_c, air, start_h, resin.floor_c)
    cold = sum(hours for hours, at_c in _pieces(air, start_h % DAY_H) if at_c < resin.floor_c)
    return CureEnds(earlier * HOUR_S, later * HOUR_S, cold)


def wait_until_sandable_s(resin: Resin, air: Air) -> float:
    """Return the wait until a resin can be cut or sanded, poured at the end of the warm hours.

    The later end, since cold hours may count for nothing: infinite where the shop never reaches
    the resin's floor, so that colder air never ends a wait sooner.
    """
    return _wait_s(resin.sandable_s, resin, air)


def wait_until_recoat_s(resin: Resin, air: Air) -> float:
    """Return the wait until a resin may be poured on, counted like the wait for sanding."""
    return _wait_s(resin.recoat_from_s, resin, air)


def wait_until_cured_s(resin: Resin, air: Air) -> float:
    """Return the wait until a resin is fully cured, counted like the wait for sanding."""
    return _wait_s(resin.cure_s, resin, air)


def _wait_s(clock_s: float, resin: Resin, air: Air) -> float:
    return cure_ends(clock_s, resin, air, air.day_until_h).later_s
