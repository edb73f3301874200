"""A job text tried as if it stood in the file: built and checked in full, nothing written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from flushwork.built import Build
from flushwork.core.errors import JobRefusedError
from flushwork.core.findings import Finding
from flushwork.pipeline import Progress, build
from flushwork.runtime.memo import Memo


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a text: all its findings; ``build`` is None where it could not be read."""

    findings: tuple[Finding, ...]
    build: Build | None


def tried(
    path: Path, text: str, progress: Progress = lambda _: None, memo: Memo | None = None
) -> Tried:
    """Build and check a text in the place of the job file at ``path``."""
    try:
        made = build(path, progress, text=text, memo=memo)
    except JobRefusedError as refused:
        return Tried(refused.findings, None)
    return Tried(made.findings, made)


Try = Callable[[str], Tried]
"""A job text to what comes of it."""
