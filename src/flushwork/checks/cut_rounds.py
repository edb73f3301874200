"""Every inlay beside the board as it stood right after the stage that cut it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.built import Build
from flushwork.checks.expected_heights import floor_mm, wood_mm
from flushwork.checks.stage_of import stages_of
from flushwork.job.records import FaceName
from flushwork.process.stages import Stage, StageKind
from flushwork.strata.surfaces import FaceStack


@dataclass(frozen=True, slots=True)
class JustCut:
    """An inlay just cut: its face's stack then, the wood's height, the floor that was meant."""

    face: DrawnFace
    drawn: DrawnInlay
    stack: FaceStack
    wood_mm: float
    floor_mm: float


def just_cut(build: Build) -> Iterator[JustCut]:
    """Yield every inlay of a job after its own cut, face by face, round by round."""
    for face in build.faces:
        for stage in cut_stages(build, face.name):
            stack = build.replay.after(stage.number).face(face.name)
            standing_mm = wood_mm(build, face.name, stage.number)
            for drawn in cut_in(face, stage):
                yield JustCut(face, drawn, stack, standing_mm, floor_mm(build, drawn.inlay, stage))


def cut_stages(build: Build, face: FaceName) -> tuple[Stage, ...]:
    """Return the stages that cut the inlays of a face, round by round."""
    return tuple(each for each in stages_of(build, StageKind.CUT) if each.face == face)


def cut_in(face: DrawnFace, stage: Stage) -> tuple[DrawnInlay, ...]:
    """Return the inlays of a face that a stage cuts."""
    return tuple(each for each in face.inlays if each.inlay.name in stage.subjects)
