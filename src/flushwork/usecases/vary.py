"""What if: a key of the job at other values, each built and checked in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flushwork.checks.what_if import Outcome, sweep
from flushwork.core.findings import Finding, Severity
from flushwork.job.text.change import VaryError, changed
from flushwork.pipeline import Progress
from flushwork.runtime.memo import Memo
from flushwork.usecases.odds import odds
from flushwork.usecases.tries import tried

SQUARE_SAMPLES = 4000
"""Odds within about 0.01 of all the samples, for a quarter of their time."""


def vary(
    path: Path | str, key: str, values: Sequence[str], progress: Progress = lambda _: None
) -> tuple[Outcome, ...]:
    """Return what the checks find for each value of a key.

    ``key`` is a dotted path such as ``front.inlays.body.depth``, ``values`` are written as in the
    job.  The job file is left alone.  Raises VaryError where the key leads nowhere.
    """
    path = Path(path)

    def heard(text: str) -> tuple[Finding, ...]:
        progress("hear one change")
        return tried(path, text).findings

    return sweep(path.read_text("utf-8"), key, values, heard)


@dataclass(frozen=True, slots=True)
class Square:
    """What one text leads to; ``refused`` says why it could not be read."""

    must_fix: int
    warnings: int
    piece: float
    finish: str
    worst: str
    refused: str = ""


def square(path: Path, text: str, progress: Progress, memo: Memo) -> Square:
    """Return what a text leads to: findings that stand, the odds of a piece, when it is done."""
    found = tried(path, text, progress, memo)
    if found.build is None:
        return Square(0, 0, 0.0, "", "", found.findings[0].message)
    made, outcome = found.build, Outcome("", found.findings)
    plan = made.schedule
    finish = ""
    if plan is not None and plan.steps:
        finish = f"{plan.days.day_text(plan.finish_min)} {plan.days.clock_text(plan.finish_min)}"
    stops, warnings = outcome.of(Severity.MUST_FIX), outcome.of(Severity.WARNING)
    worst = next(iter((*stops, *warnings)), None)
    piece = odds(made, samples=SQUARE_SAMPLES).piece
    return Square(
        len(stops), len(warnings), piece, finish, worst.message if worst is not None else ""
    )


__all__ = ["Outcome", "Square", "VaryError", "changed", "square", "vary"]
