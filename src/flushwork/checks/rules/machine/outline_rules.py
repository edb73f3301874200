"""Do the G-code files follow the drawing?  Exact geometry.

Path against outline, hole against place.

The replay looks at cells; here the tip's own way, as it reads back, is held against the outlines as
they were drawn, whatever the cells are.  A flat bit of radius r whose axis keeps r from an
outline cuts up to it; one that comes d nearer cuts d beyond.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.built import Build
from flushwork.checks.exact_paths import (
    COARSE_MM,
    FINE_MM,
    AskedCut,
    Chords,
    Shapes,
    asked_of,
    chords_below,
    cut_together,
    on_all_places,
)
from flushwork.checks.rules.board.look_rules import meant_region
from flushwork.checks.rules.machine.file_rules import imported_line
from flushwork.core.findings import Finding, Measure, Place
from flushwork.fit.discs import grow
from flushwork.runtime.memo import memoized
from flushwork.toolpaths.moves import Floats, Program
from flushwork.toolpaths.orders import GcodeFile, Work

# ---- How far a tip's way deviates beside what was asked: beyond an outline, or short of it
#
# Distances are those of the geometry library between straight pieces, in double precision; arcs are
# chords within half a step of a G-code file's last decimal where a figure is measured.


Flags = NDArray[np.bool_]

OTHER_FLOOR_MM: Final = 0.1
"""A tip this far under the floor of one thing is at work on another that lies deeper."""
APART_MM: Final = 0.5
"""Places along an outline are looked at at least this close together."""
MEASURED_MM: Final = 0.5
"""Flanks that stay short of their outline by up to this are measured; beyond, at least so much."""
THINNED_MM: Final = 0.001
"""... on the outline within this: its offsets have many points that say no more."""
WITHIN_MM: Final = 0.003
"""An outline within this of the offset of its offset has no corner that a bit cannot reach."""


@dataclass(frozen=True, slots=True)
class Off:
    """The worst place: by how much, where on the face, at which move (-1: none), of what."""

    by_mm: float
    at_mm: tuple[float, float]
    move: int
    asked: AskedCut


def beside(file: GcodeFile, asked: Sequence[AskedCut]) -> Off | None:
    """Return where a file's tip varies farthest beyond what is asked of it, None where nowhere.

    Only what varies beyond the machine's tolerance is measured.
    """
    order = file.order
    return _beside(
        file.program,
        order.face_above_mm,
        order.origin_mm,
        tuple(asked),
        order.machine.tolerance_mm,
    )


@memoized
def _beside(
    program: Program,
    face_mm: float,
    moved_mm: tuple[float, float],
    asked: tuple[AskedCut, ...],
    allowed_mm: float,
) -> Off | None:
    coarse = chords_below(program, face_mm, moved_mm, COARSE_MM)
    left = np.arange(len(coarse.move))
    deepest = min(one.floor_mm for one in asked)
    for one in asked:
        if not len(left):
            return None
        some = coarse.kept(np.isin(np.arange(len(coarse.move)), left))
        left = left[_strays(one, some, allowed_mm - COARSE_MM) | _too_deep(one, some, deepest)]
    if not len(left):
        return None
    fine = chords_below(program, face_mm, moved_mm, FINE_MM)
    fine = fine.kept(np.isin(fine.move, coarse.move[left]))
    by = np.full((len(asked), len(fine.move)), np.inf)
    for row, one in zip(by, asked, strict=True):
        row[:] = np.where(_too_deep(one, fine, deepest), np.inf, measured(one, fine))
    least = by.min(axis=0)
    k = int(np.argmax(least))
    nearest = asked[int(np.argmin(by[:, k]))]
    x, y = fine.ends_mm[k, :, :2].mean(axis=0).tolist()
    return Off(float(least[k]), (x, y), int(fine.move[k]), nearest)


def _too_deep(one: AskedCut, chords: Chords, deepest_mm: float) -> Flags:
    if one.floor_mm <= deepest_mm + OTHER_FLOOR_MM:
        return np.zeros(len(chords.move), np.bool_)
    return np.asarray(chords.lowest_mm < one.floor_mm - OTHER_FLOOR_MM)


def _strays(one: AskedCut, chords: Chords, allowed_mm: float) -> Flags:
    """Return which pieces may deviate further than allowed; quick where most do not."""
    if one.work is Work.POCKET and one.radius_mm > allowed_mm:
        outline = one.region.boundary
        shapely.prepare(outline)
        shapely.prepare(one.region)
        near = shapely.dwithin(outline, chords.lines, one.radius_mm - allowed_mm)
        x, y = chords.ends_mm[:, :, :2].mean(axis=1).T
        return np.asarray(near | ~shapely.contains_xy(one.region, x, y))
    if one.work is Work.TRIM and one.radius_mm > allowed_mm:
        shapely.prepare(one.region)
        return np.asarray(shapely.dwithin(one.region, chords.lines, one.radius_mm - allowed_mm))
    return measured(one, chords) > allowed_mm


def measured(one: AskedCut, chords: Chords) -> Floats:
    """Return by how much each piece of way deviates beyond one thing that is asked, (n,)."""
    if not len(chords.move):
        return np.zeros(0)
    if one.work is Work.LINE:
        return _most(_away(_ends(chords), _pieces(one.lines)), chords)
    if one.work is Work.DRILL:
        away = _away(_ends(chords), np.asarray(shapely.get_parts(one.points)))
        return _most(away, chords) - one.room_mm
    edges = _pieces(one.region.boundary)
    if one.work is Work.ENGRAVE:
        return _engraved(one, chords, edges)
    away = _away(chords.lines, edges)
    x, y = chords.ends_mm[:, :, :2].mean(axis=1).T
    shapely.prepare(one.region)
    inside = shapely.contains_xy(one.region, x, y)
    right = inside if one.work is Work.POCKET else ~inside
    return np.asarray(one.radius_mm + np.where(right, -away, away))


def _engraved(one: AskedCut, chords: Chords, edges: Shapes) -> Floats:
    """Return how far the flanks deviate beyond the outline at both ends and in the middle."""
    worst = np.full(len(chords.move), -np.inf)
    shapely.prepare(one.region)
    for share in (0.0, 0.5, 1.0):
        places = chords.ends_mm[:, 0] + share * (chords.ends_mm[:, 1] - chords.ends_mm[:, 0])
        wide = one.radius_mm + np.maximum(one.outline_mm - places[:, 2], 0.0) * one.slope
        away = _away(np.asarray(shapely.points(places[:, :2])), edges)
        inside = shapely.contains_xy(one.region, *places[:, :2].T)
        worst = np.maximum(worst, wide + np.where(inside, -away, away))
    return worst


def _ends(chords: Chords) -> Shapes:
    return np.asarray(shapely.points(chords.ends_mm[:, :, :2].reshape(-1, 2)))


def _most(away: Floats, chords: Chords) -> Floats:
    return np.asarray(away.reshape(len(chords.move), 2).max(axis=1))


def _pieces(lines: BaseGeometry) -> Shapes:
    """Return lines as single straight pieces, each found quickly."""
    parts = shapely.get_parts(lines)
    places, owner = shapely.get_coordinates(parts, return_index=True)
    same = owner[1:] == owner[:-1]
    return np.asarray(shapely.linestrings(np.stack((places[:-1][same], places[1:][same]), axis=1)))


def _away(shapes: Shapes, to: Shapes) -> Floats:
    """Return the distance of each shape from the nearest of others, (n,); far where none is."""
    away = np.full(len(shapes), np.inf)
    if len(to) and len(shapes):
        (index, _), found = shapely.STRtree(to).query_nearest(
            shapes, return_distance=True, all_matches=False
        )
        away[index] = found
    return away


def left_standing(pairs: Sequence[tuple[GcodeFile, AskedCut]], walls: MultiPolygon) -> Off | None:
    """Return where files that cut the same thing stay farthest short of its wall, None if nowhere.

    ``walls`` is what their bits can reach of it.
    """
    ways = tuple(
        (file.program, file.order.face_above_mm, file.order.origin_mm, one) for file, one in pairs
    )
    return _left_standing(ways, walls, pairs[0][0].order.machine.tolerance_mm)


@memoized
def _left_standing(
    ways: tuple[tuple[Program, float, tuple[float, float], AskedCut], ...],
    walls: MultiPolygon,
    allowed_mm: float,
) -> Off | None:
    first = ways[0][3]
    places = _places(first, walls)
    if first.work is Work.ENGRAVE:
        short = np.full(len(places), np.inf)
        for program, face_mm, moved_mm, one in ways:
            chords = chords_below(program, face_mm, moved_mm, COARSE_MM)
            short = np.minimum(short, flanks_short_mm(one, chords, places))
        k = int(np.argmax(short)) if len(short) else -1
        if k < 0 or short[k] <= allowed_mm:
            return None
        return Off(float(short[k]), (places[k].x, places[k].y), -1, first)
    left = np.arange(len(places))
    reached: list[tuple[Shapes, float]] = []
    for program, face_mm, moved_mm, one in ways:
        chords = chords_below(program, face_mm, moved_mm, FINE_MM if one.room_mm else COARSE_MM)
        chords = chords.kept(chords.lowest_mm <= _as_deep_mm(one, allowed_mm))
        reached.append((chords.lines, _reach_mm(one)))
        whole = shapely.multilinestrings(chords.lines)
        shapely.prepare(whole)
        missed = ~shapely.dwithin(whole, places[left], _reach_mm(one) + allowed_mm - COARSE_MM)
        left = left[missed]
        if not len(left):
            return None
    off = np.full(len(left), np.inf)
    for lines, radius in reached:
        off = np.minimum(off, _away(places[left], lines) - radius)
    if not np.isfinite(off).any():
        return None
    k = int(np.argmax(off))
    spot = places[left[k]]
    return Off(float(off[k]), (spot.x, spot.y), -1, first) if off[k] > allowed_mm else None


def flanks_short_mm(one: AskedCut, chords: Chords, places: Shapes) -> Floats:
    """Return how far the flanks of a V stay short of places along its outline, (n,).

    Along a piece of way on which the flanks' half width grows by k per mm, the place that reaches
    farthest towards a point at a distance h aside lies h k / sqrt(1 - k^2) beyond its foot.
    """
    short = np.full(len(places), np.inf)
    if not len(chords.move) or not len(places):
        return short
    ends = chords.ends_mm
    wide = one.radius_mm + np.maximum(one.outline_mm - ends[:, :, 2], 0.0) * one.slope
    tree = shapely.STRtree(chords.lines)
    at, piece = tree.query(places, "dwithin", distance=float(wide.max()) + MEASURED_MM)
    spots = shapely.get_coordinates(places)[at]
    begin, along = ends[piece, 0, :2], ends[piece, 1, :2] - ends[piece, 0, :2]
    length = np.hypot(along[:, 0], along[:, 1])
    unit = along / np.maximum(length, 1e-12)[:, np.newaxis]
    away = spots - begin
    foot = np.einsum("ij,ij->i", away, unit)
    aside = np.abs(away[:, 0] * unit[:, 1] - away[:, 1] * unit[:, 0])
    aside = np.where(length > 0.0, aside, np.hypot(away[:, 0], away[:, 1]))
    grows = (wide[piece, 1] - wide[piece, 0]) / np.maximum(length, 1e-12)
    kept = np.clip(grows, -0.999, 0.999)
    best = np.clip(foot + aside * kept / np.sqrt(1.0 - kept**2), 0.0, length)
    reaches = wide[piece, 0] + grows * best - np.hypot(aside, best - foot)
    np.minimum.at(short, at, -reaches)
    missed = ~np.isfinite(short)
    short[missed] = _away(places[missed], chords.lines) - float(wide.max())
    return short


def _as_deep_mm(one: AskedCut, allowed_mm: float) -> float:
    """Return how deep a tip has to stand to count: on the floor, of a hole or a kerf half way."""
    if one.work in (Work.DRILL, Work.TRIM):
        return one.floor_mm / 2.0
    return one.floor_mm + max(allowed_mm, OTHER_FLOOR_MM)


def _reach_mm(one: AskedCut) -> float:
    """Return how far from its axis a bit cuts what is looked at: a wall, or a middle."""
    middles = one.work is Work.LINE or (one.work is Work.DRILL and one.room_mm == 0.0)
    return 0.0 if middles else one.radius_mm


def _places(one: AskedCut, walls: MultiPolygon) -> Shapes:
    """Return the places along the outline (or the line, or the holes) that shall be reached."""
    if one.work is Work.LINE:
        edge: BaseGeometry = one.lines
    elif one.work is Work.DRILL:
        if one.room_mm == 0.0:
            return np.asarray(shapely.get_parts(one.points))
        edge = shapely.multilinestrings(
            [disc.exterior for disc in shapely.buffer(shapely.get_parts(one.points),
                                                      one.hole_mm / 2.0, quad_segs=8)]
        )  # fmt: skip
    elif one.work is Work.TRIM:
        edge = one.region.boundary
    else:
        edge = walls.boundary
    thinned = shapely.segmentize(shapely.simplify(edge, THINNED_MM), APART_MM)
    places = np.asarray(shapely.points(shapely.get_coordinates(thinned)))
    if one.work is Work.TRIM:
        around = grow(one.region, one.radius_mm, WITHIN_MM / 2.0).boundary
        shapely.prepare(around)
        places = places[shapely.dwithin(around, places, one.radius_mm + WITHIN_MM)]
    return places


# ---- Do the G-code files follow the drawing? Exact geometry


REMEDY: Final = (
    "Do not run this file: a zero, a bit's width or a place in it differs from the drawing; a "
    "wider `cut tolerance` of the machine lets more pass."
)


def path_off_outline(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where a file cuts beyond an outline, or bores off a hole's place."""
    for file in build.gcode_files:
        asked = asked_of(build, file)
        off = beside(file, asked) if asked else None
        if off is None or off.by_mm <= file.order.machine.tolerance_mm:
            continue
        hole = off.asked.work is Work.DRILL
        yield _finding(
            build,
            file,
            off,
            "hole-off-place" if hole else "path-off-outline",
            f"bores {off.by_mm:.3f} mm off the place of its hole in {off.asked.subject}"
            if hole
            else f"cuts {off.by_mm:.3f} mm beyond the outline of {off.asked.subject}",
        )


