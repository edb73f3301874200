"""Everything that is asked of a build before it may be cut, and the check that comes of it.

Each module of rules opens with the question it asks; each of its rules yields what it finds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Final

from flushwork.built import Build
from flushwork.checks.rules.board import (
    border_rules,
    box_rules,
    edge_rules,
    face_rules,
    hanger_rules,
    hole_rules,
    joint_rules,
    look_rules,
    moisture_rules,
    reach_rules,
    seam_rules,
    slip_rules,
    sliver_rules,
    thickness_rules,
)
from flushwork.checks.rules.machine import (
    as_cut_rules,
    clamp_rules,
    feed_rules,
    file_rules,
    hold_rules,
    imported_rules,
    motion_rules,
    outline_rules,
    waste_rules,
)
from flushwork.checks.rules.work import (
    clock_rules,
    cut_list_rules,
    fill_rules,
    hazard_rules,
    log_rules,
    loose_rules,
    mix_rules,
    order_rules,
    pour_rules,
    schedule_rules,
    seal_rules,
    stock_rules,
)
from flushwork.core.findings import Finding, Severity, Source, Subject
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.job.records import Job
from flushwork.runtime.pool import map_shared

# ---- How findings become one check: acceptances applied, those of one cause told once, in order


TOGETHER: Final = 3
"""So many findings of one cause are told as one."""
MOST_NAMED: Final = 8
_WEIGHT: Final = {Severity.MUST_FIX: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def judged(job: Job, found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings with a job's acceptances applied, those of one cause told once, in order."""
    told = [_accepted(finding, job) for finding in dict.fromkeys(found)]
    vain = [*_refused_acceptances(job), *_idle_acceptances(job, told)]
    return tuple(sorted([*told_once(told), *vain], key=_order))


