"""Does it come out right on most pieces, not only on the drawing?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.findings import Finding, Measure, Place, Severity
from flushwork.proof.case import Case
from flushwork.proof.odds import told_of
from flushwork.proof.quantities import fills, second_passes, walls

LEAST_ODDS: Final = 0.98
"""Fewer good pieces than this at one quantity is told (assumed, 0.95 to 0.995)."""


def poor_odds(case: Case) -> Iterator[Finding]:
    """Yield one caution for each kind of quantity that fails too often, with what to tighten."""
    kinds: dict[str, list[Finding]] = {}
    for quantity in (*fills(case), *second_passes(case), *walls(case)):
        nominal = float(quantity.nominal.min())
        if nominal <= quantity.limit:
            continue  # told by its own rule: it fails by its very size
        odds = told_of(quantity)
        if odds.odds >= LEAST_ODDS:
            continue
        kinds.setdefault(quantity.name, []).append(
            Finding(
                code="odds-poor",
                severity=Severity.CAUTION,
                message=f"{quantity.name.capitalize()} of {quantity.subject} is {nominal:.2f} mm "
                f"and {quantity.limit:.2f} mm is needed: it holds on {100 * odds.odds:.0f} pieces "
                f"in 100, and most of what strays is {odds.dominant} ({100 * odds.share:.0f} %).",
                remedy=f"{odds.tighten.capitalize()}: halved, {100 * odds.halved:.1f} in 100 hold.",
                subject=quantity.subject,
                source=case.source_of(quantity.subject),
                place=Place(quantity.face, *odds.at_mm),
                measure=Measure("odds", 100 * odds.odds, 100 * LEAST_ODDS, "%"),
            )
        )
    for found in kinds.values():
        yield min(found, key=lambda item: item.measure.value if item.measure else 0.0)


RULES = (poor_odds,)
