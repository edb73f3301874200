"""What an idea for a fix is asked about: a finding, and the job it was told of."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from flushwork.findings import Finding
from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Holes, Inlay, Job
from flushwork.proof.fixes.fix import Fix, holes_of, inlay_of


@dataclass(frozen=True, slots=True)
class Question:
    """A finding and its job, read and drawn."""

    finding: Finding
    job: Job
    faces: Sequence[DrawnFace]

    @property
    def inlay(self) -> Inlay | None:
        """The inlay the finding is told of, where it is one."""
        return inlay_of(self.job, self.finding.subject)

    @property
    def inlays(self) -> tuple[Inlay, ...]:
        """All inlays the finding stands between, its own first."""
        names = dict.fromkeys((self.finding.subject, *self.finding.between))
        return tuple(item for name in names if (item := inlay_of(self.job, name)) is not None)

    @property
    def holes(self) -> tuple[Holes, ...]:
        """All hole patterns the finding stands between, its own first."""
        names = dict.fromkeys((self.finding.subject, *self.finding.between))
        return tuple(item for name in names if (item := holes_of(self.job, name)) is not None)


Idea = Callable[[Question], Iterator[Fix]]
"""What might take a finding away; each fix is tried before anybody is shown it."""
