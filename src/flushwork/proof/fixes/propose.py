"""The cheapest change that takes a stop or a caution away, tried on the proof itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from flushwork.findings import Finding, Severity, Subject
from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.proof.fixes import depths, fills, shapes, whole
from flushwork.proof.fixes.by_hand import why_not
from flushwork.proof.fixes.fix import Fix
from flushwork.proof.fixes.question import Idea, Question
from flushwork.proof.fixes.text import VaryError, applied
from flushwork.proof.vary import Hear

MOST_TRIED: Final = 8
IDEAS: Final[dict[str, Idea]] = depths.IDEAS | fills.IDEAS | shapes.IDEAS | whole.IDEAS
WEIGHTS: Final = {Severity.NOTE: 0, Severity.CAUTION: 1, Severity.STOP: 2}


@dataclass(frozen=True, slots=True)
class ProposedFix:
    """A finding, the cheapest fix found for it, how many were tried, and why there is none.

    ``fix`` is None where none of those tried takes the finding away without raising another;
    ``why`` says so then, or why no change of the job could.
    """

    finding: Finding
    fix: Fix | None
    tried: int
    why: str = ""


def propose(
    text: str,
    job: Job,
    faces: Sequence[DrawnFace],
    findings: Sequence[Finding],
    hear: Hear,
    only: str = "",
) -> tuple[ProposedFix, ...]:
    """Return what is proposed for each stop and caution that stands.

    ``only`` keeps to the findings of one code.  Each fix proposed has been heard: with it the
    finding is gone, and nothing weighs more than it did before.
    """
    return tuple(
        _proposal(text, Question(finding, job, faces), findings, hear)
        for finding in findings
        if finding.severity is not Severity.NOTE
        and finding.accepted is None
        and (not only or finding.code == only)
    )


def _proposal(text: str, asked: Question, findings: Sequence[Finding], hear: Hear) -> ProposedFix:
    finding = asked.finding
    fixes = fixes_for(asked)
    for number, each in enumerate(fixes, start=1):
        if holds(text, each, finding, findings, hear):
            return ProposedFix(finding, each, number)
    return ProposedFix(finding, None, len(fixes), why_not(finding, len(fixes)))


def fixes_for(asked: Question) -> tuple[Fix, ...]:
    """Return the fixes worth trying, the cheapest first and no two alike; none has been tried."""
    idea = IDEAS.get(asked.finding.code)
    found = dict.fromkeys((*_together(asked, idea), *idea(asked))) if idea is not None else {}
    return tuple(sorted(found, key=lambda each: each.cost))[:MOST_TRIED]


def _together(asked: Question, idea: Idea) -> Iterator[Fix]:
    """Yield, for a finding told of several places at once, the same done at each of them."""
    if not asked.finding.told_with:
        return
    places = [tuple(idea(replace(asked, finding=each))) for each in asked.finding.each]
    for alike in zip(*places, strict=False):
        edits = dict.fromkeys(edit for each in alike for edit in each.edits)
        if len({edit.path for edit in edits}) == len(edits):
            yield Fix(tuple(edits), max(each.cost for each in alike))


def holds(text: str, fix: Fix, finding: Finding, findings: Sequence[Finding], hear: Hear) -> bool:
    """Return whether a fix takes a finding away and makes nothing else weigh more than before."""
    try:
        after = hear(applied(text, fix))
    except VaryError:
        return False
    return mended(finding, findings, after)


def mended(finding: Finding, before: Sequence[Finding], after: Sequence[Finding]) -> bool:
    """Return whether a finding is gone and nothing weighs more than it did before."""
    now, was = weights(after), weights(before)
    gone = all(key not in now for key in _keys(finding))
    return gone and all(was.get(key, 0) >= weight for key, weight in now.items())


def weights(findings: Sequence[Finding]) -> dict[tuple[str, Subject | None], int]:
    """Return how much each stop and caution that stands weighs, by code and subject."""
    told: dict[tuple[str, Subject | None], int] = {}
    for item in findings:
        if item.severity is Severity.NOTE or item.accepted is not None:
            continue
        for key in _keys(item):
            told[key] = max(told.get(key, 0), WEIGHTS[item.severity])
    return told


def _keys(finding: Finding) -> list[tuple[str, Subject | None]]:
    """Return a finding's code with everything it is told of; with nothing where that is nothing."""
    return [(finding.code, subject) for subject in finding.own or (None,)]
