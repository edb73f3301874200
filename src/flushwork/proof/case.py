"""The case the proof is heard on: every record of one job, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.colour.palette import Palette
from flushwork.findings import Source
from flushwork.fit.reach import Fit
from flushwork.geometry.drawn import DrawnFace, DrawnInlay
from flushwork.job.records import FaceName, Job
from flushwork.plan.schedule import Schedule
from flushwork.plan.stages import Plan
from flushwork.resin.pours import Pour
from flushwork.strata.board import Replay
from flushwork.toolpaths.orders import CutFile


@dataclass(frozen=True, slots=True)
class Case:
    """What the rules look at; none of them changes it."""

    job: Job
    faces: tuple[DrawnFace, ...]
    fits: tuple[Fit, ...]
    plan: Plan
    cut_files: tuple[CutFile, ...]
    replay: Replay
    pours: tuple[Pour, ...]
    palette: Palette
    schedule: Schedule | None = None

    def face(self, name: FaceName) -> DrawnFace:
        """Return one drawn face."""
        return next(face for face in self.faces if face.name == name)

    @property
    def inlays(self) -> tuple[DrawnInlay, ...]:
        """All drawn inlays, front before back."""
        return tuple(drawn for face in self.faces for drawn in face.inlays)

    def fit(self, name: str) -> Fit:
        """Return the fit of an inlay by its name."""
        return next(fit for fit in self.fits if fit.drawn.inlay.name == name)

    def source_of(self, subject: str) -> Source:
        """Return where the job speaks of an inlay, a hole pattern or a mix; else its first line."""
        job = self.job
        places = {mix.name: mix.source for mix in job.mixes}
        places |= {holes.name: holes.source for face in job.faces for holes in face.holes}
        places |= {inlay.name: inlay.source for inlay in job.inlays}
        places["trim line"] = job.outline.source
        return places.get(subject, job.source)
