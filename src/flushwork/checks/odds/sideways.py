"""What goes wrong sideways: seams uncovered, wood between neighbours, holes, the trim line."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.art.regions import apart_mm, united
from flushwork.built import Build
from flushwork.checks.expected_board import setup_number, stage_number, stages_of, to_front
from flushwork.checks.odds import variation
from flushwork.checks.odds.variation import By, Critical, CriticalQuantity, Floats, variation_out
from flushwork.checks.seam_cover import datum_mm, growth_between, margin_mm, places_along
from flushwork.core.findings import TRIM_LINE, Subject
from flushwork.fit.feeds import wall_deflection_mm
from flushwork.job.records import FaceName
from flushwork.process.stages import StageKind
from flushwork.runtime.memo import memoized
from flushwork.toolpaths.orders import Work
from flushwork.toolpaths.pocket import leave_mm
from flushwork.toolpaths.speeds import operation_feeds

STANDS_MM = 0.5
"""Wood between neighbours thinner than this breaks out (assumed, 0.3 to 0.8 mm; a ladder)."""
NEAR_MM = 3.0
"""Neighbours cut in different setups that lie farther apart than this are safe."""
CLOSE_MM = 1.2
"""... and those cut in the same setup, where nothing but the bit varies."""
STEP_MM = 2.0
"""Places along an edge are this far apart at most."""
OVER_EDGE_MM2 = 0.05
"""What crosses the trim line by more than this is meant to run over the edge."""


def sideways(build: Build) -> Iterator[CriticalQuantity]:
    """Yield everything that varies sideways."""
    yield from seam_covers(build)
    yield from edges_of_first_passes(build)
    yield from walls(build)
    yield from beside_holes(build)
    yield from beside_trim(build)


def _mounted(build: Build, setup: int, at_mm: Floats, across: Floats) -> By:
    """Return what shifts and turns a setup about the middle of the blank."""
    blank = build.job.blank
    arms = at_mm - (blank.length_mm / 2.0, blank.width_mm / 2.0)
    return (
        (variation.shift_x(build.job, setup), across[:, 0]),
        (variation.shift_y(build.job, setup), across[:, 1]),
        (
            variation.turn(build.job, setup),
            -across[:, 0] * arms[:, 1] + across[:, 1] * arms[:, 0],
        ),
    )


def _grown(build: Build, face: FaceName, setup: int, at_mm: Floats, across: Floats) -> By:
    """Return what the wood grows between two setups if nobody reads its moisture."""
    axis = 1 if build.job.blank.grain_along_x else 0
    away = (at_mm[:, axis] - datum_mm(build.job, face)) * across[:, axis]
    return ((variation.stretch(build.job, setup), away),)


def _bends_mm(build: Build, subject: str) -> float:
    """Return how far the bit bends aside that leaves the walls of an inlay or of the outline."""
    bends = 0.0
    for file in build.gcode_files:
        for operation in file.order.operations:
            if operation.subject != subject:
                continue
            found = operation_feeds(operation, file.order.machine).proposal
            if found is None:
                continue
            if operation.work is Work.POCKET:
                deep = operation.top_mm - operation.floor_mm
                bends = max(bends, wall_deflection_mm(found, leave_mm(found.bit), deep))
            else:
                bends = max(bends, found.deflection_mm)
    return bends


def _cut(build: Build, name: str, like: Floats, *, sides: float) -> By:
    """Return how a bit's width and bending move a wall; a wall moves by half the width."""
    setup = setup_number(build, name)
    return (
        (variation.bit(setup), 0.5 * sides * np.ones_like(like)),
        (variation.bending(setup), sides * _bends_mm(build, name) * np.ones_like(like)),
    )


def seam_covers(build: Build) -> Iterator[CriticalQuantity]:
    """Yield the cover of each seam line cut in another setup than what it follows."""
    for drawn in build.inlays:
        seam, inlay = drawn.inlay.seam, drawn.inlay
        if seam is None or drawn.strokes.is_empty:
            continue
        own = setup_number(build, inlay.name)
        before = next((name for name in seam.along if setup_number(build, name) != own), None)
        if before is None:
            continue
        places = places_along(drawn.strokes)
        at_mm, across, face = places.at_mm, places.across, inlay.face
        ones = np.ones(len(at_mm))
        wider, blur = variation.bit(own), variation.blur(face)
        by = (
            *_mounted(build, own, at_mm, across),
            *_grown(build, face, own, at_mm, across),
            (variation.bending(own), _bends_mm(build, inlay.name) * ones),
        )
        kept = tuple((variation, factor) for variation, factor in by if variation.sd > 0.0)
        yield CriticalQuantity(
            Critical.SEAM_COVER,
            (Subject("inlay", inlay.name),),
            face,
            "mm",
            0.0,
            ones * margin_mm(seam.width_mm),
            {variation.key: factor for variation, factor in kept},
            (*(variation for variation, _ in kept), wider, blur),
            at_mm,
            both_ways=True,
            known=growth_between(build.job, build.plan, face, before, inlay.name).at(at_mm, across),
            stage=stage_number(build, inlay.name),
            narrowing={wider.key: 0.5 * ones, blur.key: -ones},
        )


def edges_of_first_passes(build: Build) -> Iterator[CriticalQuantity]:
    """Yield, for second passes within their first, how far they stay inside it."""
    by_name = {drawn.inlay.name: drawn for drawn in build.inlays}
    for drawn in build.inlays:
        for before in drawn.inlay.second_pass_of:
            first = by_name.get(before)
            if first is None or first.region.is_empty or drawn.region.is_empty:
                continue
            if first.region.covers(drawn.region):
                inside = _gaps(build, Critical.FIRST_EDGE, first, drawn, 0.0, NEAR_MM)
                if inside is not None:
                    yield inside


