"""What if: a key at other values, and the cheapest change that takes a finding away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flushwork.built import Build
from flushwork.checks.fixes.fix import Fix, Outcome, applied, figure_after, sweep
from flushwork.checks.fixes.propose import (
    ProposedFix,
    fixes_for,
    mended,
    propose,
    question,
    why_not,
)
from flushwork.checks.odds.variation import CriticalQuantity
from flushwork.core.findings import Finding, Severity
from flushwork.core.units.shown import shown
from flushwork.job.text.change import VaryError, changed
from flushwork.pipeline import Progress, build
from flushwork.runtime.memo import Memo
from flushwork.usecases.check import tried
from flushwork.usecases.odds import odds, quantities

# ---- What if: a key of the job at other values, each built and checked in full


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
        progress("check one change")
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
        return Square(0, 0, 0.0, "", "", shown(found.findings[0].message, found.units))
    made, outcome = found.build, Outcome("", found.findings)
    plan = made.schedule
    finish = ""
    if plan is not None and plan.steps:
        finish = f"{plan.days.day_text(plan.finish_min)} {plan.days.clock_text(plan.finish_min)}"
    stops, warnings = outcome.of(Severity.MUST_FIX), outcome.of(Severity.WARNING)
    worst = next(iter((*stops, *warnings)), None)
    piece = odds(made, samples=SQUARE_SAMPLES).piece
    return Square(
        len(stops),
        len(warnings),
        piece,
        finish,
        shown(worst.message, found.units) if worst is not None else "",
    )


# ---- The cheapest change that takes a finding away, tried on the whole job before it is offered


@dataclass(frozen=True, slots=True)
class Offer:
    """What is proposed for a finding, and its figure then: its name, value and limit in mm."""

    proposal: ProposedFix
    figure: tuple[str, float, float] | None


def fix(path: Path | str, progress: Progress = lambda _: None) -> tuple[Offer, ...]:
    """Return the cheapest fix that holds for each finding of a job, or why there is none.

    Each fix was built and checked: its finding goes, and nothing as heavy comes.  The job file is
    left alone.  Raises JobRefusedError where the job cannot be read.
    """
    path = Path(path)
    made, text = build(path, progress), path.read_text("utf-8")
    held: dict[str, tuple[CriticalQuantity, ...]] = {}

    def heard(text: str) -> tuple[Finding, ...]:
        progress("check one change")
        found = tried(path, text)
        if found.build is not None:
            held[text] = quantities(found.build)
        return found.findings

    def figure(item: ProposedFix) -> tuple[str, float, float] | None:
        if item.fix is None:
            return None
        return figure_after(item.finding, held.get(applied(text, item.fix), ()))

    others = [(part.job, part.faces) for part in made.parts]
    found = propose(text, made.job, made.faces, made.findings, heard, others=others)
    return tuple(Offer(item, figure(item)) for item in found)


def fixes_worth_trying(made: Build, finding: Finding) -> tuple[Fix, ...]:
    """Return the changes that may take a finding away, the cheapest first; none was tried."""
    others = [(part.job, part.faces) for part in made.parts]
    return fixes_for(question(finding, made.job, made.faces, others))
