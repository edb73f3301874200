"""Stages and setups, and where the wood of a face stands when a stage begins."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from flushwork.job.records import FaceName
from flushwork.process.rounds import FacePlanes
from flushwork.shelf.items import Holding


class StageKind(StrEnum):
    """The steps of the trade."""

    ROUGH = "rough"
    GLUE = "glue"
    SURFACE = "surface"
    LOCATE = "locate"
    MARK = "mark"
    CUT = "cut"
    SEAL = "seal"
    FILL = "fill"
    CURE = "cure"
    CAP = "cap"
    MILL_FLUSH = "mill flush"
    SAND = "sand"
    SHAPE = "shape"
    DRILL = "drill"
    TRIM = "trim"
    FINISH = "finish"
    BOX_SAW = "saw box"
    BOX_GLUE = "glue box"
    BOX_FIT = "fit box"
    BOX_COAT = "coat box"


BOX_WORK: Final = (StageKind.BOX_SAW, StageKind.BOX_GLUE, StageKind.BOX_FIT, StageKind.BOX_COAT)
"""What is done to the box, by hand and at the saw, while nothing is done to the board."""
POURING: Final = (StageKind.FILL, StageKind.CAP)


@dataclass(frozen=True, slots=True)
class Stage:
    """One step of the process on all pieces.

    ``round`` counts cut-fill-cure-mill rounds of a face from 1 (0 where none applies).
    ``subjects`` are inlays, hole patterns or what stays empty; ``mix`` what is poured; ``setup``
    the number of the setup it is cut in, 0 for hand work.  ``lag_s`` is the least wait after it
    (cure), ``because`` why it stands where it does.  ``layer`` counts the pours of a fill that goes
    in by several, from 1.  ``airing_s`` is how long the room is aired after it before anything hot
    or sparking runs, 0 where nothing gives off vapour that burns.
    """

    number: int
    kind: StageKind
    face: FaceName
    round: int
    title: str
    because: str
    subjects: tuple[str, ...] = ()
    mix: str = ""
    setup: int = 0
    lag_s: float = 0.0
    layer: int = 1
    airing_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Setup:
    """One time a face is held on the machine: its stages, how it is held, zeroed and turned.

    ``face_z_mm`` is the height of the wood of that face as it then stands, ``stands_mm`` the
    thickness of the blank at that moment.  ``marks`` are the registration marks it cuts first,
    ``reads`` the number of the setup whose marks are read in it (0 for none), ``recesses`` the
    dowels or discs it stands on or lets in, all in the face's frame.
    """

    number: int
    face: FaceName
    holding: Holding
    stages: tuple[int, ...]
    origin_mm: tuple[float, float]
    face_z_mm: float
    stands_mm: float
    turned: bool
    marks: tuple[tuple[float, float], ...] = ()
    reads: int = 0
    recesses: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The stages in working order, the setups they need, the rounds and planes of each face."""

    stages: tuple[Stage, ...]
    setups: tuple[Setup, ...]
    planes: tuple[FacePlanes, ...] = ()

    def stage(self, number: int) -> Stage:
        """Return a stage by its number (they count from 1)."""
        return self.stages[number - 1]

    def setup(self, number: int) -> Setup:
        """Return a setup by its number."""
        return next(each for each in self.setups if each.number == number)

    def on(self, face: FaceName) -> FacePlanes:
        """Return the rounds and planes of a face."""
        return next(each for each in self.planes if each.face == face)

    def standing_mm(self, stage: Stage) -> float:
        """Return where the wood of a mounted face stands when a stage begins.

        What is drilled or trimmed before a sanding, as the job insists, begins on what that will
        take.
        """
        planes = self.on(stage.face)
        if stage.kind in (StageKind.LOCATE, StageKind.MARK):
            return self.setup(stage.setup).face_z_mm
        if stage.kind in (StageKind.CUT, StageKind.MILL_FLUSH):
            return planes.before_mm(stage.round)
        sanded = [
            each.round
            for each in self.stages[: stage.number - 1]
            if each.kind is StageKind.SAND and each.face == stage.face
        ]
        return planes.rounds_mm[max(sanded) - 1] if sanded else planes.flat_mm
