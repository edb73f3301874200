"""What the drawing asks of each cut file: the outlines, lines and holes its tip is to follow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import tan

import numpy as np
import shapely
from shapely import MultiLineString, MultiPoint, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.built import Build
from flushwork.geometry.drawn import DrawnInlay
from flushwork.geometry.regions import many, united
from flushwork.plan.drilling_work import bed_places
from flushwork.shelf.items import CutterKind
from flushwork.toolpaths.orders import CutFile, Operation, Work


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing a file shall cut, in the face's frame, on every piece of the bed.

    ``region`` is what is taken out (POCKET, ENGRAVE) or kept (TRIM); ``lines`` are followed (LINE);
    ``points`` are middles of holes ``hole_mm`` wide (DRILL).  ``floor_mm`` counts from the face, as
    does ``outline_mm``, the height at which the flanks of an ENGRAVE meet the region's outline;
    they widen by ``slope`` per mm.  ``radius_mm`` is that of the cutter, of a V its tip's.
    """

    work: Work
    subject: str
    floor_mm: float
    radius_mm: float
    region: MultiPolygon
    lines: MultiLineString
    points: MultiPoint
    hole_mm: float
    outline_mm: float
    slope: float
    tab_mm: float

    @property
    def room_mm(self) -> float:
        """How far from the middle of a hole the axis may go."""
        return max(self.hole_mm / 2.0 - self.radius_mm, 0.0)


def asked_of(build: Build, file: CutFile) -> tuple[Asked, ...]:
    """Return what a file shall cut; nothing for one that mills a face level."""
    operations = file.order.operations
    if any(operation.work is Work.LEVEL for operation in operations):
        return ()
    return tuple(_asked(build, file, operation) for operation in operations)


def _asked(build: Build, file: CutFile, operation: Operation) -> Asked:
    drawn = _drawn(build, operation)
    region, lines = operation.region, operation.lines
    if operation.work is Work.TRIM:
        region = build.face(file.order.face).trim
    elif drawn is not None and not (drawn.inlay.vee and operation.work is Work.POCKET):
        region = drawn.region
        lines = drawn.strokes if operation.work is Work.LINE else lines
    cutter, places = operation.cutter, file.order.places
    pointed = cutter.kind is CutterKind.VEE and operation.work is Work.ENGRAVE
    return Asked(
        work=operation.work,
        subject=operation.subject,
        floor_mm=operation.floor_mm,
        radius_mm=cutter.tip_mm / 2.0 if pointed else cutter.radius_mm,
        region=on_all_places(region, places),
        lines=MultiLineString(
            [
                line
                for dx, dy in places
                for line in shapely.get_parts(_moved(lines, dx, dy)).tolist()
            ]
        ),
        points=_points(build, file, operation),
        hole_mm=operation.hole_mm,
        outline_mm=operation.top_mm if operation.outline_mm is None else operation.outline_mm,
        slope=tan(cutter.angle_rad / 2.0) if pointed else 0.0,
        tab_mm=operation.tab_height_mm,
    )


def _drawn(build: Build, operation: Operation) -> DrawnInlay | None:
    if operation.work not in (Work.POCKET, Work.LINE, Work.ENGRAVE):
        return None
    return next((each for each in build.inlays if each.inlay.name == operation.subject), None)


def on_all_places(region: MultiPolygon, places: Sequence[tuple[float, float]]) -> MultiPolygon:
    """Return a region once for each piece on the bed."""
    if region.is_empty or tuple(places) == ((0.0, 0.0),):
        return region
    return united([many(_moved(region, dx, dy)) for dx, dy in places])


def _moved(shape: BaseGeometry, dx: float, dy: float) -> BaseGeometry:
    return shapely.transform(shape, lambda places: places + np.array((dx, dy)))


def _points(build: Build, file: CutFile, operation: Operation) -> MultiPoint:
    """Return the middles of the holes as drawn; of recesses and marks as they were planned."""
    if operation.work is not Work.DRILL:
        return MultiPoint()
    for pattern in build.face(file.order.face).holes:
        if pattern.holes.name == operation.subject:
            return MultiPoint(
                [
                    (hole.x_mm + dx, hole.y_mm + dy)
                    for dx, dy in bed_places(build.job)
                    for hole in pattern.places
                ]
            )
    return MultiPoint(list(operation.points))


def cut_together(build: Build) -> Iterator[tuple[tuple[CutFile, Asked], ...]]:
    """Yield, for each thing that is asked, all files that cut it in the same holding."""

    def of(pair: tuple[CutFile, Asked]) -> tuple[int, bool, str, str]:
        order, asked = pair[0].order, pair[1]
        return order.mounting, order.bare, asked.work.value, asked.subject

    pairs = [(file, asked) for file in build.cut_files for asked in asked_of(build, file)]
    for _, group in groupby(sorted(pairs, key=of), key=of):
        yield tuple(group)
