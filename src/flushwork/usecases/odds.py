"""The odds that a piece and the run come out right, and what is at risk before each step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from flushwork.built import Build
from flushwork.checks.no_return_points import PointOfNoReturn, Risk, risk_of
from flushwork.checks.odds import variation
from flushwork.checks.odds.odds import SAMPLES, RunOdds, draw, holds_each, place_odds, run_odds
from flushwork.checks.odds.quantities import quantities
from flushwork.checks.odds.variation import Critical, CriticalQuantity
from flushwork.job.records import FaceName

CAUSE: Final = {
    "shift x": "place",
    "shift y": "place",
    "turn": "turn",
    "moisture": "moisture",
    "depth zero": "zero",
    "thickness": "thickness",
    "sanding": "sanding",
    "bit width": "bit",
    "bending": "bending",
    "flatness": "flatness",
    "edge blur": "blur",
    "shrinkage": "shrinkage",
    "measuring": "measuring",
}
"""What varies, by the one thing to be done that steadies it."""


def odds(
    made: Build, found: tuple[CriticalQuantity, ...] | None = None, *, samples: int = SAMPLES
) -> RunOdds:
    """Return the odds of one piece and of the whole run, drawn ``samples`` times.

    ``found`` are the quantities to draw, by default those of the build.  All odds are shares
    between 0 and 1; the same build gives the same odds.
    """
    drawn = quantities(made) if found is None else found
    return run_odds(drawn, made.job.pieces, made.job.test_pieces, samples=samples)


def sanded_sd_mm(made: Build, face: FaceName, taken_mm: float, times: int) -> float:
    """Return the standard deviation of a face's height after ``times`` sandings, in mm.

    ``taken_mm`` is what they take together.
    """
    return variation.sanding(face).sd * variation.sanded_mm(made.job, taken_mm, times)


def cause_of(what: str) -> str:
    """Return the name under which a variation is steadied."""
    return CAUSE.get(what, what)


def steadied(
    found: tuple[CriticalQuantity, ...], scales: Mapping[str, float]
) -> tuple[CriticalQuantity, ...]:
    """Return quantities whose variations are ``scales`` times as large, by name of the cause."""

    def one(quantity: CriticalQuantity) -> CriticalQuantity:
        variation = tuple(
            replace(variation, sd=variation.sd * scales.get(cause_of(variation.key[0]), 1.0))
            for variation in quantity.variations
        )
        return replace(quantity, variations=variation)

    return tuple(one(quantity) for quantity in found)


def outcomes(found: tuple[CriticalQuantity, ...], pieces: int, samples: int) -> list[float]:
    """Return the chances that 0, 1, 2 ... pieces of a run come out right.

    ``pieces`` counts blanks; of each that is parted every piece counts.
    """
    variation = tuple(
        {variation.key: variation for item in found for variation in item.variations}.values()
    )
    draws = draw(variation, samples, pieces)
    pieces *= max((item.parted for item in found), default=1)
    good = np.ones((samples, pieces), bool)
    for item in found:
        good &= holds_each(item, draws) if item.variations else bool(place_odds(item).min() > 0.5)
    counts = np.bincount(good.sum(axis=1), minlength=pieces + 1)
    return [float(count) / samples for count in counts]


# ---- Points of no return: what is in a piece before each step that cannot be taken back


def no_return(made: Build, odds: RunOdds | None = None) -> Risk:
    """Return the odds of a run, what each stage puts into a piece, and its points of no return.

    Money is in the currency of the shop's prices, None without prices; work in minutes.  ``odds``
    are those of the same build, where they are known already.
    """
    return risk_of(made, odds)
