"""Does everything lie where it will be seen?"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Drawn, DrawnFace
from flushwork.art.regions import NOTHING, united
from flushwork.built import Build
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Place, Severity, Source, Subject
from flushwork.core.units import up_mm
from flushwork.core.words import counted
from flushwork.job.keys.cut_list import NAME_MARK
from flushwork.job.keys.inlays import rests_on
from flushwork.job.records import FaceName, Inlay, TextArt

AREA_MM2 = 0.01
"""Less than this outside a line is rounding, not artwork."""
WORDS_EDGE_MM = 2.0
"""Wood left between words and the final edge, where smaller ones are told (common practice, no
source)."""
SMALLEST = 0.4
"""The longest names may come to this share of the size (assumed, 0.3 to 0.7)."""
HOLE_EDGE_MM = 1.5
"""Least wood between a hole and the final edge (common practice, no source)."""


def outside_trim(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for artwork that trimming will cut away.

    A warning for the hidden border.
    """
    for face in build.faces:
        for drawn in face.inlays:
            lost = _beyond(drawn.region, face.trim)
            if lost.area > AREA_MM2:
                yield _outside(drawn, lost, face)
                continue
            hidden = _beyond(drawn.region, face.visible)
            if hidden.area > AREA_MM2 and drawn.inlay.seam is None:
                inlay = drawn.inlay
                yield _hidden(inlay.name, inlay.source, face.name, hidden)
        # a grip or a recess may run out over the edge; beyond the blank there is nothing to cut
        for pocket in face.pockets:
            parts = pocket.region.geoms
            off = united([each for each in parts if each.intersection(face.trim).area <= AREA_MM2])
            if not off.is_empty:
                yield _outside(pocket, off, face)


def _beyond(region: BaseGeometry, bounds: BaseGeometry) -> BaseGeometry:
    """Return what of a region lies outside; that it all lies inside is told far sooner."""
    return NOTHING if bounds.covers(region) else region.difference(bounds)


def holes_outside(build: Build) -> Iterator[Finding]:
    """Yield findings for holes that leave the board or nearly do."""
    for face in build.faces:
        for pattern in face.holes:
            yield from _hole_edges(
                face,
                pattern.holes.name,
                pattern.holes.source,
                [(place.x_mm, place.y_mm) for place in pattern.places],
                pattern.holes.diameter_mm / 2.0,
            )


def _hole_edges(
    face: DrawnFace,
    name: str,
    source: Source,
    points: list[tuple[float, float]],
    radius_mm: float,
) -> Iterator[Finding]:
    edge = face.trim.boundary
    walls = [
        (
            edge.distance(Point(point)) * (1 if face.trim.contains(Point(point)) else -1)
            - radius_mm,
            point,
        )
        for point in points
    ]
    if not walls:
        return
    wall_mm, (x_mm, y_mm) = min(walls)
    near = sum(wall < HOLE_EDGE_MM for wall, _ in walls)
    if not near:
        return
    broken = wall_mm < 0.0
    yield Finding(
        code="hole-meets-edge",
        severity=Severity.MUST_FIX if broken else Severity.WARNING,
        message=f"{counted(near, 'hole')} of {name} "
        + ("break through the final edge" if broken else "leave thin wood at the final edge")
        + f": {wall_mm:.2f} mm at the worst.",
        remedy=f"Move the pattern inwards by {up_mm(HOLE_EDGE_MM - wall_mm)} mm, or trim wider.",
        subjects=(Subject("holes", name),),
        source=source,
        place=Place(face.name, x_mm, y_mm),
        measure=Measure("wall", wall_mm, HOLE_EDGE_MM, "mm"),
    )


def _outside(drawn: Drawn, lost: BaseGeometry, face: DrawnFace) -> Finding:
    spot = lost.representative_point()
    thing, whole_mm2 = drawn.thing, drawn.region.area
    pieces = _pieces_of(lost, face)
    where = (
        f" on {', '.join(face.laid.pieces[each].called for each in pieces)}" if face.laid else ""
    )
    remedy = "Move or shrink the artwork, or widen the trim line."
    least = _smaller_words(drawn, pieces, face)
    if least is not None:
        room_mm, size_mm = least
        remedy = (
            f"Set longer names smaller: `most width: {room_mm:g} mm` and `least size: {size_mm:g} "
            f"mm`. Else {remedy[0].lower()}{remedy[1:]}"
        )
    return Finding.must_fix(
        "outside-trim-line",
        message=f"{lost.area:.1f} mm2 of {thing.name} ({100 * lost.area / whole_mm2:.0f} %) lies "
        f"outside the trim line{where} and would be cut away.",
        remedy=remedy,
        subjects=(drawn.subject,),
        source=thing.source,
        place=Place(thing.face, spot.x, spot.y),
        measure=Measure("area outside", lost.area, 0.0, "mm2"),
    )


def _pieces_of(region: BaseGeometry, face: DrawnFace) -> list[int]:
    """Return on which pieces of a plank parts of a region lie: on the nearest each."""
    if face.laid is None:
        return []
    outlines = [*face.trim.geoms]
    parts = getattr(region, "geoms", [region])
    nearest = {
        min(range(len(outlines)), key=lambda n: outlines[n].distance(part)) for part in parts
    }
    return sorted(nearest)


