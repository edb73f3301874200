"""A face made ready for drawing: its inlays in the order they are cut, each path written once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import shapely
from shapely import MultiLineString, MultiPolygon

from flushwork.art.drawn import Drawn, DrawnFace, DrawnInlay
from flushwork.core.units import System
from flushwork.fit.reach import Fit
from flushwork.job.records import FaceName, Holes, Inlay, Job, Mix
from flushwork.process.shaped_edges import shaped_edge
from flushwork.views.drawing.svg import edges, line_path, region_path

BARE_STROKE_MM = 0.3
"""Width a bare stroke is drawn with while no bit is known for it; for the eye only."""


@dataclass(frozen=True, slots=True)
class InlayArt:
    """One inlay: its colour and letter, its path, and what later inlays leave in sight."""

    inlay: Inlay
    letter: str
    colour: str
    path: str
    region: MultiPolygon
    in_sight: MultiPolygon


@dataclass(frozen=True, slots=True)
class HoleArt:
    """One hole in the face's frame."""

    holes: Holes
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class FaceArt:
    """Everything a drawing of one face needs; ``empty`` are paths of pockets.

    They are left empty; ``shaped`` are the inner lines of shaped edges.  ``pieces`` are the
    number and name of each piece laid on a plank, one for each part of the trim line;
    ``defects`` the path of what is kept clear of on the plank.
    """

    name: FaceName
    length_mm: float
    width_mm: float
    turn_about_x: bool
    grain_along_x: bool
    wood: str
    inlays: tuple[InlayArt, ...]
    holes: tuple[HoleArt, ...]
    trim: MultiPolygon
    trim_path: str
    edge_path: str
    border_path: str
    inch: bool = False
    empty: tuple[str, ...] = ()
    shaped: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    defects: str = ""


def mix_letters(job: Job) -> dict[str, str]:
    """Return a letter for each mix the job pours, in the order of the file: A, B, ... Z, AA.

    Of several parts of a job each has the letters of all its mixes, so that they are the same.
    """
    used = {mix.name for inlay in job.inlays for mix in _poured(inlay)}
    used |= {mix.name for mix in job.mixes} if job.part else set()
    names = [mix.name for mix in job.mixes if mix.name in used]
    names += sorted(used.difference(names))
    return {name: _letter(index) for index, name in enumerate(names)}


def _poured(inlay: Inlay) -> tuple[Mix, ...]:
    return (inlay.mix,) if inlay.cap is None else (inlay.mix, inlay.cap)


def _letter(index: int) -> str:
    head, tail = divmod(index, 26)
    return ("" if head == 0 else _letter(head - 1)) + chr(ord("A") + tail)


def cutting_order(inlays: tuple[DrawnInlay, ...]) -> list[DrawnInlay]:
    """Return the inlays so that each comes after those it rests on; else as in the file."""
    by_name = {drawn.inlay.name: drawn for drawn in inlays}
    level: dict[str, int] = {}

    def depth(name: str, seen: frozenset[str]) -> int:
        if name in level or name in seen or name not in by_name:
            return level.get(name, 0)
        inlay = by_name[name].inlay
        under = (*inlay.second_pass_of, *inlay.after, *(inlay.seam.along if inlay.seam else ()))
        level[name] = 1 + max((depth(lower, seen | {name}) for lower in under), default=0)
        return level[name]

    return sorted(inlays, key=lambda drawn: depth(drawn.inlay.name, frozenset()))


def face_art(
    job: Job,
    face: DrawnFace,
    fits: tuple[Fit, ...],
    palette: Mapping[str, str],
    letters: Mapping[str, str],
) -> FaceArt:
    """Return a face ready for drawing; a bare stroke takes the width of its widest bit."""
    widths = {
        fit.drawn.thing.name: fit.bits[0].diameter_mm
        for fit in fits
        if fit.drawn.thing.face == face.name and fit.bits
    }
    ordered = cutting_order(face.inlays)
    regions = [_region(drawn, widths.get(drawn.inlay.name, BARE_STROKE_MM)) for drawn in ordered]
    above = MultiPolygon()
    in_sight: list[MultiPolygon] = []
    for region in reversed(regions):
        in_sight.append(_polygons(region.difference(above)))
        above = _polygons(above.union(region))
    arts = tuple(
        InlayArt(
            inlay=drawn.inlay,
            letter=letters[drawn.inlay.mix.name],
            colour=palette.get(drawn.inlay.mix.name, drawn.inlay.mix.colour),
            path=region_path(region),
            region=region,
            in_sight=seen,
        )
        for drawn, region, seen in zip(ordered, regions, reversed(in_sight), strict=True)
    )
    hidden = not face.visible.is_empty and not face.visible.equals(face.trim)
    laid = face.laid
    defects = laid.defects if laid is not None and face.name == "front" else MultiPolygon()
    return FaceArt(
        pieces=tuple(
            f"{number} {piece.called}" if piece.name else piece.called
            for number, piece in enumerate(laid.pieces if laid is not None else (), start=1)
        ),
        defects="" if defects.is_empty else region_path(defects),
        name=face.name,
        length_mm=job.blank.length_mm,
        width_mm=job.blank.width_mm,
        turn_about_x=job.blank.turn_about_x,
        grain_along_x=job.blank.grain_along_x,
        wood=job.blank.wood.colour,
        inlays=arts,
        holes=tuple(
            HoleArt(pattern.holes, hole.x_mm, hole.y_mm)
            for pattern in face.holes
            for hole in pattern.places
        ),
        trim=face.trim,
        trim_path=region_path(face.blank if face.trim.is_empty else face.trim),
        edge_path=line_path(edges(face.trim)),
        border_path=line_path(edges(face.visible)) if hidden else "",
        inch=job.shop.units is System.INCH,
        empty=tuple(
            region_path(_region(drawn, widths.get(drawn.pocket.name, BARE_STROKE_MM)))
            for drawn in face.pockets
        ),
        shaped=tuple(
            line_path(edges(shaped.inside(shaped.reaches_mm)))
            for edge in face.edges
            if (shaped := shaped_edge(job, face, edge)) is not None
        ),
    )


def _region(drawn: Drawn, width_mm: float) -> MultiPolygon:
    """Return the region of an inlay; a bare stroke gets the width of the bit."""
    if not drawn.region.is_empty:
        return drawn.region
    return stroke_region(drawn.strokes, width_mm)


def stroke_region(lines: MultiLineString, width_mm: float) -> MultiPolygon:
    """Return what a round bit of that width covers along lines."""
    return _polygons(lines.buffer(width_mm / 2.0))


def _polygons(shape: shapely.Geometry) -> MultiPolygon:
    """Return the polygons of any geometry as one MultiPolygon."""
    parts = shapely.get_parts(shapely.get_parts(shape))
    return MultiPolygon([part for part in parts if part.geom_type == "Polygon" and part.area > 0])