def wall_left_standing(build: Build) -> Iterator[Finding]:
    """Yield a must fix where the files of a stage stay short of an outline they can reach."""
    for pairs in cut_together(build):
        file, asked = pairs[0]
        walls = asked.region
        if asked.work in (Work.POCKET, Work.ENGRAVE):
            drawn = next((each for each in build.things if each.thing.name == asked.subject), None)
            if drawn is not None and drawn.thing.v_bit == (asked.work is Work.ENGRAVE):
                walls = on_all_places(meant_region(build.fit(asked.subject)), file.order.places)
        off = left_standing(pairs, walls)
        if off is None:
            continue
        hole = asked.work is Work.DRILL
        yield _finding(
            build,
            file,
            off,
            "hole-off-place" if hole else "path-off-outline",
            f"leaves {off.by_mm:.3f} mm standing "
            + ("of the wall of a hole in" if hole else "inside the outline of")
            + f" {off.asked.subject}",
        )


def _finding(build: Build, file: GcodeFile, off: Off, code: str, does: str) -> Finding:
    allowed = file.order.machine.tolerance_mm
    line = file.program.moves[off.move].line if off.move >= 0 else 0
    return Finding.must_fix(
        code,
        message=f"{file.known_as}{f', line {line},' if line else ''} {does}; {allowed:.3f} mm is "
        "allowed.",
        remedy=REMEDY,
        subjects=(build.cut_thing(off.asked.subject),),
        source=imported_line(file, line) if line else None,
        place=Place(file.order.face, float(off.at_mm[0]), float(off.at_mm[1])),
        measure=Measure("off", off.by_mm, allowed, "mm"),
    )


RULES = (path_off_outline, wall_left_standing)
