"""A job checked, or a text tried as if it stood in the file: nothing is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from flushwork.built import Build
from flushwork.core.findings import Finding, FlushworkError, JobRefusedError
from flushwork.core.units.shown import METRIC, Units
from flushwork.job.records import Job, sources_of
from flushwork.pipeline import Progress, build
from flushwork.runtime.memo import Memo
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


# ---- One of several parts of a job


class PartError(FlushworkError):
    """The job has no part of that name."""


def part_of(made: Build, name: str) -> Build:
    """Return the build of one of several parts by its name, the first where that is empty.

    Raises PartError where there is none.
    """
    found = next((each for each in made.each if name in ("", each.job.part)), None)
    if found is None:
        raise no_part(name, made.job)
    return found


def no_part(name: str, job: Job) -> PartError:
    """Return what is wrong with a name that no part of a job has."""
    known = ", ".join(each.part for each in job.each if each.part) or "none with a name"
    return PartError(f"the job has no part called {name}; its parts are: {known}")


# ---- A job text tried as if it stood in the file: built and checked in full, nothing written


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a text: all its findings; ``build`` is None where it could not be read.

    ``units`` are those of its shop, as far as they were read.
    """

    findings: tuple[Finding, ...]
    build: Build | None
    units: Units = METRIC


def tried(
    path: Path, text: str, progress: Progress = lambda _: None, memo: Memo | None = None
) -> Tried:
    """Build and check a text in the place of the job file at ``path``."""
    try:
        made = build(path, progress, text=text, memo=memo)
    except JobRefusedError as refused:
        return Tried(refused.findings, None, refused.units)
    return Tried(made.findings, made, made.job.shop.reads)


Try = Callable[[str], Tried]
"""A job text to what comes of it."""
