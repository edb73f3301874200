"""What is sunk into each face, with its region and floor: inlays, pockets left empty, holes."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import affine_transform

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnHoles
from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.checks.cut_rounds import cut_in, cut_stages
from flushwork.checks.expected_heights import finished_mm, floor_mm
from flushwork.core.findings import Source, Subject
from flushwork.job.records import FaceName, Job
from flushwork.runtime.memo import memoized


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

    @property
    def subject(self) -> Subject:
        """What it is in the job."""
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
