"""DXF artwork: pick layers, join lines to closed outlines, refuse what cannot be cut, in mm."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, STRtree
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Box, Shapes
from flushwork.art.dxf.dxf_file import DxfDrawing, DxfShape, dxf_data, read_dxf
from flushwork.art.faults import Faults, listed, refusal, warned
from flushwork.art.placement import Affine, scaling
from flushwork.art.regions import (
    CENTRE_SHARE,
    DUST_MM2,
    NO_LINES,
    NOTHING,
    crossing,
    filled,
    many,
    stroked,
    united,
)
from flushwork.art.svg.paint import MOST_MM
from flushwork.core.findings import Finding, JobRefusedError, Severity, Source, Subject
from flushwork.job.records import DxfArt
from flushwork.kernels.outlines import Points
from flushwork.runtime.memo import memoized

_ROUGH: Final = 1e-5
"""Shapes are measured to this share of their size before they are scaled."""
_PLAIN_UNITS: Final = {"metric": 1.0, "inch": 25.4}
_MOST_TOLD: Final = 12
"""Shapes that cannot be cut are told one by one up to so many; the rest are counted."""


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A drawing whose layers are picked, and whose units are known by ``scale``."""

    name: str
    picked: tuple[DxfShape, ...]
    scale: float
    source: Source


def draw_dxf(
    art: DxfArt,
    folder: Path,
    source: Source,
    tolerance_mm: float,
    together: tuple[DxfArt, ...] = (),
) -> Shapes:
    """Return the picked shapes in mm; raise JobRefusedError with every fault found in them.

    ``together`` are all picks of the drawing, this one too, that are to keep their places to each
    other: they are scaled and placed by the box of them all.
    """
    return _drawn(art, dxf_data(folder / art.file, source), source, tolerance_mm, together)


@memoized
def _drawn(
    art: DxfArt, data: bytes, source: Source, tolerance_mm: float, together: tuple[DxfArt, ...]
) -> Shapes:
    name = Path(art.file).name
    drawing = read_dxf(data, name, source)
    picked = _pick(art, drawing, name, source)
    others: list[tuple[DxfShape, ...]] = []
    for each in (other for other in together if other != art):
        # what is wrong with another pick is told where that one is drawn
        with suppress(JobRefusedError):
            others.append(_pick(each, drawing, name, source))
    box = _box([picked, *others])
    scale = _scale(art, drawing, box, name, source)
    _refuse_far(box, scale, name, source)
    sheet = _Sheet(name, picked, scale, source)
    shapes = _gathered(sheet, art, tolerance_mm)
    told = (*shapes.warnings, *_mended(drawing, name, source), *_left_out(drawing, name, source))
    shapes = replace(shapes, warnings=told, scale=scale)
    if not others:
        return shapes
    left, low, right, high = (number * scale for number in box)
    return replace(shapes, extent=(left, low, right, high))


def _pick(art: DxfArt, drawing: DxfDrawing, name: str, source: Source) -> tuple[DxfShape, ...]:
    """Return what lies in the layers asked for, all of it where none is named."""
    faults = Faults()
    wanted = {layer.casefold() for layer in art.layers}
    for layer in art.layers:
        if layer.casefold() not in drawing.names:
            there = listed(drawing.names.values()) or "none at all"
            faults.add(
                source,
                "dxf-layer-unknown",
                f"the drawing {name} has nothing on a layer or in a block called '{layer}'; "
                f"those in it are: {there}",
                "correct the name",
            )
    faults.refuse()
    told = [
        (words, what, remedy)
        for words, what, remedy, names in drawing.faults
        if not wanted or wanted & names
    ]
    for words, what, remedy in told[:_MOST_TOLD]:
        faults.add(source, "dxf-uncuttable", f"the {words} of {name} {what}", remedy)
    if len(told) > _MOST_TOLD:
        faults.add(
            source,
            "dxf-uncuttable",
            f"{len(told) - _MOST_TOLD} more shapes of {name} cannot be cut, for the like reasons",
            "see to those named first",
        )
    faults.refuse()
    picked = tuple(item for item in drawing.shapes if not wanted or wanted & item.names)
    if not picked:
        off = [drawing.names[each] for each in sorted(wanted & drawing.hidden)]
        where = f"in {listed(sorted(art.layers))} of" if wanted else "in"
        hint = f" ({listed(off)} is switched off there)" if off else ""
        raise refusal(
            source,
            "dxf-without-shapes",
            f"there is no shape {where} the drawing {name}{hint}",
            "draw closed outlines, and leave their layer visible",
        )
    return picked


