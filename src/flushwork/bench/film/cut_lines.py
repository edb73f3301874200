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
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

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

EXACT_MM: Final = 0.0002
"""An outline may lie so far beside itself: a twelfth of a pixel where 400 of them show 1 mm."""

ROUND: Final = 64
"""Straight pieces of a quarter of a circle: of a bit 10 mm wide within 0.0004 mm of its arc."""

CUT, TRIMMED = "cut", "trim"
FOREVER: Final = 10_000
"""A stage after all stages."""


@dataclass(frozen=True, slots=True)
class Outlined:
    """One region of a face, from the stage on that cuts or fills it, and before stage ``until``.

    ``kind`` is cut, for all that is cut or filled, or trim.  From stage ``covers`` on a fill hides
    whatever was cut there before, but for what is ``open``, as a hole is.
    """

    region: MultiPolygon
    since: int
    kind: str = CUT
    until: int = FOREVER
    covers: int = FOREVER
    open: bool = False


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


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a face, points (n, 2) in mm, there from stage ``since`` on and before ``until``."""

    points: NDArray[np.float64]
    since: int
    until: int
    kind: str


def lines_of(made: Build, name: FaceName) -> list[Line]:
    """Return the lines of all outlines of a face; what a later fill covers ends with it."""
    told = outlines(made, name)
    fills = sorted((each for each in told if each.covers < FOREVER), key=lambda each: each.covers)
    found: list[Line] = []
    for own in told:
        rest: BaseGeometry = shapely.boundary(shapely.simplify(own.region, EXACT_MM))
        for later in fills:
            if own.open or not own.since < later.since <= later.covers < own.until:
                continue
            if not shapely.intersects(rest, later.region):
                continue
            within = shapely.intersection(rest, later.region)
            found += _lines(within, own, later.covers)
            rest = shapely.difference(rest, later.region)
        found += _lines(rest, own, own.until)
    return found


def _lines(geometry: BaseGeometry, own: Outlined, until: int) -> list[Line]:
    return [
        Line(shapely.get_coordinates(part), own.since, until, own.kind)
        for part in shapely.get_parts(geometry)
        if shapely.get_num_coordinates(part) > 1
    ]


def _of_thing(made: Build, face: DrawnFace, drawn: Drawn) -> Iterator[Outlined]:
    thing = drawn.thing
    first = _since(made, face.name, thing.name, (StageKind.FILL, StageKind.CAP))
    yield Outlined(_cut(made, drawn), _since(made, face.name, thing.name), covers=first)
    if isinstance(thing, Inlay) and (thing.manner is Manner.OVERFILLED or thing.cap is not None):
        over = grown(drawn.region, made.job.allowances.overspill_mm)
        # milling flush leaves a skin, and what lies beside its paths: a sanding takes both
        gone = [
            stage.number
            for stage in made.plan.stages[first:]
            if stage.face == face.name and stage.kind is StageKind.SAND
        ]
        last = max if thing.cap is not None else min
        yield Outlined(over, first, until=last(gone, default=FOREVER))


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
    return Outlined(_many(np.atleast_1d(holes)), _since(made, name, drawn.holes.name), open=True)


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
        found.append(Outlined(_many(discs), min(setup.stages, default=0), open=True))
    return found


def _trimmed(made: Build, face: DrawnFace) -> Iterator[Outlined]:
    """Yield the trim line, and the far side of the groove along it."""
    if face.trim.is_empty:
        return
    stage = next((each for each in made.plan.stages if each.kind is StageKind.TRIM), None)
    since = stage.number if stage is not None else len(made.plan.stages) + 1
    yield Outlined(face.trim, since, TRIMMED, open=True)
    for file in made.gcode_files:
        if any(each.subject == TRIM_LINE.name for each in file.order.operations):
            groove = shapely.buffer(face.trim, file.order.bit.diameter_mm, quad_segs=ROUND)
            yield Outlined(_many(shapely.get_parts(groove)), since)


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

    Of each line how many points it has, from which stage on and before which it is there, and its
    kind; then all points as x, y in mm, single precision.  A sketch moves floors: its outlines are
    those of the build it is drawn from.
    """
    made = (snapshot.base or snapshot).made
    lines = lines_of(made, face)
    told = [(len(each.points), each.since, each.until, each.kind) for each in lines]
    points = [each.points for each in lines]
    every = np.concatenate(points) if points else np.empty((0, 2))
    return framed({"lines": told}, every.astype("<f4").tobytes())
