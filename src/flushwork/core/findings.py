"""The finding: one record for all that a user has to be told; the exceptions that carry it."""

from __future__ import annotations

import copyreg
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final, Literal, TypedDict, Unpack

from flushwork.core.units.shown import METRIC, Units


class Severity(StrEnum):
    """How much a finding weighs: ``must fix`` keeps G-code files from being written."""

    MUST_FIX = "must fix"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Source:
    """A place in a text the user wrote: file, line and column from 1, dotted key."""

    file: str
    line: int
    column: int
    key: str

    def __str__(self) -> str:
        """Return ``file:line: key``, the form every message shows."""
        return f"{self.file}:{self.line}: {self.key}" if self.key else f"{self.file}:{self.line}"


@dataclass(frozen=True, slots=True)
class Place:
    """A place on a face, in mm of that face's own frame (see ``docs/architecture.md``)."""

    face: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Measure:
    """The figure a finding turns on, and the limit it was held against, in ``unit``."""

    name: str
    value: float
    limit: float | None
    unit: str


SubjectKind = Literal[
    "inlay",
    "holes",
    "pocket",
    "edge",
    "hanger",
    "mix",
    "material",
    "bit",
    "file",
    "drawing",
    "stage",
    "face",
    "blank",
    "trim line",
    "holding",
    "keep out",
    "key",
    "name",
]
"""What a finding may be told of: a ``material`` is anything on the shelf that is poured, brushed or
bought; a ``key`` a part of the job file with no name of its own; a ``name`` one the user wrote that
the job does not have, or that may be of any kind."""


@dataclass(frozen=True, slots=True)
class Subject:
    """A thing that a finding is told of: two things of one name are told apart by their kind."""

    kind: SubjectKind
    name: str


BLANK: Final = Subject("blank", "blank")
TRIM_LINE: Final = Subject("trim line", "trim line")


class FoundAt(TypedDict, total=False):
    """What a finding may say of its things, its place and its figure."""

    subjects: tuple[Subject, ...]
    source: Source | None
    place: Place | None
    measure: Measure | None


@dataclass(frozen=True, slots=True)
class Finding:
    """What, where, by how much, why, and what would mend it.

    ``code`` names the rule and its entry in ``docs/findings.md``.  ``subjects`` are what is at
    stake: the finding's own first, then what else it stands between (the inlay behind thin wood
    between the faces).  ``accepted`` holds the user's reason where the job accepts a ``must fix``
    by name.  ``part`` is which of several parts of the job it is of, where that is not the first.
    ``told_with`` holds the findings of the same cause at other places, as they were
    found.
    """

    code: str
    severity: Severity
    message: str
    remedy: str
    subjects: tuple[Subject, ...] = ()
    source: Source | None = None
    place: Place | None = None
    measure: Measure | None = None
    accepted: str | None = None
    told_with: tuple[Finding, ...] = ()
    part: str = ""

    @classmethod
    def must_fix(cls, code: str, message: str, remedy: str, **at: Unpack[FoundAt]) -> Finding:
        """Return a finding that keeps G-code files from being written."""
        return cls(code, Severity.MUST_FIX, message, remedy, **at)

    @classmethod
    def warning(cls, code: str, message: str, remedy: str, **at: Unpack[FoundAt]) -> Finding:
        """Return a finding that a careful person mends."""
        return cls(code, Severity.WARNING, message, remedy, **at)

    @classmethod
    def note(cls, code: str, message: str, remedy: str, **at: Unpack[FoundAt]) -> Finding:
        """Return a finding that is good to know."""
        return cls(code, Severity.NOTE, message, remedy, **at)

    @property
    def subject(self) -> str:
        """The name of what the finding is told of; empty where it is of nothing that has one."""
        return self.subjects[0].name if self.subjects else ""

    @property
    def told_of(self) -> tuple[Subject, ...]:
        """What this finding is told of, and those it is told with; no one twice."""
        return tuple(dict.fromkeys(each.subjects[0] for each in self.each if each.subjects))

    @property
    def also(self) -> tuple[str, ...]:
        """The names of the further subjects that the same is told of."""
        names = dict.fromkeys(each.subject for each in self.told_with)
        return tuple(name for name in names if name not in ("", self.subject))

    @property
    def each(self) -> tuple[Finding, ...]:
        """This finding at every place it is told of, one for each."""
        return (replace(self, told_with=()), *self.told_with)

    @property
    def stands(self) -> bool:
        """Whether this finding keeps G-code files from being written."""
        return self.severity is Severity.MUST_FIX and self.accepted is None


# ---- The base of the few exceptions Flushwork raises on purpose


class FlushworkError(Exception):
    """Something outside the job is wrong: the environment, or the program itself."""

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel between processes as it is, not made anew of its words."""
        return copyreg.__newobj__, (type(self), *self.args), self.__dict__  # type: ignore[attr-defined]


class JobRefusedError(FlushworkError):
    """The job cannot be read any further; carries the findings that say why.

    Raised by the rooms that turn text into records, caught once, in ``pipeline``.  ``units`` are
    those of the shop, as far as its file could be read.
    """

    def __init__(self, findings: Iterable[Finding], units: Units = METRIC) -> None:
        self.units = units
        self.findings: tuple[Finding, ...] = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))