def _box(picks: Sequence[Sequence[DxfShape]]) -> Box:
    """Return the box of all that is picked, in the drawing's own units."""
    runs = [run for pick in picks for shape in pick for run in shape.contours]
    rough = np.concatenate([run.points(MOST_MM * 1e9) for run in runs])
    size = max(float(np.ptp(rough, axis=0).max()), float(np.abs(rough).max()) * 1e-9, 1e-12)
    points = np.concatenate([run.points(_ROUGH * size) for run in runs])
    if not np.isfinite(points).all():
        return (0.0, 0.0, np.inf, np.inf)
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return (float(left), float(low), float(right), float(high))


def _scale(art: DxfArt, drawing: DxfDrawing, box: Box, name: str, source: Source) -> float:
    """Return the mm in a unit of the drawing."""
    if art.width_mm is not None:
        wide = box[2] - box[0]
        if not 0.0 < wide < np.inf:
            raise refusal(
                source,
                "dxf-without-shapes",
                f"what is picked of the drawing {name} has no width to be scaled by",
                "leave `width` out and say its `units`",
            )
        return art.width_mm / wide
    unit_mm = drawing.unit_mm or _PLAIN_UNITS.get(art.units)
    if unit_mm is None:
        wide = box[2] - box[0]
        raise refusal(
            source,
            "dxf-without-size",
            f"the drawing {name} does not say its units: what is picked of it is {wide:.4g} wide, "
            f"which is {wide:.1f} mm or {wide * 25.4:.1f} mm if it was drawn in inches",
            "add `units: metric` or `units: inch`, or a `width`",
        )
    return unit_mm


def _refuse_far(box: Box, scale: float, name: str, source: Source) -> None:
    far_mm = max(abs(number) for number in box) * scale
    if not far_mm <= MOST_MM:
        raise refusal(
            source,
            "dxf-coordinates-absurd",
            f"the drawing {name} reaches {far_mm / 1000.0:.4g} m from its zero",
            "look for an odd point or a wrong unit in the drawing, or give it a `width`",
        )


@dataclass(frozen=True, slots=True)
class _Outlines:
    """Lines joined: closed rings and open runs, in mm, and how many were drawn twice."""

    rings: tuple[Points, ...]
    open: tuple[LineString, ...]
    twice: int


def _gathered(sheet: _Sheet, art: DxfArt, tolerance_mm: float) -> Shapes:
    to_mm = scaling(sheet.scale, sheet.scale)
    fine_mm = CENTRE_SHARE * tolerance_mm
    within = fine_mm if art.line_mm else tolerance_mm
    areas = [_area(shape, to_mm, tolerance_mm) for shape in sheet.picked]
    found = _joined(
        [
            run.mapped(to_mm).points(within)
            for shape in sheet.picked
            if shape.kind == "line"
            for run in shape.contours
        ],
        art.join_mm,
    )
    faults = Faults()
    warnings = _doubles(sheet, found.twice)
    if art.line_mm:
        lines: list[BaseGeometry] = [shapely.LinearRing(ring) for ring in found.rings]
        lines += found.open
        wide = stroked(lines, art.line_mm, tolerance_mm=tolerance_mm - fine_mm)
        strokes = MultiLineString([*(LineString(ring) for ring in found.rings), *found.open])
        bare = all(area.is_empty for area in areas)
        region = united([wide, *areas])
        return Shapes(region, strokes if bare else NO_LINES, warnings=warnings)
    for ring in found.rings:
        crossed = crossing(ring)
        if crossed is not None:
            faults.add(
                sheet.source,
                "dxf-path-crosses-itself",
                f"an outline of {sheet.name} crosses itself {_where(crossed, sheet)}",
                "take the loop out in the drawing program",
            )
    faults.refuse()
    hatched = [area for area in areas if not area.is_empty]
    region = united([_nested(found.rings, hatched), *hatched])
    if region.is_empty and found.open:
        return Shapes(NOTHING, MultiLineString(list(found.open)), warnings=warnings)
    if found.open:
        raise _open(sheet, found, art)
    if region.is_empty:
        raise refusal(
            sheet.source,
            "dxf-without-shapes",
            f"the shapes picked in the drawing {sheet.name} have no area",
            "draw closed outlines, or give them a `line` wide enough to cut",
        )
    return Shapes(region, NO_LINES, warnings=warnings)


