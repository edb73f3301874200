"""Points of no return: what is in a piece before each step that cannot be taken back."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.checks.no_return.points import PointOfNoReturn
from flushwork.checks.odds.odds import RunOdds
from flushwork.checks.risk import Risk, risk_of


def no_return(made: Build, odds: RunOdds | None = None) -> Risk:
    """Return the odds of a run, what each stage puts into a piece, and its points of no return.

    Money is in the currency of the shop's prices, None without prices; work in minutes.  ``odds``
    are those of the same build, where they are known already.
    """
    return risk_of(made, odds)


__all__ = ["PointOfNoReturn", "Risk", "no_return"]