def _smaller_words(
    drawn: Drawn, pieces: Sequence[int], face: DrawnFace
) -> tuple[float, float] | None:
    """Return how wide names may be on their pieces, and the least size that they may come to.

    None for what is no text filled with names, or where there is no room for any.
    """
    art = drawn.thing.artwork[0].art if isinstance(drawn.thing, Inlay) else None
    if not pieces or not isinstance(art, TextArt) or NAME_MARK not in art.words:
        return None
    # pieces of one outline have the same room: it is read where words keep farthest off the edge,
    # and their line where they are longest, first of all on pieces that no other's letters reach
    off = {
        n: (each.boundary.distance(words), words)
        for n, each in enumerate(face.trim.geoms)
        if (words := each.intersection(drawn.region)).area > AREA_MM2
    }
    clear, clean = max(off.items(), key=lambda each: each[1][0])[0], [n for n in off if off[n][0]]
    unit = max((_line_of(off[n][1]) for n in clean or off), key=np.hypot.reduce)
    told_mm = _room_mm(off[clear][1], face.trim.geoms[clear], unit / np.hypot(*unit))
    room_mm = math.floor(told_mm - 2.0 * WORDS_EDGE_MM)
    return (room_mm, math.floor(10.0 * SMALLEST * art.size_mm) / 10.0) if room_mm > 0 else None


def _line_of(words: BaseGeometry) -> NDArray[np.float64]:
    """Return the longer side of the box that words fill."""
    box = np.diff(shapely.get_coordinates(words.minimum_rotated_rectangle)[:3], axis=0)
    longer: NDArray[np.float64] = max(box, key=np.hypot.reduce)
    return longer


def _room_mm(words: BaseGeometry, outline: Polygon, unit: NDArray[np.float64]) -> float:
    """Return how wide words along ``unit`` may be on a piece, as high as they stand now."""
    box = shapely.get_coordinates(words.minimum_rotated_rectangle)[:4]
    aside = np.array([-unit[1], unit[0]])
    across = aside * float(np.ptp(box @ aside))
    middle = np.asarray(outline.centroid.coords[0])
    # beside the line through the piece's middle the words stand where they stand
    off = box.mean(axis=0) - middle
    middle = middle + off - unit * float(off @ unit)
    far = unit * outline.length
    halves = []
    for share in (-0.5, 0.0, 0.5):
        at = Point(middle + share * across)
        ways = [LineString([at, Point(at.x + end[0], at.y + end[1])]) for end in (-far, far)]
        halves += [way.difference(outline).distance(at) for way in ways]
    return 2.0 * min(halves)


def _hidden(name: str, source: Source, face: FaceName, hidden: BaseGeometry) -> Finding:
    spot = hidden.representative_point()
    return Finding.warning(
        "in-hidden-border",
        message=f"{hidden.area:.1f} mm2 of {name} lies in the hidden border, where the frame will "
        "cover it.",
        remedy="Move the artwork inwards, or narrow the hidden border.",
        subjects=(Subject("inlay", name),),
        source=source,
        place=Place(face, spot.x, spot.y),
        measure=Measure("area hidden", hidden.area, 0.0, "mm2"),
    )


def trim_outside_blank(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where the final outline does not fit on the blank."""
    face = build.face("front")
    beyond = face.trim.difference(face.blank)
    if beyond.area <= AREA_MM2:
        return
    spot = beyond.representative_point()
    yield Finding.must_fix(
        "trim-line-outside-blank",
        message=f"The trim line reaches {beyond.area:.0f} mm2 beyond the blank.",
        remedy="Use a larger blank, or a smaller outline.",
        subjects=(TRIM_LINE,),
        source=build.job.outline.source,
        place=Place("front", spot.x, spot.y),
        measure=Measure("area beyond", beyond.area, 0.0, "mm2"),
    )


def inlays_overlap(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where two inlays overlap that are not meant to."""
    for face in build.faces:
        for index, drawn in enumerate(face.inlays):
            for other in face.inlays[:index]:
                if _meant(drawn.inlay.name, other.inlay.name, build):
                    continue
                shared = drawn.region.intersection(other.region)
                if shared.area <= AREA_MM2:
                    continue
                spot = shared.representative_point()
                yield Finding.must_fix(
                    "inlays-overlap",
                    message=f"{drawn.inlay.name} overlaps {other.inlay.name} by "
                    f"{shared.area:.2f} mm2, and the job does not say that one is cut into the "
                    "other.",
                    remedy=f"Move one of them, or write `second pass of: [{other.inlay.name}]` "
                    f"in {drawn.inlay.name}.",
                    subjects=(drawn.subject, other.subject),
                    source=drawn.inlay.source,
                    place=Place(face.name, spot.x, spot.y),
                    measure=Measure("overlap", shared.area, 0.0, "mm2"),
                )


def pockets_overlap(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where a pocket left empty cuts inlays away that it may not."""
    for face in build.faces:
        for drawn in face.pockets:
            pocket = drawn.pocket
            for other in face.inlays:
                shared = drawn.region.intersection(other.region)
                if other.inlay.name in pocket.into or shared.area <= AREA_MM2:
                    continue
                spot = shared.representative_point()
                yield Finding.must_fix(
                    "pocket-cuts-inlay",
                    message=f"{pocket.name} stays empty and cuts {shared.area:.2f} mm2 of "
                    f"{other.inlay.name} away, and the job does not say that it may.",
                    remedy=f"Move one of them, or write `cut into: [{other.inlay.name}]` in "
                    f"{pocket.name}.",
                    subjects=(drawn.subject, other.subject),
                    source=pocket.source,
                    place=Place(face.name, spot.x, spot.y),
                    measure=Measure("overlap", shared.area, 0.0, "mm2"),
                )


def _meant(name: str, other: str, build: Build) -> bool:
    """Whether one of two inlays follows the other, directly or through others."""
    inlays = {inlay.name: inlay for inlay in build.job.inlays}

    def follows(one: str, two: str) -> bool:
        before = rests_on(inlays[one])
        return two in before or any(follows(each, two) for each in before)

    return follows(name, other) or follows(other, name)


RULES = (outside_trim, holes_outside, trim_outside_blank, inlays_overlap, pockets_overlap)
