"""Everything about what may go wrong, in one record: odds, spending, gates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flushwork.plan.cost_table import Costing
from flushwork.plan.spent import Spending
from flushwork.proof.case import Case
from flushwork.proof.gates import Gate, gates_of
from flushwork.proof.odds import RunOdds, odds_of
from flushwork.toolpaths.orders import CutFile


@dataclass(frozen=True, slots=True)
class Risk:
    """The odds of the run, what each stage puts into a piece, and the gates between them."""

    odds: RunOdds
    spending: Spending
    gates: tuple[Gate, ...]


def risk_of(
    case: Case, cut_files: Mapping[int, Sequence[CutFile]], odds: RunOdds | None = None
) -> Risk:
    """Return the risk of a job; ``cut_files`` are by stage number, ``odds`` its own if known."""
    costing = Costing(case.job, case.faces, case.plan, cut_files, case.replay.poured)
    odds, spending = odds or odds_of(case), costing.spending(case.pours)
    return Risk(odds, spending, gates_of(case, odds, spending))