def _where(place: tuple[float, float], sheet: _Sheet) -> str:
    x, y = place[0] / sheet.scale, place[1] / sheet.scale
    return f"at {x + 0.0:.3f}, {y + 0.0:.3f} of the drawing"


def _open(sheet: _Sheet, found: _Outlines, art: DxfArt) -> JobRefusedError:
    ends = [shapely.get_coordinates(run)[[0, -1]] for run in found.open]
    places = np.concatenate(ends)
    first = places[0]
    apart = np.hypot(*(places[1:] - first).T)
    number = "one outline is" if len(ends) == 1 else f"{len(ends)} outlines are"
    return refusal(
        sheet.source,
        "dxf-outline-open",
        f"{number} open in {sheet.name}; the first begins "
        f"{_where((float(first[0]), float(first[1])), sheet)}, and the nearest other end is "
        f"{apart.min():.3g} mm away",
        "close it in the drawing program, or with a `join within` above that; if the outlines are "
        "meant as lines, give them a `line` width"
        + (f" (ends are joined within {art.join_mm:g} mm now)" if art.join_mm else ""),
    )


def _area(shape: DxfShape, to_mm: Affine, tolerance_mm: float) -> MultiPolygon:
    """Return what a shape covers by itself; nothing where it is but a line."""
    if shape.kind == "line":
        return NOTHING
    if shape.kind == "area":
        rings = [run.mapped(to_mm).points(tolerance_mm) for run in shape.contours]
        return filled(rings, even_odd=True)
    fine_mm = CENTRE_SHARE * tolerance_mm
    lines: list[BaseGeometry] = []
    for run in shape.contours:
        points = run.mapped(to_mm).points(fine_mm)
        ring = run.closed and len(points) > 3
        lines.append(shapely.LinearRing(points) if ring else LineString(points))
    return stroked(
        lines,
        shape.width * to_mm.stretch,
        ends="flat",
        joins="mitre",
        tolerance_mm=tolerance_mm - fine_mm,
    )


def _joined(runs: Sequence[Points], within_mm: float) -> _Outlines:
    """Join lines whose ends meet to closed rings; what stays open is told apart."""
    snapped = _snapped([run for run in runs if len(run) > 1], within_mm)
    once: dict[bytes, Points] = {}
    for run in snapped:
        rounded = np.round(run, 4) + 0.0
        ring = bool((run[0] == run[-1]).all())
        key = _ring_key(rounded) if ring else min(rounded.tobytes(), rounded[::-1].tobytes())
        once.setdefault(key, run)
    kept = list(once.values())
    rings = [run for run in kept if len(run) > 3 and (run[0] == run[-1]).all()]
    loose = [LineString(run) for run in kept if not (run[0] == run[-1]).all()]
    chains: list[LineString] = []
    if loose:
        merged = shapely.get_parts(shapely.line_merge(MultiLineString(loose)))
        chains = [run for run in merged if isinstance(run, LineString)]
    rings += [shapely.get_coordinates(run) for run in chains if run.is_closed]
    left = [run for run in chains if not run.is_closed]
    if left:
        # three lines and more that meet in a point are the shared edges of several outlines
        faces, cuts, dangles, invalid = (
            shapely.get_parts(each) for each in shapely.polygonize_full(left)
        )
        rings += [shapely.get_coordinates(face.exterior) for face in faces]
        left = [run for each in (cuts, dangles, invalid) for run in each if run.length > 0.0]
    return _Outlines(tuple(rings), tuple(left), len(snapped) - len(kept))