def walls(build: Build) -> Iterator[CriticalQuantity]:
    """Yield the wood between neighbours, the nearer the later they are cut after each other."""
    for face in build.faces:
        for index, drawn in enumerate(face.inlays):
            for other in face.inlays[:index]:
                if _passed_over(drawn, other) or _passed_over(other, drawn):
                    continue
                apart = setup_number(build, drawn.inlay.name) != setup_number(
                    build, other.inlay.name
                )
                near = NEAR_MM if apart else CLOSE_MM
                if not STANDS_MM < apart_mm(drawn.region, other.region) < near:
                    continue
                wall = _gaps(build, Critical.WOOD_BETWEEN, other, drawn, STANDS_MM, near)
                if wall is not None:
                    yield wall


def _passed_over(drawn: DrawnInlay, other: DrawnInlay) -> bool:
    """Whether no wood is meant between two inlays, or the second is drawn in bare lines."""
    return (
        drawn.region.is_empty
        or drawn.inlay.seam is not None
        or (other.inlay.name in drawn.inlay.second_pass_of)
    )


@memoized
def _links(edge: BaseGeometry, to: BaseGeometry, near: float) -> tuple[Floats, Floats, Floats]:
    """Return places between two edges, the directions from one to the other, and how far apart."""
    dense = shapely.segmentize(edge, STEP_MM)
    points = np.asarray(shapely.points(shapely.get_coordinates(dense)))
    close = points[shapely.dwithin(points, to, near)]
    lines = [shapely.shortest_line(edge, to), *shapely.shortest_line(close, to).tolist()]
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    away = ends[:, 1] - ends[:, 0]
    length = np.hypot(away[:, 0], away[:, 1])
    across = np.where(
        length[:, np.newaxis] > 0.0, away / np.maximum(length, 1e-12)[:, np.newaxis], (0.0, 1.0)
    )
    return ends.mean(axis=1), across, length


def _gaps(
    build: Build, name: Critical, first: DrawnInlay, then: DrawnInlay, limit: float, near: float
) -> CriticalQuantity | None:
    """Return the distance between the outlines of two inlays where they come near."""
    at_mm, across, length = _links(then.region.boundary, first.region.boundary, near)
    if not len(length) or float(length.min()) > near:
        return None
    subject, before, face = then.inlay.name, first.inlay.name, then.inlay.face
    own, other = setup_number(build, subject), setup_number(build, before)
    by: By = (
        *_cut(build, subject, length, sides=-1.0),
        *(_cut(build, before, length, sides=-1.0) if other != own else ()),
    )
    if other == own:
        by = tuple((variation, 2.0 * factor) for variation, factor in by)
    else:
        by += _mounted(build, own, at_mm, across) + _grown(build, face, own, at_mm, across)
        growth = growth_between(build.job, build.plan, face, before, subject)
        length = length + growth.at(at_mm, across)
    stage = stage_number(build, subject, before)
    return variation_out(name, (Subject("inlay", subject),), face, at_mm, length, limit, by, stage)


def beside_holes(build: Build) -> Iterator[CriticalQuantity]:
    """Yield the wood between holes and the inlays of their own face."""
    for face in build.faces:
        inlaid = united([drawn.region for drawn in face.inlays])
        if inlaid.is_empty:
            continue
        for pattern in face.holes:
            holes = Subject("holes", pattern.holes.name)
            radius = pattern.holes.diameter_mm / 2.0
            middles = shapely.points([(hole.x_mm, hole.y_mm) for hole in pattern.places])
            away = shapely.distance(middles, inlaid) - radius
            near = middles[(away > 0.0) & (away < NEAR_MM)]
            rings = MultiLineString(
                [disc.exterior for disc in shapely.buffer(near, radius).tolist()]
            )
            if rings.is_empty:
                continue
            yield from _beside(build, Critical.HOLE_WALL, holes, face, rings, inlaid)


def _beside(
    build: Build,
    name: Critical,
    subject: Subject,
    face: DrawnFace,
    edge: BaseGeometry,
    to: BaseGeometry,
    kind: StageKind = StageKind.DRILL,
) -> Iterator[CriticalQuantity]:
    stages = stages_of(build, kind, subject.name if kind is StageKind.DRILL else "")
    if not stages:
        return
    setup = stages[0].setup
    at_mm, across, length = _links(edge, to, NEAR_MM)
    by = (
        *_mounted(build, setup, at_mm, across),
        *_grown(build, face.name, setup, at_mm, across),
        (variation.bending(setup), -_bends_mm(build, subject.name) * np.ones_like(length)),
    )
    yield variation_out(name, (subject,), face.name, at_mm, length, 0.0, by, stages[0].number)


def beside_trim(build: Build) -> Iterator[CriticalQuantity]:
    """Yield how far the trim line stays off what is sunk into either face.

    What runs over the trim line as drawn is meant to.
    """
    trims = stages_of(build, StageKind.TRIM)
    face = build.face(trims[0].face) if trims else None
    if face is None or face.trim.is_empty:
        return
    kept: list[MultiPolygon] = []
    for drawn_face in build.faces:
        regions = [drawn.region for drawn in drawn_face.inlays if not drawn.region.is_empty]
        inside = [
            region for region in regions if region.difference(drawn_face.trim).area <= OVER_EDGE_MM2
        ]
        if inside:
            whole = united(inside)
            kept.append(whole if drawn_face.name == face.name else to_front(build.job, whole))
    if not kept:
        return
    edge = face.trim.boundary
    to = united(kept).boundary
    if float(edge.distance(to)) < NEAR_MM:
        yield from _beside(build, Critical.TRIM_GAP, TRIM_LINE, face, edge, to,
                           StageKind.TRIM)  # fmt: skip
