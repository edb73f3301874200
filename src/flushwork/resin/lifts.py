"""A pour deeper than the resin allows goes in by lifts, each poured within the recoat window."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.resin.clocks import RateRule, at_temperature_s, doubling_rate
from flushwork.shelf.items import Resin


@dataclass(frozen=True, slots=True)
class Lifts:
    """How many lifts a depth takes, each how deep, and when the next may and must follow."""

    count: int
    each_mm: float
    next_from_s: float
    next_until_s: float


def lifts(depth_mm: float, resin: Resin, at_c: float, rate: RateRule = doubling_rate) -> Lifts:
    """Return the fewest even lifts that stay within the resin's depth limit."""
    count = max(1, math.ceil(depth_mm / resin.layer_mm - 1e-9))
    return Lifts(
        count=count,
        each_mm=depth_mm / count,
        next_from_s=at_temperature_s(resin.recoat_from_s, at_c, resin.at_c, rate),
        next_until_s=at_temperature_s(resin.recoat_until_s, at_c, resin.at_c, rate),
    )


def levels_mm(depth_mm: float, layer_mm: float, kept: float) -> tuple[float, ...]:
    """Return the heights above the floor that a depth is poured to, layer by layer.

    The fewest layers whose liquid stays within ``layer_mm``; all take the same liquid t, and each
    is left with ``kept`` of it before the next goes in: t ((n - 1) kept + 1) = depth.
    """
    count = 1
    while depth_mm > layer_mm * ((count - 1) * kept + 1.0) + 1e-9:
        count += 1
    each = depth_mm / ((count - 1) * kept + 1.0)
    return tuple(each * (before * kept + 1.0) for before in range(count))