def _ring_key(ring: Points) -> bytes:
    """Return what two rings through the same points have in common, wherever they begin."""
    points = np.unique(ring, axis=0)
    return b"ring" + points.tobytes()


def _snapped(runs: list[Points], within_mm: float) -> list[Points]:
    """Put ends that lie within a distance of one another on one place."""
    if not runs:
        return []
    ends = np.concatenate([run[[0, -1]] for run in runs])
    places = np.array(shapely.points(ends), dtype=object)
    tree = STRtree(places)
    pairs = tree.query(places, predicate="dwithin", distance=max(within_mm, 1e-9))
    first = np.arange(len(ends))
    # each end goes to the earliest one near it, and that one's again, until nothing changes
    np.minimum.at(first, pairs[0], pairs[1])
    while (first != first[first]).any():
        first = first[first]
    snapped: list[Points] = []
    for index, run in enumerate(runs):
        moved = run.copy()
        moved[0], moved[-1] = ends[first[2 * index]], ends[first[2 * index + 1]]
        keep = np.ones(len(moved), dtype=bool)
        keep[1:] = np.any(moved[1:] != moved[:-1], axis=1)
        if keep.sum() > 1:
            snapped.append(moved[keep])
    return snapped


def _nested(rings: Sequence[Points], hatched: Sequence[MultiPolygon]) -> MultiPolygon:
    """Return what rings enclose: one that lies in another is a hole in it, the next wood again.

    Rings that lie on the edge of a hatch only repeat it.
    """
    edges = shapely.union_all([area.boundary for area in hatched]) if hatched else None
    areas = [many(filled([ring])) for ring in rings]
    areas = [area for area in areas if not area.is_empty]
    if edges is not None and not edges.is_empty:
        shapely.prepare(near := edges.buffer(_HATCH_MM))
        areas = [area for area in areas if not near.contains(area.boundary)]
    areas.sort(key=lambda area: -area.area)
    if not areas:
        return NOTHING
    inner_places = np.array([area.representative_point() for area in areas], dtype=object)
    tree = STRtree(inner_places)
    depth = np.zeros(len(areas), dtype=int)
    for index, area in enumerate(areas):
        inside = tree.query(area, predicate="contains")
        inner = [each for each in inside if each > index and _within(areas[each], area)]
        depth[inner] += 1
    region: MultiPolygon = NOTHING
    for level in range(int(depth.max()) + 1):
        layer = united([area for area, deep in zip(areas, depth, strict=True) if deep == level])
        region = many(region.difference(layer)) if level % 2 else united([region, layer])
    return region


_HATCH_MM: Final = 0.02
"""A ring this close to the edge of a hatch is that edge: both are flattened to 0.005 mm."""


def _within(inner: MultiPolygon, outer: MultiPolygon) -> bool:
    return bool(inner.difference(outer).area <= DUST_MM2 + 1e-6 * inner.area)


def _doubles(sheet: _Sheet, twice: int) -> tuple[Finding, ...]:
    if not twice:
        return ()
    what = "one line" if twice == 1 else f"{twice} lines"
    return (
        warned(
            sheet.source,
            "dxf-shape-twice",
            f"the drawing {sheet.name} holds {what} twice; each is cut once",
            "delete the copies in the drawing program, or move them to where they belong",
        ),
    )


def _mended(drawing: DxfDrawing, name: str, source: Source) -> tuple[Finding, ...]:
    if not drawing.mended:
        return ()
    return (
        warned(
            source,
            "dxf-mended",
            f"the drawing {name} holds damaged numbers, which were read as well as can be: "
            f"{listed(drawing.mended, 3)}",
            "compare the picture of the face with the drawing, or save it again",
        ),
    )


def _left_out(drawing: DxfDrawing, name: str, source: Source) -> tuple[Finding, ...]:
    if not drawing.passive:
        return ()
    what = listed([f"{count} {kind}" for kind, count in sorted(drawing.passive.items())])
    return (
        Finding(
            code="dxf-left-out",
            severity=Severity.NOTE,
            message=f"The drawing {name} holds what only measures or explains, which is not cut: "
            f"{what}.",
            remedy="Nothing need be done; points become holes with `points file`.",
            subjects=(Subject("drawing", name),),
            source=source,
        ),
    )
