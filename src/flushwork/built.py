"""The build: everything known about one job, as far as the walk has come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flushwork.art.drawn import Drawn, DrawnFace, DrawnInlay
from flushwork.core.findings import TRIM_LINE, Finding, Source, Subject, SubjectKind
from flushwork.fit.bit_sets import BitSet
from flushwork.fit.reach import Fit
from flushwork.job.records import Edge, FaceName, Hanger, Holes, Inlay, Job, Mix, Pocket
from flushwork.process.stages import Plan
from flushwork.resin.pours import Pour
from flushwork.schedule.schedule import Schedule
from flushwork.schedule.several_parts import PartPoured
from flushwork.strata.palette import Palette
from flushwork.strata.surfaces import Replay
from flushwork.toolpaths.orders import GcodeFile


@dataclass(frozen=True, slots=True)
class Build:
    """Everything known about one job, from its text to its check.

    The rules look at a build that has no findings yet; none of them changes it.  ``gcode_files``
    are in working order; ``findings`` the heaviest first; ``timings_s`` how long each room took.
    ``cut_stages`` are the stages that the G-code files belong to, one for each; ``bit_sets`` the
    bits chosen for each round of cutting that leaves a choice.

    Of a job of several parts this is the first; ``parts`` are the others, each with its own pours,
    and what the days hold for it.  ``run`` are the days of them all (None of an only part; see
    ``all_days``), ``other_pours`` the pours
    of the parts beside this one: a cup of theirs may fill it.
    """

    job: Job
    faces: tuple[DrawnFace, ...]
    fits: tuple[Fit, ...]
    plan: Plan
    gcode_files: tuple[GcodeFile, ...]
    replay: Replay
    palette: Palette
    pours: tuple[Pour, ...] = ()
    findings: tuple[Finding, ...] = ()
    timings_s: tuple[tuple[str, float], ...] = ()
    schedule: Schedule | None = None
    cut_stages: tuple[int, ...] = ()
    bit_sets: tuple[BitSet, ...] = ()
    parts: tuple[Build, ...] = ()
    run: Schedule | None = None
    other_pours: tuple[Pour, ...] = ()

    @property
    def each(self) -> tuple[Build, ...]:
        """All parts of the job, this one first."""
        return (self, *self.parts)

    @property
    def all_days(self) -> Schedule | None:
        """The days of the whole job."""
        return self.run or self.schedule

    @property
    def first(self) -> bool:
        """Whether this is the first part of its job, or the only one."""
        return bool(self.job.parts) or not self.job.part

    @property
    def all_pours(self) -> tuple[Pour, ...]:
        """The pours of the whole job, in the order of their numbers."""
        return tuple(sorted((*self.pours, *self.other_pours), key=lambda pour: pour.number))

    @property
    def staged_files(self) -> dict[int, tuple[GcodeFile, ...]]:
        """The G-code files by the number of their stage."""
        return by_stage(self.cut_stages, self.gcode_files)

    def also_of(self, pour: Pour) -> tuple[str, ...]:
        """Return the names of the parts of the job that a cup fills besides its own."""
        filled = (each.part for each in self.all_pours if each.number in pour.also_fills)
        return tuple(dict.fromkeys(name for name in filled if name != pour.part))

    @property
    def asked(self) -> PartPoured:
        """What this part of a job asks of cups and days."""
        return PartPoured(self.job, self.faces, self.plan, self.replay.poured, self.staged_files)

    @property
    def ok_to_cut(self) -> bool:
        """Whether no ``must fix`` stands."""
        return not any(finding.stands for finding in self.findings)

    def face(self, name: FaceName) -> DrawnFace:
        """Return one drawn face."""
        return next(face for face in self.faces if face.name == name)

    @property
    def things(self) -> tuple[Drawn, ...]:
        """All that bits are fitted to: inlays and pockets left empty, front before back."""
        return tuple(drawn for face in self.faces for drawn in face.things)

    @property
    def parted(self) -> tuple[str, ...]:
        """What the pieces are called that one blank is parted into; empty for a single one."""
        face = self.faces[0]
        count = self.parted_into
        if face.laid is not None:
            return tuple(piece.called for piece in face.laid.pieces)
        return tuple(f"{at} of {count}" for at in range(1, count + 1)) if count > 1 else ()

    @property
    def parted_into(self) -> int:
        """How many pieces one blank is parted into."""
        return len(self.faces[0].trim.geoms) if self.faces else 1

    @property
    def inlays(self) -> tuple[DrawnInlay, ...]:
        """All drawn inlays, front before back."""
        return tuple(drawn for face in self.faces for drawn in face.inlays)

    def fit(self, name: str) -> Fit:
        """Return the fit of an inlay or pocket by its name."""
        return next(fit for fit in self.fits if fit.drawn.thing.name == name)

    def source_of(self, subject: Subject) -> Source:
        """Return where the job speaks of a thing with a name; else its first line."""
        job = self.job
        if subject == TRIM_LINE:
            return job.outline.source
        named: dict[SubjectKind, Sequence[Inlay | Holes | Pocket | Edge | Hanger | Mix]] = {
            "inlay": job.inlays,
            "holes": [holes for face in job.faces for holes in face.holes],
            "pocket": job.pockets,
            "edge": [edge for face in job.faces for edge in face.edges],
            "hanger": [hanger for face in job.faces for hanger in face.hangers],
            "mix": job.mixes,
        }
        things = named.get(subject.kind, ())
        return next((each.source for each in things if each.name == subject.name), job.source)

    def cut_thing(self, name: str) -> Subject:
        """Return what a cut cuts: an inlay, a pocket, holes, the trim line, or a whole face."""
        if name == TRIM_LINE.name:
            return TRIM_LINE
        if any(inlay.name == name for inlay in self.job.inlays):
            return Subject("inlay", name)
        if any(pocket.name == name for pocket in self.job.pockets):
            return Subject("pocket", name)
        if any(edge.name == name for face in self.faces for edge in face.edges):
            return Subject("edge", name)
        if any(hanger.name == name for face in self.faces for hanger in face.hangers):
            return Subject("hanger", name)
        holes = any(holes.name == name for face in self.job.faces for holes in face.holes)
        return Subject("holes" if holes else "stage", name)


def by_stage(stages: Sequence[int], files: Sequence[GcodeFile]) -> dict[int, tuple[GcodeFile, ...]]:
    """Return G-code files by the number of their stage, given one for each."""
    found: dict[int, tuple[GcodeFile, ...]] = {}
    for stage, file in zip(stages, files, strict=True):
        found[stage] = (*found.get(stage, ()), file)
    return found
