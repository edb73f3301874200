"""Chains of sizes with tolerances: what adds up at worst, and what usually comes out.

Worst case: the sum of the tolerances.  Root sum square: the root of the sum of their squares, what
independent errors come to (F. W. Scholz, "Tolerance Stack Analysis Methods", 1995).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True, slots=True)
class Link:
    """One size of a chain: added (sign 1) or taken off (-1), within a tolerance to both sides."""

    nominal_mm: float
    within_mm: float
    sign: int = 1


@dataclass(frozen=True, slots=True)
class Chain:
    """What a chain comes to."""

    nominal_mm: float
    worst_mm: float
    usual_mm: float


def chain(links: Iterable[Link]) -> Chain:
    """Return the nominal sum of a chain, its worst case and its root sum square."""
    held = tuple(links)
    return Chain(
        sum(link.sign * link.nominal_mm for link in held),
        sum(link.within_mm for link in held),
        sqrt(sum(link.within_mm**2 for link in held)),
    )
