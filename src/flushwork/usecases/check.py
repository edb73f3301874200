"""A job checked: nothing is written, and a build that stands already is held against it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flushwork.built import Build
from flushwork.core.findings import Finding
from flushwork.job.sources import sources_of
from flushwork.pipeline import Progress, build
from flushwork.store import standing_findings


@dataclass(frozen=True, slots=True)
class Checked:
    """A build and all its findings, those of the folder it was written to before included."""

    build: Build
    findings: tuple[Finding, ...]

    @property
    def ok_to_cut(self) -> bool:
        """Whether no ``must fix`` stands."""
        return self.build.ok_to_cut


def build_folder(path: Path | str, out: Path | None = None) -> Path:
    """Return the folder that the build of a job stands in, by default beside the job."""
    path = Path(path)
    return out if out is not None else path.parent / f"{path.stem} built"


def check(
    path: Path | str, progress: Progress = lambda _: None, *, out: Path | None = None
) -> Checked:
    """Build and check a job, and see whether the build that stands in ``out`` is still its own.

    Raises JobRefusedError, with findings, where the job or its artwork cannot be read.
    """
    path = Path(path)
    made = build(path, progress)
    standing = standing_findings(build_folder(path, out), sources_of(made.job, path))
    return Checked(made, (*made.findings, *standing))
