"""Does it come out right on most pieces, not only on the drawing?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.findings import Finding, Measure, Place, Severity
from flushwork.proof.heights import fills, floors_left, left_to_sand
from flushwork.proof.odds import told_of
from flushwork.proof.quantity import CriticalQuantity
from flushwork.proof.sliver_rules import ALONG_MM
from flushwork.proof.strays import beside_holes, beside_trim, edges_of_first_passes, walls

LEAST_ODDS: Final = 0.98
"""Fewer good pieces than this at one quantity is told (assumed, 0.95 to 0.995)."""


def poor_odds(build: Build) -> Iterator[Finding]:
    """Yield one caution for each kind of quantity that fails too often, with what to tighten."""
    kinds: dict[str, list[Finding]] = {}
    for quantity in _untold(build):
        odds = told_of(quantity)
        if odds.odds >= LEAST_ODDS:
            continue
        kinds.setdefault(quantity.name, []).append(
            Finding(
                code="odds-poor",
                severity=Severity.CAUTION,
                message=f"{quantity.name.capitalize()} of {quantity.subject} is "
                f"{odds.nominal:.2f} mm "
                f"and {quantity.limit:.2f} mm is needed: it holds on {100 * odds.odds:.0f} pieces "
                f"in 100, and most of what strays is {odds.dominant} ({100 * odds.share:.0f} %).",
                remedy=f"{odds.tighten.capitalize()}: halved, {100 * odds.halved:.1f} in 100 hold.",
                subjects=quantity.subjects,
                source=build.source_of(quantity.subjects[0]),
                place=Place(quantity.face, *odds.at_mm),
                measure=Measure("odds", 100 * odds.odds, 100 * LEAST_ODDS, "%"),
            )
        )
    for found in kinds.values():
        yield min(found, key=lambda item: item.measure.value if item.measure else 0.0)


def _untold(build: Build) -> Iterator[CriticalQuantity]:
    """Yield what no other rule looks at: what fails by its very size is told by its own."""
    for quantity in (
        *fills(build),
        *floors_left(build),
        *left_to_sand(build),
        *edges_of_first_passes(build),
        *walls(build),
        *beside_holes(build),
        *beside_trim(build),
    ):
        nominal = float(quantity.nominal.min())
        sliver = quantity.name == "wood between" and nominal < ALONG_MM
        if nominal > quantity.limit and not sliver:
            yield quantity


RULES = (poor_odds,)
