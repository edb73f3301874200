"""The board as it shall be: what is sunk into it, how deep, at which stage, what stands then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import affine_transform

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnFace, DrawnHoles, DrawnInlay
from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.core.findings import Source, Subject
from flushwork.job.keys.edges import SUNK
from flushwork.job.records import Allowances, FaceName, Inlay, Job, MeasuredFrom
from flushwork.process.hanger_slots import hanger_slots
from flushwork.process.shaped_edges import shaped_edge
from flushwork.process.stages import Stage, StageKind
from flushwork.runtime.memo import memoized
from flushwork.strata.surfaces import FaceStack
from flushwork.wood.movement import MovingBoard, Year, year_of

# ---- At which stage and in which setup each thing is decided


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


# ---- Where wood, floors and resin shall stand, added up from the job and the work that is done
#
# The G-code files and the replay are made with the heights of the plan (``process/rounds``). What
# they come to is held against these, which owe nothing to them: all that the stages take off a
# face, one after the other. A slip in the sums of the plan is a difference then, not an agreement.


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


# ---- Every inlay beside the board as it stood right after the stage that cut it


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


# ---- What is sunk into each face, with its region and floor: inlays, pockets left empty, holes


@dataclass(frozen=True, slots=True)
class Sunk:
    """Something cut into a face: its region there, its floor, where the job speaks of it.

    ``depth_mm`` is its depth below the finished face.
    """

    name: str
    face: FaceName
    region: MultiPolygon
    floor_mm: float
    source: Source
    hole: bool
    depth_mm: float = 0.0
    through: bool = False
    empty: bool = False
    edge: bool = False
    hanger: bool = False

    @property
    def subject(self) -> Subject:
        """What it is in the job."""
        if self.edge:
            return Subject("edge", self.name)
        if self.hanger:
            return Subject("hanger", self.name)
        return Subject("holes" if self.hole else "pocket" if self.empty else "inlay", self.name)


def sunk_in(build: Build, name: FaceName) -> tuple[Sunk, ...]:
    """Return what is sunk into a face and has a floor, as a height from its as-sawn plane."""
    return tuple(sunk for sunk in all_sunk_in(build, name) if not sunk.through)


def all_sunk_in(build: Build, name: FaceName) -> tuple[Sunk, ...]:
    """Return everything sunk into a face, holes right through it included."""
    face = build.face(name)
    at_last_mm = finished_mm(build, name)
    found = [
        Sunk(
            drawn.inlay.name,
            name,
            drawn.region,
            floor,
            drawn.inlay.depth_source,
            hole=False,
            depth_mm=at_last_mm - floor,
        )
        for stage in cut_stages(build, name)
        for drawn in cut_in(face, stage)
        for floor in (floor_mm(build, drawn.inlay, stage),)
    ]
    found += [
        Sunk(
            drawn.pocket.name,
            name,
            drawn.region,
            at_last_mm - drawn.pocket.depth_mm,
            drawn.pocket.depth_source,
            hole=False,
            depth_mm=drawn.pocket.depth_mm,
            empty=True,
        )
        for drawn in face.pockets
    ]
    found += [
        Sunk(
            edge.name,
            name,
            shaped.taken,
            at_last_mm - edge.depth_mm,
            edge.source,
            hole=False,
            depth_mm=edge.depth_mm,
            empty=True,
            edge=True,
        )
        for edge in face.edges
        if edge.shape in SUNK and (shaped := shaped_edge(build.job, face, edge)) is not None
    ]
    found += [
        Sunk(
            slot.hanger.name,
            name,
            slot.swath,  # what is hidden beneath the lip thins the wood as well
            at_last_mm - slot.hanger.depth_mm,
            slot.hanger.source,
            hole=False,
            depth_mm=slot.hanger.depth_mm,
            empty=True,
            hanger=True,
        )
        for slot in hanger_slots(build.job, face)
    ]
    for pattern in face.holes:
        holes = pattern.holes
        found.append(
            Sunk(
                holes.name,
                name,
                _discs(pattern),
                at_last_mm - holes.depth_mm,
                holes.depth_source,
                hole=True,
                depth_mm=holes.depth_mm,
                through=holes.through,
            )
        )
    return tuple(found)


@memoized
def _discs(pattern: DrawnHoles) -> MultiPolygon:
    middles = shapely.points([(place.x_mm, place.y_mm) for place in pattern.places])
    return apart(shapely.buffer(middles, pattern.holes.diameter_mm / 2.0, quad_segs=8).tolist())


def apart(discs: list[Polygon]) -> MultiPolygon:
    """Return discs in their order, or what they cover together where they overlap."""
    held = MultiPolygon(discs)
    return held if held.is_valid else united(discs)


def to_front(job: Job, shape: MultiPolygon) -> MultiPolygon:
    """Return a region of the back face in the front face's frame."""
    return affine_transform(shape, back_map(job.blank).numbers)


def year_of_build(build: Build) -> Year:
    """Return what a year where they will live does to the finished pieces."""
    blank = build.job.blank
    size = (0.0, 0.0, blank.length_mm, blank.width_mm)
    west, south, east, north = next((face.trim.bounds for face in build.faces), size)
    board = MovingBoard(
        wood=blank.wood,
        width_mm=north - south if blank.grain_along_x else east - west,
        moisture=blank.moisture,
        flat_sawn=blank.flat_sawn,
        ring_radius_mm=blank.ring_radius_mm,
        strips_mm=blank.strips_mm if blank.glue_up else (),
        alternating=blank.glue_up is not None and blank.glue_up.alternating,
    )
    return year_of(board, build.job.rooms)
