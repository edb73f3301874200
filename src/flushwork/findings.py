"""The finding: one record for everything the user has to be told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs: ``stop`` keeps cut files from being written."""

    STOP = "stop"
    CAUTION = "caution"
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


@dataclass(frozen=True, slots=True)
class Finding:
    """What, where, by how much, why, and what would mend it.

    ``code`` names the rule and its entry in ``docs/findings.md``.  ``subject`` names the inlay,
    hole pattern, cutter or mix at stake.  ``accepted`` holds the user's reason where the job
    accepts a ``stop`` by name.  ``also`` names further subjects that the same is told of, and
    ``told_with`` holds the findings at those further places as they were found; ``between`` names
    what else the finding stands between (the inlay behind a thin web).
    """

    code: str
    severity: Severity
    message: str
    remedy: str
    subject: str = ""
    source: Source | None = None
    place: Place | None = None
    measure: Measure | None = None
    accepted: str | None = None
    also: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    told_with: tuple[Finding, ...] = ()

    @property
    def each(self) -> tuple[Finding, ...]:
        """This finding at every place it is told of, one for each."""
        return (replace(self, also=(), told_with=()), *self.told_with)

    @property
    def stands(self) -> bool:
        """Whether this finding keeps cut files from being written."""
        return self.severity is Severity.STOP and self.accepted is None
