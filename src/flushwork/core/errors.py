"""The base of the few exceptions Flushwork raises on purpose."""

from __future__ import annotations

import copyreg
from collections.abc import Iterable
from typing import Any

from flushwork.core.findings import Finding
from flushwork.core.units.shown import METRIC, Units


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
