"""Everything about what may go wrong, in one record: odds, spending, points of no return."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.built import Build
from flushwork.checks.no_return.points import PointOfNoReturn, no_returns_of
from flushwork.checks.odds.odds import RunOdds, odds_of
from flushwork.schedule.cost import Spending
from flushwork.schedule.cost_table import Costing


@dataclass(frozen=True, slots=True)
class Risk:
    """The odds of the run, what each stage puts into a piece, and the points of no return."""

    odds: RunOdds
    spending: Spending
    points: tuple[PointOfNoReturn, ...]


def risk_of(build: Build, odds: RunOdds | None = None) -> Risk:
    """Return the risk of a job; ``odds`` are its own where they are known."""
    costing = Costing(build.job, build.faces, build.plan, build.staged_files, build.replay.poured)
    odds, spending = odds or odds_of(build), costing.spending(build.pours)
    return Risk(odds, spending, no_returns_of(build, odds, spending))
