"""Where wood, floors and resin shall stand, added up from the job and the work that is done.

The G-code files and the replay are made with the heights of the plan (``process/rounds``).  What
they come to is held against these, which owe nothing to them: all that the stages take off a face,
one after the other.  A slip in the sums of the plan is a difference then, not an agreement.
"""

from __future__ import annotations

from flushwork.built import Build
from flushwork.job.records import Allowances, FaceName, Inlay, Job, MeasuredFrom
from flushwork.process.stages import Stage, StageKind


def taken_mm(job: Job, stage: Stage) -> float:
    """Return how much wood a stage takes off its whole face, in mm."""
    given = job.allowances
    if stage.kind is StageKind.MILL_FLUSH:
        return given.mill_flush_mm
    if stage.kind is StageKind.SAND:
        return given.sand_mm if stage.round <= 1 else given.light_sand_mm
    return 0.0


def wood_mm(build: Build, face: FaceName, stage: int) -> float:
    """Return how high the wood of a face stands once a stage is done, in mm from as sawn."""
    height_mm = -build.job.allowances.surface_mm
    for each in build.plan.stages:
        if each.face == face and each.number <= stage:
            height_mm -= taken_mm(build.job, each)
    return height_mm


def finished_mm(build: Build, face: FaceName) -> float:
    """Return how high the finished face stands, in mm from as sawn."""
    return wood_mm(build, face, len(build.plan.stages))


def floor_mm(build: Build, inlay: Inlay, stage: Stage) -> float:
    """Return how high the floor of an inlay shall be that a stage cuts, in mm from as sawn."""
    if inlay.measured_from is MeasuredFrom.FINISHED:
        return finished_mm(build, inlay.face) - inlay.depth_mm
    return wood_mm(build, inlay.face, stage.number) - inlay.depth_mm


def finished_thickness_mm(build: Build) -> float:
    """Return the thickness of the board once both faces are finished."""
    return build.job.blank.thickness_mm + sum(finished_mm(build, each.name) for each in build.faces)


def left_proud_mm(allowances: Allowances) -> float:
    """Return how high the machine leaves resin over the wood that stood before it, in mm.

    Where it takes wood as well, the resin ends as far below.
    """
    return (
        allowances.left_proud_mm if allowances.mill_flush_mm == 0.0 else -allowances.mill_flush_mm
    )


def taken_after_cut_mm(build: Build, name: str) -> float:
    """Return how much wood goes off the face of an inlay once it is cut, in mm."""
    for stage in build.plan.stages:
        if stage.kind is StageKind.CUT and name in stage.subjects:
            return wood_mm(build, stage.face, stage.number) - finished_mm(build, stage.face)
    return 0.0
