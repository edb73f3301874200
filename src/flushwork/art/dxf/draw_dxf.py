"""DXF artwork: pick layers, join lines to closed outlines, refuse what cannot be cut, in mm."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Box, Shapes
from flushwork.art.dxf.dxf_file import DxfDrawing, DxfShape, dxf_data, read_dxf
from flushwork.art.dxf.joined_lines import JoinedLines, enclosed, joined_lines
from flushwork.art.faults import Faults, listed, refusal, warned
from flushwork.art.placement import Affine, scaling
from flushwork.art.regions import (
    CENTRE_SHARE,
    NO_LINES,
    NOTHING,
    crossing,
    filled,
    stroked,
    united,
)
from flushwork.art.svg.paint import MOST_MM
from flushwork.core.findings import Finding, JobRefusedError, Source, Subject
from flushwork.job.records import DxfArt
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


def _gathered(sheet: _Sheet, art: DxfArt, tolerance_mm: float) -> Shapes:
    to_mm = scaling(sheet.scale, sheet.scale)
    fine_mm = CENTRE_SHARE * tolerance_mm
    within = fine_mm if art.line_mm else tolerance_mm
    areas = [_area(shape, to_mm, tolerance_mm) for shape in sheet.picked]
    found = joined_lines(
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
    region = united([enclosed(found.rings, hatched), *hatched])
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


def _open(sheet: _Sheet, found: JoinedLines, art: DxfArt) -> JobRefusedError:
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
        Finding.note(
            "dxf-left-out",
            message=f"The drawing {name} holds what only measures or explains, which is not cut: "
            f"{what}.",
            remedy="Nothing need be done; points become holes with `points file`.",
            subjects=(Subject("drawing", name),),
            source=source,
        ),
    )
