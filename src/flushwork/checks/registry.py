"""All the rules, in one list, and how their findings become one proof.

The catalogue of findings: what each code means, read from ``docs/findings.md``.

What if: keys of the job changed one at a time, and what the proof then tells.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

from flushwork.built import Build
from flushwork.checks.fixes.text import VaryError, changed
from flushwork.checks.rules.board import (
    border_rules,
    depth_rules,
    face_rules,
    hole_rules,
    look_rules,
    reach_rules,
    seam_rules,
    slip_rules,
    sliver_rules,
    wood_rules,
)
from flushwork.checks.rules.machine import (
    as_cut_rules,
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
    fill_rules,
    hazard_rules,
    log_rules,
    mix_rules,
    order_rules,
    pour_rules,
    schedule_rules,
    stock_rules,
)
from flushwork.core.findings import Finding, Severity, Subject
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.job.records import Job
from flushwork.runtime.pool import map_shared

Rule = Callable[[Build], Iterable[Finding]]


_WEIGHT = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


def prove(build: Build) -> tuple[Finding, ...]:
    """Return what every rule finds, the heaviest first, with the job's acceptances applied."""
    job = build.job
    found = [*job.cautions, *job.shop.cautions]
    found += [finding for face in build.faces for finding in face.cautions]
    for each in map_shared(lambda rule: tuple(rule(build)), RULES):
        found += each
    return judged(build.job, found)


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
    also = f"The same holds at {len(group) - 1} more places"
    words = f"{also}: {shown}{more}." if others else f"{also}."
    return replace(told, message=f"{told.message} {words}")


TOGETHER: Final = 3
"""So many findings of one cause are told as one."""
MOST_NAMED: Final = 8


def _order(finding: Finding) -> tuple[int, str, int]:
    line = finding.source.line if finding.source else 0
    return (_WEIGHT[finding.severity], finding.code, line)


def _accepted(finding: Finding, job: Job) -> Finding:
    if finding.severity is not Severity.STOP or finding.code in NEVER_ACCEPTED:
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
        Finding(
            code="acceptance-refused",
            severity=Severity.CAUTION,
            message=f"The job accepts {acceptance.code}, which no reason lifts: "
            f"{NEVER_ACCEPTED[acceptance.code]}.",
            remedy="Mend what it tells of, and take this line out.",
            subjects=_named(acceptance.subject),
            source=acceptance.source,
        )
        for acceptance in job.accepted
        if acceptance.code in NEVER_ACCEPTED
    ]


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


_HEADING = re.compile(r"^## (?P<code>[a-z0-9-]+)\s*$", re.MULTILINE)
_PART = re.compile(
    r"^\*\*(?P<name>Severity|Cause|Sum|Remedy|Source)\.\*\*\s+(?P<text>.+?)(?=^\*\*|^# |\Z)",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class CatalogueEntry:
    """One code: how heavy, why it arises, the sum behind it, what mends it, where it is from."""

    code: str
    severity: str
    cause: str
    sum: str
    remedy: str
    source: str


def parse_catalogue(text: str) -> dict[str, CatalogueEntry]:
    """Return the entries of a catalogue text by code."""
    marks = list(_HEADING.finditer(text))
    ends = [mark.start() for mark in marks[1:]] + [len(text)]
    result: dict[str, CatalogueEntry] = {}
    for mark, end in zip(marks, ends, strict=True):
        parts = {
            part["name"]: " ".join(part["text"].split())
            for part in _PART.finditer(text[mark.end() : end])
        }
        result[mark["code"]] = CatalogueEntry(
            code=mark["code"],
            severity=parts.get("Severity", ""),
            cause=parts.get("Cause", ""),
            sum=parts.get("Sum", ""),
            remedy=parts.get("Remedy", ""),
            source=parts.get("Source", ""),
        )
    return result


@cache
def catalogue() -> dict[str, CatalogueEntry]:
    """Return the catalogue that came with this program."""
    packaged = files("flushwork") / "findings.md"
    if packaged.is_file():
        return parse_catalogue(packaged.read_text("utf-8"))
    return parse_catalogue(_checkout_page().read_text("utf-8"))


def _checkout_page() -> Path:
    return Path(__file__).resolve().parents[3] / "docs" / "findings.md"


def nearest(code: str) -> str | None:
    """Return the known code that looks most like a mistyped one."""
    close = difflib.get_close_matches(code, catalogue(), n=1)
    return close[0] if close else None


Hear = Callable[[str], tuple[Finding, ...]]
"""A job text to its findings, those that refuse it included."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the proof tells once a key holds a value: its stops, cautions and notes."""

    value: str
    findings: tuple[Finding, ...]

    def of(self, severity: Severity) -> tuple[Finding, ...]:
        """Return the findings of one weight that nobody has accepted."""
        return tuple(
            item for item in self.findings if item.severity is severity and item.accepted is None
        )


def sweep(text: str, key: str, values: Sequence[str], hear: Hear) -> tuple[Outcome, ...]:
    """Return what the proof tells for each value of a key."""
    return tuple(Outcome(value, hear(changed(text, key, value))) for value in values)


__all__ = ["Hear", "Outcome", "VaryError", "changed", "sweep"]


RULES = (
    *slip_rules.RULES,
    *face_rules.RULES,
    *hold_rules.RULES,
    *reach_rules.RULES,
    *border_rules.RULES,
    *sliver_rules.RULES,
    *hole_rules.RULES,
    *depth_rules.RULES,
    *wood_rules.RULES,
    *seam_rules.RULES,
    *order_rules.RULES,
    *order_rules.RULES,
    *hazard_rules.RULES,
    *hazard_rules.RULES,
    *fill_rules.RULES,
    *pour_rules.RULES,
    *file_rules.RULES,
    *imported_rules.RULES,
    *waste_rules.RULES,
    *hold_rules.RULES,
    *feed_rules.RULES,
    *feed_rules.RULES,
    *look_rules.RULES,
    *as_cut_rules.RULES,
    *outline_rules.RULES,
    *motion_rules.RULES,
    *motion_rules.RULES,
    *look_rules.RULES,
    *clock_rules.RULES,
    *mix_rules.RULES,
    *pour_rules.RULES,
    *stock_rules.RULES,
    *stock_rules.RULES,
    *schedule_rules.RULES,
    *schedule_rules.RULES,
    *log_rules.RULES,
)
