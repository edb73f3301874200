"""The cheapest change that takes a finding away, tried on the whole job before it is offered."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flushwork.built import Build
from flushwork.checks.fixes.fix import Fix, Question, applied, figure_after
from flushwork.checks.fixes.propose import ProposedFix, fixes_for, mended, propose, why_not
from flushwork.checks.odds.quantity import CriticalQuantity
from flushwork.core.findings import Finding
from flushwork.pipeline import Progress, build
from flushwork.usecases.odds import quantities
from flushwork.usecases.tries import tried


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

    def heard(changed: str) -> tuple[Finding, ...]:
        progress("hear one change")
        found = tried(path, changed)
        if found.build is not None:
            held[changed] = quantities(found.build)
        return found.findings

    def figure(item: ProposedFix) -> tuple[str, float, float] | None:
        if item.fix is None:
            return None
        return figure_after(item.finding, held.get(applied(text, item.fix), ()))

    found = propose(text, made.job, made.faces, made.findings, heard)
    return tuple(Offer(item, figure(item)) for item in found)


def fixes_worth_trying(made: Build, finding: Finding) -> tuple[Fix, ...]:
    """Return the changes that may take a finding away, the cheapest first; none was tried."""
    return fixes_for(Question(finding, made.job, made.faces))


__all__ = ["Fix", "Offer", "ProposedFix", "fix", "fixes_worth_trying", "mended", "why_not"]
