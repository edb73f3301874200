"""The lines that a face is cut and filled along: what the page draws edges from, close up.

What a bit makes of a drawing is known exactly, so an edge need not be read off the cells of the
replay: these are the outlines of what was cut, each corner as round as its bit leaves it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.affinity import affine_transform

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import Drawn, DrawnFace, DrawnHoles
from flushwork.bench.desk.snapshot import Snapshot, cached_on, framed
from flushwork.built import Build
from flushwork.core.findings import TRIM_LINE
from flushwork.job.records import FaceName, Inlay, Manner
from flushwork.process.stages import StageKind
from flushwork.process.waste import SUBJECT
from flushwork.shelf.items import BitKind
from flushwork.strata.planes import grown, other_name

EXACT_MM: Final = 0.0005
"""An outline may lie so far beside itself: a fifth of a pixel where 400 of them show 1 mm."""

ROUND: Final = 64
"""Straight pieces of a quarter of a circle: of a bit 10 mm wide within 0.0004 mm of its arc."""

CUT, TRIMMED, ASIDE = "cut", "trim", "aside"


@dataclass(frozen=True, slots=True)
class Outlined:
    """One region of a face, from the stage on that cuts or fills it.

    ``kind`` is cut, trim, or aside for what is not there to stay: overspill, the waste of a groove.
    """

    region: MultiPolygon
    since: int
    kind: str = CUT


def outlines(made: Build, name: FaceName) -> list[Outlined]:
    """Return all regions that a face is cut and filled in, in its own frame."""
    face = made.face(name)
    found = [
        *(each for drawn in face.things for each in _of_thing(made, face, drawn)),
        *(_of_holes(made, name, holes) for holes in face.holes),
        *_trimmed(made, face),
    ]
    # a hole right through opens on the other side as well
    onto = back_map(made.job.blank).numbers
    other = other_name(name)
    behind = [_of_holes(made, other, holes) for holes in made.face(other).holes]
    found += _bored(made, name)
    for each in (*behind, *_bored(made, other)):
        turned = affine_transform(each.region, onto)
        found.append(replace(each, region=_many(shapely.get_parts(turned))))
    return [each for each in found if not each.region.is_empty]


def _of_thing(made: Build, face: DrawnFace, drawn: Drawn) -> Iterator[Outlined]:
    thing = drawn.thing
    yield Outlined(_cut(made, drawn), _since(made, face.name, thing.name))
    if isinstance(thing, Inlay) and (thing.manner is Manner.OVERFILLED or thing.cap is not None):
        over = grown(drawn.region, made.job.allowances.overspill_mm)
        poured = (StageKind.FILL, StageKind.CAP)
        yield Outlined(over, _since(made, face.name, thing.name, poured), ASIDE)


def _cut(made: Build, drawn: Drawn) -> MultiPolygon:
    """Return what flat bits cut of a region; a V-bit cuts it to its very outline."""
    fit = made.fit(drawn.thing.name)
    reaches = [fit.reach(bit) for bit in fit.bits if bit.kind is not BitKind.V_BIT]
    reached = [each.reached for each in reaches if each is not None and not each.reached.is_empty]
    if not reached or len(reaches) < len(fit.bits):
        return drawn.region
    return _many(shapely.get_parts(shapely.union_all(reached)))


def _of_holes(made: Build, name: FaceName, drawn: DrawnHoles) -> Outlined:
    places = shapely.points([(hole.x_mm, hole.y_mm) for hole in drawn.places])
    holes = shapely.buffer(places, drawn.holes.diameter_mm / 2.0, quad_segs=ROUND)
    return Outlined(_many(np.atleast_1d(holes)), _since(made, name, drawn.holes.name))


def _bored(made: Build, name: FaceName) -> list[Outlined]:
    """Return the recesses of dowels or discs, and the registration marks, of a face's setups."""
    found, locating = list[Outlined](), made.job.locating
    for setup in made.plan.setups:
        if setup.face != name:
            continue
        marks = [
            operation.bit.diameter_mm
            for file in made.gcode_files
            for operation in file.order.operations
            if file.order.setup == setup.number and operation.subject == SUBJECT
        ]
        wide = locating.diameter_mm + locating.play_mm if locating is not None else 0.0
        spots = [(place, wide) for place in setup.recesses]
        spots += [(place, max(marks, default=0.0)) for place in setup.marks]
        discs = [
            shapely.buffer(shapely.Point(place), across / 2.0, quad_segs=ROUND)
            for place, across in spots
        ]
        found.append(Outlined(_many(discs), min(setup.stages, default=0), ASIDE))
    return found


def _trimmed(made: Build, face: DrawnFace) -> Iterator[Outlined]:
    """Yield the trim line, and the far side of the groove along it."""
    if face.trim.is_empty:
        return
    stage = next((each for each in made.plan.stages if each.kind is StageKind.TRIM), None)
    since = stage.number if stage is not None else len(made.plan.stages) + 1
    yield Outlined(face.trim, since, TRIMMED)
    for file in made.gcode_files:
        if any(each.subject == TRIM_LINE.name for each in file.order.operations):
            groove = shapely.buffer(face.trim, file.order.bit.diameter_mm, quad_segs=ROUND)
            yield Outlined(_many(shapely.get_parts(groove)), since, ASIDE)


def _since(made: Build, face: FaceName, name: str, kinds: Iterable[StageKind] = ()) -> int:
    """Return the first stage at a thing, or the first of some kinds."""
    stages = made.plan.stages
    asked = set(kinds)
    at = [
        stage.number
        for stage in stages
        if stage.face == face and name in stage.subjects and (not asked or stage.kind in asked)
    ]
    return min(at, default=len(stages) + 1)


def _many(parts: Iterable[Any]) -> MultiPolygon:
    return MultiPolygon([part for part in parts if isinstance(part, shapely.Polygon)])


@cached_on
def outlines_told(snapshot: Snapshot, face: FaceName) -> bytes:
    """Return the outlines of a face as one answer, ``framed``.

    Of each ring how many points it has, since which stage it is there and its kind; then all points
    as x, y in mm, single precision.  A sketch moves floors: its
    outlines are those of the build it is drawn from.
    """
    made = (snapshot.base or snapshot).made
    told: list[tuple[int, int, str]] = []
    points: list[np.ndarray[Any, Any]] = []
    for each in outlines(made, face):
        for part in shapely.get_parts(shapely.simplify(each.region, EXACT_MM)):
            for ring in (part.exterior, *part.interiors):
                places = shapely.get_coordinates(ring)
                told.append((len(places), each.since, each.kind))
                points.append(places)
    every = np.concatenate(points) if points else np.empty((0, 2))
    return framed({"rings": told}, every.astype("<f4").tobytes())
