"""A job's text that is being added to: what it says so far, drawn, and how values are written."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.core.units import number_text
from flushwork.core.units.kinds import INCH_MM
from flushwork.shelf.equipment import BitKind
from flushwork.usecases.jobs import preread

if TYPE_CHECKING:
    from flushwork.art.drawn import Begun, DrawnFace
    from flushwork.job.records import FaceName, Job
    from flushwork.shelf.equipment import Bit

DEPTH_MM: Final = 2.0
"""Of a first inlay (common practice, no source): flakes lie flat in it, and one pour fills it."""
FINE_MM: Final = 1.0
"""A fine bit, where a shop has none that plunges (assumed)."""
PEG_MM: Final = 3.175
"""Pegs of 1/8 in are sold everywhere (common practice, no source)."""
LONGEST_NAME: Final = 40


@dataclass(frozen=True, slots=True)
class Bench:
    """A text that is being added to: its job, the face it goes on, the units it is written in."""

    path: Path
    text: str
    job: Job
    face: DrawnFace
    inch: bool
    names: set[str] = field(default_factory=set)

    @property
    def narrow_mm(self) -> float:
        """The narrower side of what is seen of the board."""
        x0, y0, x1, y1 = self.face.visible.bounds
        return float(min(x1 - x0, y1 - y0))

    def long(self, mm: float) -> str:
        """Return a length as it is written."""
        return written(mm, inch=self.inch)

    def about(self, mm: float) -> str:
        """Return a round length near one, as it is written."""
        step = INCH_MM / 50.0 if self.inch else 0.5
        return self.long(max(1.0, round(mm / step)) * step)

    def named(self, name: str) -> str:
        """Return a name that nothing of the job has yet, and take it."""
        plain = " ".join(name.split())[:LONGEST_NAME].strip() or "inlay"
        taken = self.names | {
            each
            for face in self.job.faces
            for things in (face.inlays, face.holes, face.pockets, face.edges)
            for each in [thing.name for thing in things]
        }
        found = next(
            each
            for each in (plain, *(f"{plain} {number}" for number in range(2, 1000)))
            if each not in taken
        )
        self.names.add(found)
        return found

    def depth_mm(self) -> float:
        """Return the depth of the last inlay on this face; of a first one what is usual."""
        inlays = self.job.face(self.face.name).inlays
        return inlays[-1].depth_mm if inlays else min(DEPTH_MM, self.job.blank.thickness_mm / 4.0)

    def depth(self) -> str:
        """Return that depth as it is written, a first one round."""
        bare = not self.job.face(self.face.name).inlays
        return (self.about if bare else self.long)(self.depth_mm())

    def finest_mm(self) -> float:
        """Return how wide the finest flat bit of the shop is."""
        return min((each.diameter_mm for each in self.flat()), default=FINE_MM)

    def hole(self, deep_mm: float) -> str:
        """Return the diameter of a bit of the shop that drills so deep, nearest to a peg's."""
        able = [each.diameter_mm for each in self.flat(drills=True) if each.flute_mm >= deep_mm]
        wide = min(able, key=lambda mm: abs(mm - PEG_MM), default=PEG_MM)
        return self.long(wide) if self.inch else f"{number_text(wide, 3)} mm"

    def flat(self, *, drills: bool = False) -> list[Bit]:
        """Return the shop's bits that plunge and leave a flat floor, its drills too if wanted."""
        return [
            each
            for each in self.job.shop.bits
            if (each.kind is BitKind.FLAT and each.plunges)
            or (drills and each.kind is BitKind.DRILL)
        ]


def written(mm: float, *, inch: bool) -> str:
    """Return a length as it is written in a job file."""
    return f"{number_text(mm / INCH_MM, 3)} in" if inch else f"{number_text(mm, 2)} mm"


def bench_of(job_file: Path | str, text: str, face: FaceName, *, inch: bool) -> Bench:
    """Return what is added to; raises JobRefusedError where the text cannot be read."""
    job, faces = begun(job_file, text)
    drawn = next(each for each in faces if each.name == face)
    return Bench(Path(job_file), text, job, drawn, inch)


def begun(job_file: Path | str, text: str) -> Begun:
    """Return a job and its faces; of a plank those of one piece by itself.

    Raises JobRefusedError where the text cannot be read.
    """
    job, faces = preread(job_file, text)
    if job.plank is None:
        return job, faces
    from flushwork.art.draw import draw_faces  # noqa: PLC0415
    from flushwork.art.planks import one_piece  # noqa: PLC0415

    return job, draw_faces(one_piece(job))
