"""The room a panel needs in its grooves through the seasons."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.wood.movement import movement_mm


@dataclass(frozen=True, slots=True)
class Clearance:
    """How far a panel grows and shrinks across the grain from the moisture it is fitted at.

    ``side_mm`` is the gap to leave at each of two sides of a centred panel so that it never binds;
    ``hold_mm`` how much deeper than that each tongue must reach so that it never falls out.
    """

    grows_mm: float
    shrinks_mm: float
    side_mm: float
    hold_mm: float


def clearance(
    size_mm: float, per_pct: float, fitted: float, driest: float, wettest: float
) -> Clearance:
    """Return the clearance of a floating panel, all moistures as shares (GTR-190, eq. 13-2)."""
    grows = max(0.0, movement_mm(size_mm, per_pct, fitted, wettest))
    shrinks = max(0.0, -movement_mm(size_mm, per_pct, fitted, driest))
    return Clearance(grows, shrinks, grows / 2.0, shrinks / 2.0)
