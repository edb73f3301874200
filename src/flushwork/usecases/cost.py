"""What a run costs."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.schedule.cost_table import Costing, CostTable, cost_text
from flushwork.schedule.groups import groups_in


def cost(made: Build) -> CostTable | None:
    """Return what the run of a build costs, in the currency of the shop file's prices.

    None where the shop file has no prices.
    """
    if made.job.shop.prices is None:
        return None
    groups = groups_in(made.job, made.schedule)
    costing = Costing(
        made.job, made.faces, made.plan, made.staged_files, made.replay.poured, groups
    )
    return costing.table()


__all__ = ["CostTable", "cost", "cost_text"]
