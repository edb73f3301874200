"""A fix: what to write into the job, and how dear that is."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.findings import Finding
from flushwork.job.records import Holes, Inlay, Job
from flushwork.units import down_mm, number_text, up_mm

Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Edit:
    """One key of the job and what to write there; without a value the key is taken out.

    An item of a list goes by its name, or by its number from 1 where it has none.
    """

    path: Path
    value: str | None

    @property
    def key(self) -> str:
        """The key as it is typed: its steps with dots between."""
        return ".".join(self.path)

    def __str__(self) -> str:
        """Return the edit as a person would say it."""
        return f"{self.key}: {self.value}" if self.value is not None else f"{self.key} taken out"


@dataclass(frozen=True, slots=True)
class Fix:
    """Edits made together, and their cost: 0 for a stroke of the pen, 3 for more wood."""

    edits: tuple[Edit, ...]
    cost: int = 0

    def __str__(self) -> str:
        """Return all edits as a person would say them."""
        return "; ".join(str(edit) for edit in self.edits)


def fix(path: Path, value: str | None, cost: int = 0) -> Fix:
    """Return a fix of one edit."""
    return Fix((Edit(path, value),), cost)


def inlay_path(job: Job, inlay: Inlay, *rest: str) -> Path:
    """Return the path of a key of an inlay."""
    number = job.face(inlay.face).inlays.index(inlay)
    named = f"{inlay.face}.inlays.{number}.name" in job.given
    return (inlay.face, "inlays", inlay.name if named else str(number + 1), *rest)


def holes_path(job: Job, holes: Holes, *rest: str) -> Path:
    """Return the path of a key of a hole pattern."""
    number = job.face(holes.face).holes.index(holes)
    named = f"{holes.face}.holes.{number}.name" in job.given
    return (holes.face, "holes", holes.name if named else str(number + 1), *rest)


def short_mm(finding: Finding) -> float:
    """Return by how much a finding's figure misses its limit, in its own unit."""
    measure = finding.measure
    return abs(measure.value - measure.limit) if measure and measure.limit is not None else 0.0


def down(value_mm: float) -> str:
    """Return a length in words, rounded down to a hundredth."""
    return f"{number_text(float(down_mm(value_mm)))} mm"


def up(value_mm: float) -> str:
    """Return a length in words, rounded up to a hundredth."""
    return f"{number_text(float(up_mm(value_mm)))} mm"