def told_once(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings with those of one cause told once, with a count and their names.

    Findings of one code and weight share a cause where the same words would mend them.  Two stay
    two: each keeps its place.
    """
    alike: dict[tuple[str, Severity, str, str | None], list[Finding]] = {}
    for finding in findings:
        key = (finding.code, finding.severity, finding.remedy, finding.accepted)
        alike.setdefault(key, []).append(finding)
    told: list[Finding] = []
    for group in alike.values():
        told += [_one_of(group)] if len(group) >= TOGETHER else group
    return told


def _one_of(group: Sequence[Finding]) -> Finding:
    told = replace(group[0], told_with=tuple(group[1:]))
    others = told.also
    shown = ", ".join(others[:MOST_NAMED])
    more = f" and {len(others) - MOST_NAMED} more" if len(others) > MOST_NAMED else ""
    also = f"It is the same at {len(group) - 1} more places"
    words = f"{also}: {shown}{more}." if others else f"{also}."
    return replace(told, message=f"{told.message} {words}")


def _order(finding: Finding) -> tuple[int, str, int]:
    line = finding.source.line if finding.source else 0
    return (_WEIGHT[finding.severity], finding.code, line)


def _accepted(finding: Finding, job: Job) -> Finding:
    if finding.severity is not Severity.MUST_FIX or finding.code in NEVER_ACCEPTED:
        return finding
    for acceptance in job.accepted:
        if acceptance.code == finding.code and acceptance.subject in ("", finding.subject):
            return replace(finding, accepted=acceptance.because)
    return finding


def _named(name: str) -> tuple[Subject, ...]:
    return (Subject("name", name),) if name else ()


def _refused_acceptances(job: Job) -> list[Finding]:
    """Tell, at its line, of each acceptance of what can hurt someone whatever the reason."""
    return [
        Finding.warning(
            "acceptance-refused",
            message=f"The job accepts {acceptance.code}, which no reason lifts: "
            f"{NEVER_ACCEPTED[acceptance.code]}.",
            remedy="Fix what it tells of, and take this line out.",
            subjects=_named(acceptance.subject),
            source=acceptance.source,
        )
        for acceptance in job.accepted
        if acceptance.code in NEVER_ACCEPTED
    ]


def _idle_acceptances(job: Job, findings: Iterable[Finding]) -> list[Finding]:
    """Tell of acceptances that accept nothing: a slip of the pen, or a trouble long fixed."""
    stops = {(item.code, item.subject) for item in findings if item.severity is Severity.MUST_FIX}
    return [
        Finding.note(
            "acceptance-idle",
            message=f"The job accepts {acceptance.code}, but no such finding was found"
            + (f" for {acceptance.subject}." if acceptance.subject else "."),
            remedy="Take the line out, so that it hides nothing later.",
            subjects=_named(acceptance.subject),
            source=acceptance.source,
        )
        for acceptance in job.accepted
        if acceptance.code not in NEVER_ACCEPTED
        and not any(
            acceptance.code == code and acceptance.subject in ("", subject)
            for code, subject in stops
        )
    ]


# ---- Everything that is asked of a build before it may be cut, and what comes of the asking


Rule = Callable[[Build], Iterable[Finding]]

BOARD: Final[tuple[Rule, ...]] = (
    *slip_rules.RULES,
    *face_rules.RULES,
    *reach_rules.RULES,
    *border_rules.RULES,
    *edge_rules.RULES,
    *hanger_rules.RULES,
    *sliver_rules.RULES,
    *hole_rules.RULES,
    *thickness_rules.RULES,
    *moisture_rules.RULES,
    *joint_rules.RULES,
    *seam_rules.RULES,
    *look_rules.RULES,
    *box_rules.RULES,
)
"""Is the board as drawn one that wood can be, and does it come out as drawn?"""

WORK: Final[tuple[Rule, ...]] = (
    *seal_rules.RULES,
    *order_rules.RULES,
    *hazard_rules.RULES,
    *fill_rules.RULES,
    *clock_rules.RULES,
    *mix_rules.RULES,
    *pour_rules.RULES,
    *stock_rules.RULES,
    *cut_list_rules.RULES,
    *schedule_rules.RULES,
    *log_rules.RULES,
    *loose_rules.RULES,
)
"""Can a person make it, with these resins, on these days, and come to no harm?"""

MACHINE: Final[tuple[Rule, ...]] = (
    *hold_rules.RULES,
    *clamp_rules.RULES,
    *file_rules.RULES,
    *imported_rules.RULES,
    *waste_rules.RULES,
    *feed_rules.RULES,
    *as_cut_rules.RULES,
    *outline_rules.RULES,
    *motion_rules.RULES,
)
"""Do the files cut just that, with nothing in their way that they would break?"""

RULES: Final[tuple[Rule, ...]] = (*BOARD, *WORK, *MACHINE)


def of_all_parts(first: Sequence[Finding], parts: Sequence[Build]) -> tuple[Finding, ...]:
    """Return what is found in the parts of a job, the heaviest first, once where it is of them all.

    What is found in another part than the first begins with its name.
    """
    known = {_of_the_job(item) for item in first}
    told = list(first)
    for build in parts:
        name = build.job.part
        told += [
            _named_after(item, name) for item in build.findings if _of_the_job(item) not in known
        ]
    return tuple(sorted(told, key=_order))


def _of_the_job(finding: Finding) -> tuple[str, str, Source | None]:
    """Return what a finding is known by; one of the whole run is of no part and no line."""
    of_a_thing = bool(finding.subjects or finding.place)
    return finding.code, finding.message, finding.source if of_a_thing else None


def _named_after(finding: Finding, part: str) -> Finding:
    with_ = tuple(_named_after(each, part) for each in finding.told_with)
    return replace(finding, message=f"{part}: {finding.message}", part=part, told_with=with_)


def run_checks(build: Build) -> tuple[Finding, ...]:
    """Return what every rule finds, the heaviest first, with the job's acceptances applied."""
    job = build.job
    found = [*job.warnings, *job.shop.warnings]
    found += [finding for face in build.faces for finding in face.warnings]
    for each in map_shared(lambda rule: tuple(rule(build)), RULES):
        found += each
    return judged(job, found)
