"""The base of the few exceptions Flushwork raises on purpose."""

from __future__ import annotations

from collections.abc import Iterable

from flushwork.findings import Finding


class FlushworkError(Exception):
    """Something outside the job is wrong: the environment, or the program itself."""


class JobRefusedError(FlushworkError):
    """The job cannot be read any further; carries the findings that say why.

    Raised by the rooms that turn text into records, caught once, in ``pipeline``.
    """

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings: tuple[Finding, ...] = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))
