"""All the rules, in one list, and how their findings become one proof."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from flushwork.findings import Finding, Severity
from flushwork.job.records import Job
from flushwork.proof import (
    border_rules,
    brought_rules,
    clock_rules,
    cut_rules,
    depth_rules,
    face_rules,
    feed_rules,
    fill_rules,
    hole_rules,
    intent_rules,
    look_rules,
    mix_rules,
    odds_rules,
    order_rules,
    pour_rules,
    reach_rules,
    resin_rules,
    schedule_rules,
    seam_rules,
    slip_rules,
    sliver_rules,
    stray_rules,
    waste_rules,
    wood_rules,
)
from flushwork.proof.case import Case

Rule = Callable[[Case], Iterable[Finding]]

RULES: tuple[Rule, ...] = (
    *slip_rules.RULES,
    *face_rules.RULES,
    *reach_rules.RULES,
    *border_rules.RULES,
    *sliver_rules.RULES,
    *hole_rules.RULES,
    *depth_rules.RULES,
    *wood_rules.RULES,
    *seam_rules.RULES,
    *order_rules.RULES,
    *clock_rules.RULES,
    *fill_rules.RULES,
    *mix_rules.RULES,
    *resin_rules.RULES,
    *cut_rules.RULES,
    *brought_rules.RULES,
    *waste_rules.RULES,
    *feed_rules.RULES,
    *intent_rules.RULES,
    *stray_rules.RULES,
    *pour_rules.RULES,
    *odds_rules.RULES,
    *look_rules.RULES,
    *schedule_rules.RULES,
)

_WEIGHT = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


def prove(case: Case) -> tuple[Finding, ...]:
    """Return what every rule finds, the heaviest first, with the job's acceptances applied."""
    found = [finding for face in case.faces for finding in face.cautions]
    found += [finding for rule in RULES for finding in rule(case)]
    told = [_accepted(finding, case.job) for finding in dict.fromkeys(found)]
    return tuple(sorted([*told, *_idle_acceptances(case.job, told)], key=_order))


def _order(finding: Finding) -> tuple[int, str, int]:
    line = finding.source.line if finding.source else 0
    return (_WEIGHT[finding.severity], finding.code, line)


def _accepted(finding: Finding, job: Job) -> Finding:
    if finding.severity is not Severity.STOP:
        return finding
    for acceptance in job.accepted:
        if acceptance.code == finding.code and acceptance.subject in ("", finding.subject):
            if finding.code in NEVER_ACCEPTED:
                return finding
            return replace(finding, accepted=acceptance.because)
    return finding


NEVER_ACCEPTED = frozenset({"cutter-cannot-pass", "flame-near-solvent"})
"""A cut that cannot be made stays unmade, and fire is no matter of opinion."""


def _idle_acceptances(job: Job, findings: Iterable[Finding]) -> list[Finding]:
    """Tell of acceptances that accept nothing: a slip of the pen, or a trouble long mended."""
    stops = {(item.code, item.subject) for item in findings if item.severity is Severity.STOP}
    return [
        Finding(
            code="acceptance-idle",
            severity=Severity.NOTE,
            message=f"The job accepts {acceptance.code}, but no such stop was found"
            + (f" for {acceptance.subject}." if acceptance.subject else "."),
            remedy="Take the line out, so that it hides nothing later.",
            subject=acceptance.subject,
            source=acceptance.source,
        )
        for acceptance in job.accepted
        if not any(
            acceptance.code == code and acceptance.subject in ("", subject)
            for code, subject in stops
        )
    ]
