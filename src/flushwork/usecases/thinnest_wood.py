"""The thinnest wood under any inlay, after any stage."""

from __future__ import annotations

import shapely
from shapely import MultiPolygon

from flushwork.built import Build
from flushwork.job.records import FACES, FaceName
from flushwork.strata.measure import least_wood_between_faces


def thinnest_wood_mm(made: Build, stage: int) -> float | None:
    """Return the thinnest wood under the inlays of both faces after a stage, in mm.

    None where the job has no inlay.
    """
    state, spec = made.replay.after(stage), made.replay.spec
    found = (
        least_wood_between_faces(state, spec, region, face)
        for face in FACES
        if (region := _inlaid(made, face)) is not None
    )
    return min((each.wood_between_mm for each in found if each is not None), default=None)


def _inlaid(made: Build, face: FaceName) -> MultiPolygon | None:
    regions = [drawn.region for drawn in made.inlays if drawn.inlay.face == face]
    whole = shapely.union_all(regions) if regions else MultiPolygon()
    parts = [part for part in shapely.get_parts(whole) if part.geom_type == "Polygon"]
    return MultiPolygon(parts) if parts else None
