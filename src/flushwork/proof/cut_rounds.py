"""Every inlay beside the board as it stood right after the stage that cut it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flushwork.built import Build
from flushwork.geometry.drawn import DrawnFace, DrawnInlay
from flushwork.plan.heights import face_planes, floor_mm
from flushwork.plan.rounds import rounds
from flushwork.plan.stages import StageKind
from flushwork.strata.board import FaceStack


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
        face_rounds = rounds(face)
        planes = face_planes(build.job.allowances, face_rounds)
        for number, together in enumerate(face_rounds, start=1):
            stage = next(
                item
                for item in build.plan.stages
                if item.kind is StageKind.CUT and item.face == face.name and item.round == number
            )
            stack = build.replay.after(stage.number).face(face.name)
            for drawn in together:
                yield JustCut(
                    face,
                    drawn,
                    stack,
                    planes.before_mm(number),
                    floor_mm(drawn.inlay, planes, number),
                )
