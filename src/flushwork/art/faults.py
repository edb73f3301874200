"""Faulty artwork: one finding each, gathered so that the user hears of all of them at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from flushwork.core import words
from flushwork.core.findings import Finding, JobRefusedError, Measure, Severity, Source


@dataclass
class Faults:
    """The findings of one piece of artwork, or of a whole job, as they come up."""

    found: list[Finding] = field(default_factory=list)

    def add(
        self,
        source: Source,
        code: str,
        message: str,
        remedy: str,
        measure: Measure | None = None,
    ) -> None:
        """Note one fault that keeps the job from being read."""
        self.found.append(
            Finding(code, Severity.MUST_FIX, message, remedy, source=source, measure=measure)
        )

    @contextmanager
    def caught(self) -> Iterator[None]:
        """Gather the findings of a refusal in the ``with`` block and go on after it."""
        try:
            yield
        except JobRefusedError as refusal:
            self.found.extend(refusal.findings)

    def refuse(self) -> None:
        """Raise JobRefusedError if anything was found."""
        if self.found:
            raise JobRefusedError(self.found)


def folder_of(path: Path) -> str:
    """Return the folder of a file in words: where its name gives none, it is that of the job."""
    return "the job's folder" if path.parent == Path() else str(path.parent)


def refusal(source: Source, code: str, message: str, remedy: str) -> JobRefusedError:
    """Return the error that refuses artwork for one fault."""
    faults = Faults()
    faults.add(source, code, message, remedy)
    return JobRefusedError(faults.found)


def not_opened(source: Source, code: str, what: str, path: Path, fault: OSError) -> JobRefusedError:
    """Return the error that refuses a drawing or a picture that cannot be opened."""
    reason = "is a folder" if path.is_dir() else "cannot be opened"
    if isinstance(fault, FileNotFoundError):
        reason = "is not there"
    return refusal(
        source,
        code,
        f"the {what} {path.name} {reason} in {folder_of(path)}",
        "put the file beside the job, or correct its name, counted from the job's folder",
    )


def warned(source: Source, code: str, message: str, remedy: str) -> Finding:
    """Return a finding that does not keep the artwork from being used."""
    return Finding(code, Severity.WARNING, message, remedy, source=source)


def listed(names: Iterable[str], most: int = 12) -> str:
    """Return names as words: ``body, wing and eye``; after ``most`` of them only their number."""
    return words.listed(names, most)
