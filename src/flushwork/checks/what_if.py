"""What if: keys of the job changed one at a time, and what the check then tells."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flushwork.core.findings import Finding, Severity
from flushwork.job.text.change import changed

Hear = Callable[[str], tuple[Finding, ...]]
"""A job text to its findings, those that refuse it included."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the check tells once a key holds a value: its stops, warnings and notes."""

    value: str
    findings: tuple[Finding, ...]

    def of(self, severity: Severity) -> tuple[Finding, ...]:
        """Return the findings of one weight that nobody has accepted."""
        return tuple(
            item for item in self.findings if item.severity is severity and item.accepted is None
        )


def sweep(text: str, key: str, values: Sequence[str], hear: Hear) -> tuple[Outcome, ...]:
    """Return what the check tells for each value of a key."""
    return tuple(Outcome(value, hear(changed(text, key, value))) for value in values)
