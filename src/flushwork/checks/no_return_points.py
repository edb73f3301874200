"""Points of no return."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.no_return_conditions import Check, check_for, conditions
from flushwork.checks.odds.odds import QuantityOdds, RunOdds, StageOdds, odds_of
from flushwork.job.records import FaceName
from flushwork.process.stages import Stage, StageKind
from flushwork.schedule.cost import Spending, cents
from flushwork.schedule.cost_table import Costing

# ---- Points of no return
#
# What is at stake before each step that cannot be taken back, and what lets it pass.
#
# At stake is what a piece has cost so far and what the step itself adds, times the chance that the
# step spoils it: by what varies (sampled), and by slips of the hand (assumed alike for every step).


IRREVERSIBLE: Final = frozenset(
    {
        StageKind.CUT,
        StageKind.FILL,
        StageKind.CAP,
        StageKind.MILL_FLUSH,
        StageKind.SAND,
        StageKind.SHAPE,
        StageKind.DRILL,
        StageKind.TRIM,
        StageKind.FINISH,
    }
)
SLIP: Final = 0.01
"""The chance that a hand slips at one step of one piece: wrong file, face or cup (assumed, 0.003 to
0.03; the spoilt pieces of a year over the steps worked replace it)."""
CAUGHT: Final = 0.5
"""The share of the slips that a check finds (assumed, 0.3 to 0.8; as above)."""


SURELY: Final = 0.9
"""How surely enough pieces shall come out right when spares are counted (assumed, 0.8 to 0.99)."""
MOST_SPARES: Final = 50
"""With so many spares and still too few good ones, the job wants mending and not more wood."""


def right_share(odds: RunOdds, no_returns: Sequence[PointOfNoReturn]) -> float:
    """Return the chance that a piece comes out right.

    What varies and slips at all points of no return counted.

    piece x (1 - slip) ^ points of no return; a slip at any of them spoils it.
    """
    return float(odds.piece * (1.0 - SLIP) ** len(no_returns))


def spares_for(pieces: int, right: float) -> int | None:
    """Return the fewest spares with which ``pieces`` come out right as surely as ``SURELY``.

    Each is right by itself with the chance ``right`` (binomial); None where ``MOST_SPARES`` are
    too few.
    """
    for spares in range(MOST_SPARES + 1):
        started = pieces + spares
        enough = sum(
            math.comb(started, bad) * right ** (started - bad) * (1.0 - right) ** bad
            for bad in range(spares + 1)
        )
        if enough >= SURELY:
            return spares
    return None


@dataclass(frozen=True, slots=True)
class PointOfNoReturn:
    """What stands before one step: what is in a piece, what may spoil it, what must be true.

    ``before_min`` and ``before_cost`` are in one piece when the step begins, ``step_min`` and
    ``step_cost`` what the step adds; costs are None without prices.  ``varies`` is the chance that
    what varies spoils the piece here, ``spoils`` that with slips.  ``risk_min`` and ``risk_cost``
    are at stake on one piece.  ``worth`` tells whether the check costs less than what it saves on
    the ``pieces`` of the run.
    """

    stage: int
    kind: StageKind
    face: FaceName
    title: str
    pieces: int
    before_min: float
    before_cost: Decimal | None
    step_min: float
    step_cost: Decimal | None
    varies: float
    spoils: float
    weakest: QuantityOdds | None
    risk_min: float
    risk_cost: Decimal | None
    check: Check
    worth: bool
    conditions: tuple[str, ...]

    @property
    def saved_min(self) -> float:
        """The minutes of work that the check saves on the run, on average."""
        return CAUGHT * self.risk_min * self.pieces


def no_returns_of(build: Build, odds: RunOdds, spending: Spending) -> tuple[PointOfNoReturn, ...]:
    """Return the points of no return of a job in working order."""
    by_stage = {item.stage: item for item in odds.stages}
    return tuple(
        _no_return(build, stage, by_stage.get(stage.number), spending)
        for stage in build.plan.stages
        if stage.kind in IRREVERSIBLE
    )


def _no_return(
    build: Build, stage: Stage, odds: StageOdds | None, spending: Spending
) -> PointOfNoReturn:
    minutes, cost = spending.before(stage.number)
    step = spending.at(stage.number)
    varies = odds.spoils if odds is not None else 0.0
    spoils = 1.0 - (1.0 - varies) * (1.0 - SLIP)
    whole = None if cost is None else cost + (step.money or Decimal(0))
    weakest = odds.weakest if odds is not None else None
    check = check_for(build, stage, weakest)
    parted = build.parted_into
    pieces = (build.job.pieces + build.job.test_pieces) * parted
    risk_min = spoils * (minutes + step.minutes)
    return PointOfNoReturn(
        stage=stage.number,
        kind=stage.kind,
        face=stage.face,
        title=stage.title,
        pieces=pieces,
        before_min=minutes,
        before_cost=cost,
        step_min=step.minutes,
        step_cost=step.money,
        varies=varies,
        spoils=spoils,
        weakest=weakest,
        risk_min=risk_min,
        risk_cost=None if whole is None else cents(Decimal(repr(spoils)) * whole),
        check=check,
        worth=check.minutes < CAUGHT * risk_min * pieces,
        conditions=conditions(build, stage, weakest),
    )


# ---- Everything about what may go wrong, in one record: odds, spending, points of no return


@dataclass(frozen=True, slots=True)
class Risk:
    """The odds of the run, what each stage puts into a piece, and the points of no return."""

    odds: RunOdds
    spending: Spending
    points: tuple[PointOfNoReturn, ...]


def risk_of(build: Build, odds: RunOdds | None = None) -> Risk:
    """Return the risk of a job; ``odds`` are its own where they are known."""
    costing = Costing(
        build.job,
        build.faces,
        build.plan,
        build.staged_files,
        build.replay.poured,
        box=box_of_build(build),
    )
    odds, spending = odds or odds_of(build), costing.spending(build.pours)
    return Risk(odds, spending, no_returns_of(build, odds, spending))
