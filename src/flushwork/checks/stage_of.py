"""At which stage and in which setup each thing is decided."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.job.records import FaceName
from flushwork.process.stages import Stage, StageKind


def stages_of(build: Build, kind: StageKind, subject: str = "") -> tuple[Stage, ...]:
    """Return the stages of a kind in working order, of one subject if it is named."""
    return tuple(
        stage
        for stage in build.plan.stages
        if stage.kind is kind and (not subject or subject in stage.subjects)
    )


def made_at(build: Build, name: str) -> Stage | None:
    """Return the stage at which an inlay or a pocket is cut, or a hole pattern drilled."""
    kinds = (StageKind.CUT, StageKind.SHAPE, StageKind.DRILL)
    found = [stage for kind in kinds for stage in stages_of(build, kind, name)]
    return found[0] if found else None


def stage_number(build: Build, *names: str) -> int:
    """Return the number of the stage at which the last of some things is cut; 0 without one."""
    return max((stage.number for name in names if (stage := made_at(build, name))), default=0)


def setup_number(build: Build, name: str) -> int:
    """Return the number of the setup that an inlay or hole pattern is cut in; 0 without one."""
    stage = made_at(build, name)
    return stage.setup if stage is not None else 0


def sanded_at(build: Build, name: str) -> int:
    """Return the number of the stage at which the fill of an inlay is first sanded."""
    return next((stage.number for stage in stages_of(build, StageKind.SAND, name)), 0)


def last_sanding(build: Build, face: FaceName) -> int:
    """Return the number of the last sanding of a face; 0 without one."""
    sandings = [stage for stage in stages_of(build, StageKind.SAND) if stage.face == face]
    return sandings[-1].number if sandings else 0


def sanded_off_mm(build: Build, face: FaceName, since: int = 0) -> tuple[float, int]:
    """Return what the sandings of a face take from a stage on, and how many they are."""
    allowances = build.job.allowances
    amounts = [
        allowances.sand_mm if stage.round <= 1 else allowances.light_sand_mm
        for stage in stages_of(build, StageKind.SAND)
        if stage.face == face and stage.number >= since
    ]
    return sum(amounts), len(amounts)
