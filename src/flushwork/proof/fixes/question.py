"""What an idea for a fix is asked about: a finding, and the job it was told of."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from flushwork.findings import Finding, Subject, SubjectKind
from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Holes, Inlay, Job, Mix
from flushwork.proof.fixes.fix import Fix

_Thing = TypeVar("_Thing", Inlay, Holes, Mix)


@dataclass(frozen=True, slots=True)
class Question:
    """A finding and its job, read and drawn."""

    finding: Finding
    job: Job
    faces: Sequence[DrawnFace]

    @property
    def inlay(self) -> Inlay | None:
        """The inlay the finding is told of, where it is one."""
        own = self._named("inlay", self.job.inlays, self.finding.subjects[:1])
        return own[0] if own else None

    @property
    def inlays(self) -> tuple[Inlay, ...]:
        """All inlays the finding stands between, its own first."""
        return self._named("inlay", self.job.inlays, self.finding.subjects)

    @property
    def holes(self) -> tuple[Holes, ...]:
        """All hole patterns the finding stands between, its own first."""
        every = [holes for face in self.job.faces for holes in face.holes]
        return self._named("holes", every, self.finding.subjects)

    @property
    def mixes(self) -> tuple[Mix, ...]:
        """All mixes the finding is told of."""
        return self._named("mix", self.job.mixes, self.finding.subjects)

    @staticmethod
    def _named(
        kind: SubjectKind, things: Sequence[_Thing], subjects: Sequence[Subject]
    ) -> tuple[_Thing, ...]:
        by_name = {each.name: each for each in things}
        names = dict.fromkeys(subject.name for subject in subjects if subject.kind == kind)
        return tuple(by_name[name] for name in names if name in by_name)


Idea = Callable[[Question], Iterator[Fix]]
"""What might take a finding away; each fix is tried before anybody is shown it."""
