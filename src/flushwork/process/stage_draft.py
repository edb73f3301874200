"""The stages of a job as they are laid down, one after the other, in the setups they need."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from flushwork.job.records import FaceName, Job
from flushwork.process.box_steps import BOX_STEPS
from flushwork.process.exposure import airing_after_s
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Stage, StageKind
from flushwork.process.waste import SUBJECT


@dataclass
class StageDraft:
    """Stages as they are laid down, one after the other."""

    job: Job
    planes: Mapping[str, FacePlanes]
    stages: list[Stage] = field(default_factory=list)
    setups: int = 0
    boxed: set[StageKind] = field(default_factory=set)

    def add(
        self,
        kind: StageKind,
        face: FaceName,
        title: str,
        because: str,
        *,
        number: int = 0,
        subjects: tuple[str, ...] = (),
        mix: str = "",
        mounted: bool = False,
        lag_s: float = 0.0,
        layer: int = 1,
    ) -> None:
        """Lay down one stage; where it puts on what burns, the room is aired after it."""
        airing_s = airing_after_s(self.job, kind, mix)
        if kind in (StageKind.SEAL, StageKind.FINISH, StageKind.BOX_COAT):
            lag_s = max(lag_s, airing_s)
        self.stages.append(
            Stage(
                number=len(self.stages) + 1,
                kind=kind,
                face=face,
                round=number,
                title=title,
                because=because,
                subjects=subjects,
                mix=mix,
                setup=self.setups if mounted else 0,
                lag_s=lag_s,
                layer=layer,
                airing_s=airing_s,
            )
        )

    def mount(self, face: FaceName) -> None:
        """Begin another setup: what locates it is let in first of all, then marks are cut."""
        self.setups += 1
        locating = self.job.locating
        if locating is not None and self.setups == 1:
            self.add(
                StageKind.LOCATE,
                face,
                f"Let in the {locating.by}",
                "spoilboard and blank are bored from one zero, so that the blank comes back to it",
                mounted=True,
            )
        if self.job.marks:
            self.add(
                StageKind.MARK,
                face,
                "Cut registration marks into the waste",
                "read in the next setup they tell how it lies and how the wood has grown",
                subjects=(SUBJECT,),
                mounted=True,
            )

    def stay_mounted(self, face: FaceName) -> None:
        """Go on in the setup of the stage before, or begin one for this face."""
        last = self.stages[-1] if self.stages else None
        if last is None or not last.setup or last.face != face:
            self.mount(face)

    def box(self, *kinds: StageKind) -> None:
        """Lay down some of the work on the box, once, where the job has one."""
        box = self.job.box
        for kind in kinds if box is not None else ():
            if box is not None and kind not in self.boxed:
                self.boxed.add(kind)
                title, because = BOX_STEPS[kind]
                lag_s = box.glue_dries_s if kind is StageKind.BOX_GLUE else 0.0
                self.add(kind, "front", title, because, lag_s=lag_s)
