"""Still pictures of the board: for screens without a live one, and beside each finding.

The picture that leads a finding: its place on the board, or what on the board it is about.

Drawn when asked for, never while a page waits.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Set
from dataclasses import dataclass
from math import ceil, floor
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import DrawnFace, DrawnHoles
from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.bench.pages.whole_page import page_context, places_of
from flushwork.built import Build
from flushwork.core.findings import BLANK, TRIM_LINE, Finding, Subject
from flushwork.job.records import FaceName
from flushwork.process.stages import StageKind
from flushwork.strata.look import looks, pixels
from flushwork.strata.tiles import Window
from flushwork.views.book_records import UnitSystem
from flushwork.views.drawing.finding_pictures import Places, finding_picture
from flushwork.views.drawing.pictures import finished_picture, wood_look

CROP_MM: Final = 24.0
"""Side of the piece of board shown beside a finding."""

WIDEST_PX: Final = 1200


CROP_PX_MM: Final = (0.1, 0.15)
"""Side of a pixel of that piece: what a finding is about is often half a millimetre wide."""


def still(snapshot: Snapshot, stage: int, face: FaceName) -> bytes:
    """Return a face after a stage as PNG."""
    return png(seen(snapshot, stage, face)[0])


AROUND_MM: Final = 6.0
"""So much more is drawn around that piece: its light and shadows come from there."""


@cached_on
def part_still(snapshot: Snapshot, number: int, face: FaceName) -> bytes:
    """Return the finished face of another part of the job, by its number from 0, as PNG."""
    return finished_picture(snapshot.made.parts[number], face)


def crop(snapshot: Snapshot, face: FaceName, x_mm: float, y_mm: float) -> bytes:
    """Return the finished face around a place as PNG; the place is its middle."""
    finest, coarsest = CROP_PX_MM
    px_mm = min(max(_widest_px_mm(snapshot), finest), coarsest)
    whole = pixels(snapshot.film.spec, px_mm)
    half, around = round(CROP_MM / 2.0 / px_mm), round(AROUND_MM / px_mm)
    column = min(max(round(x_mm / px_mm), 0), whole.columns)
    row = min(max(round(y_mm / px_mm), 0), whole.rows)
    left, low = max(column - half - around, 0), max(row - half - around, 0)
    right = min(column + half + around, whole.columns)
    top = min(row + half + around, whole.rows)
    stage = snapshot.film.shots[-1].stage
    drawn = _drawn(snapshot, stage, face, px_mm, Window(left, low, right - left, top - low))
    # beyond the board's edges nothing is seen; rows count from the far edge down
    padded = np.pad(drawn, ((half, half), (half, half), (0, 0)))
    down, across = top - row, column - left
    return png(np.ascontiguousarray(padded[down : down + 2 * half, across : across + 2 * half]))


def seen(snapshot: Snapshot, stage: int, face: FaceName) -> tuple[NDArray[np.uint8], float]:
    """Return a face after a stage as seen from above, and the side of a pixel in mm."""
    px_mm = max(_widest_px_mm(snapshot), snapshot.film.px_mm)
    return _seen(snapshot, stage, face, px_mm), px_mm


def seen_part(
    snapshot: Snapshot, stage: int, face: FaceName, box_mm: tuple[float, float, float, float]
) -> tuple[NDArray[np.uint8], float, tuple[float, float]]:
    """Return what of a face is seen in a box (left, low, right, top), with its light from around.

    Then the side of a pixel and the place of the near left corner of what was drawn, in mm.
    """
    px_mm = max(_widest_px_mm(snapshot), snapshot.film.px_mm)
    whole = pixels(snapshot.film.spec, px_mm)
    left, low = (max(0, floor((each - AROUND_MM) / px_mm)) for each in box_mm[:2])
    right = min(whole.columns, ceil((box_mm[2] + AROUND_MM) / px_mm))
    top = min(whole.rows, ceil((box_mm[3] + AROUND_MM) / px_mm))
    drawn = _drawn(snapshot, stage, face, px_mm, Window(left, low, right - left, top - low))
    return drawn, px_mm, (left * px_mm, low * px_mm)


def png(picture: NDArray[np.uint8]) -> bytes:
    """Return a picture (rows, columns, 4) as PNG."""
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG", compress_level=3)
    return out.getvalue()


def _widest_px_mm(snapshot: Snapshot) -> float:
    spec = snapshot.film.spec
    return max(spec.length_mm, spec.width_mm) / WIDEST_PX


@cached_on
def _seen(snapshot: Snapshot, stage: int, face: FaceName, px_mm: float) -> NDArray[np.uint8]:
    return _drawn(snapshot, stage, face, px_mm, None)


def _drawn(
    snapshot: Snapshot, stage: int, face: FaceName, px_mm: float, part: Window | None
) -> NDArray[np.uint8]:
    made = snapshot.made
    state = made.replay.after(stage)
    trims = [each.number for each in made.plan.stages if each.kind is StageKind.TRIM]
    trim = next((each.trim for each in made.faces if each.name == face), MultiPolygon())
    within = trim if trims and stage >= trims[0] and not trim.is_empty else None
    wood, swatches = wood_look(made), made.palette.materials
    (picture,) = looks(
        state, made.replay.spec, face, wood, swatches, mm_per_px=px_mm, within=within, part=part
    )
    return picture


WIDE_PX: Final = 480
"""Pixels across the picture of what a finding is about."""
LEAST_MM: Final = 36.0
"""The least stretch of board shown around a small inlay."""
TRIM_MM: Final = 1.2
"""How broad the trim line is marked."""
FADED: Final = 0.62
"""How far what a finding is not about fades into paper."""
PAPER: Final = (243, 239, 232)


@dataclass(frozen=True, slots=True)
class About:
    """What a finding without a place is about: regions of a face, after the stage it belongs to.

    Without regions it is the whole board.
    """

    face: FaceName
    stage: int
    regions: MultiPolygon


def finding_still(snapshot: Snapshot, finding: Finding) -> bytes:
    """Return the picture that leads a finding, as PNG."""
    place = finding.place
    if place is not None and place.face in {face.name for face in snapshot.made.faces}:
        face: FaceName = "back" if place.face == "back" else "front"
        return crop(snapshot, face, place.x_mm, place.y_mm)
    return _marked(snapshot, about(snapshot.made, finding))


def finding_drawing(snapshot: Snapshot, finding: Finding, units: UnitSystem) -> str | None:
    """Return the figure of a finding drawn at its place, as SVG; None where there is none."""
    picture = finding_picture(finding, _places(snapshot, units))
    return picture.svg if picture is not None else None


@cached_on
def _places(snapshot: Snapshot, units: UnitSystem) -> Places:
    return places_of(page_context(snapshot.made, units, coarse=False))


def about(made: Build, finding: Finding) -> About:
    """Return what a finding without a place is about, as far as its subjects tell."""
    told = set(finding.told_of)
    last = made.plan.stages[-1].number if made.plan.stages else 0
    if BLANK in finding.subjects[:1]:
        return About("front", 0, MultiPolygon())
    subjects, stages = _subjects(made, told)
    by_face: dict[FaceName, MultiPolygon] = {
        face.name: _regions(face, subjects, trim=TRIM_LINE in told) for face in made.faces
    }
    face: FaceName = max(by_face, key=lambda name: by_face[name].area, default="front")
    stage = min(stages) if stages else last
    regions = by_face.get(face, MultiPolygon())
    return About(face, stage if not regions.is_empty else last, regions)


def _subjects(made: Build, told: Set[Subject]) -> tuple[set[tuple[str, str]], set[int]]:
    """Return inlays and holes with their faces that a finding is told of, and the stages meant.

    It may be told of them, of a mix or what is in one, of a bit or its file, or of a stage.
    """
    found: set[tuple[str, str]] = set()
    stages: set[int] = set()
    for face in made.faces:
        things = [each.subject for each in face.things]
        things += [Subject("holes", each.holes.name) for each in face.holes]
        found |= {(each.name, face.name) for each in things if each in told}
    if found:
        return found, stages
    for pour in made.pours:
        parts = {pour.mix.resin.name, *(part.name for part in (*pour.parts, *pour.clear_parts))}
        if told & {Subject("mix", pour.mix.name), *(Subject("material", part) for part in parts)}:
            found |= {(served.subject, served.face) for served in pour.serves}
            stages.add(pour.stage)
    for number, file in zip(made.cut_stages, made.gcode_files, strict=True):
        if told & {Subject("bit", file.order.bit.name), Subject("file", file.file_name)}:
            found |= {(each.subject, file.order.face) for each in file.order.operations}
            stages.add(number)
    for stage in made.plan.stages:
        if Subject("stage", stage.title) in told:
            found |= {(subject, stage.face) for subject in stage.subjects}
            stages.add(stage.number)
    return found, stages


def _regions(face: DrawnFace, subjects: set[tuple[str, str]], *, trim: bool) -> MultiPolygon:
    parts: list[BaseGeometry] = [
        each.region for each in face.things if (each.thing.name, face.name) in subjects
    ]
    parts += [_holes(each) for each in face.holes if (each.holes.name, face.name) in subjects]
    if trim and not face.trim.is_empty:
        parts.append(face.trim.boundary.buffer(TRIM_MM / 2.0))
    polygons = [each for each in _polygons(shapely.union_all(parts)) if not each.is_empty]
    return MultiPolygon(polygons)


def _holes(drawn: DrawnHoles) -> BaseGeometry:
    places = [shapely.Point(hole.x_mm, hole.y_mm) for hole in drawn.places]
    return shapely.union_all(shapely.buffer(places, drawn.holes.diameter_mm / 2.0))


def _polygons(shape: BaseGeometry) -> Iterable[Polygon]:
    return (part for part in shapely.get_parts(shape) if isinstance(part, Polygon))


def _marked(snapshot: Snapshot, what: About) -> bytes:
    """Return a face with everything faded but what is meant, close enough to be seen."""
    spec = snapshot.film.spec
    left, low, right, top = _window(spec.length_mm, spec.width_mm, what.regions)
    scale = WIDE_PX / (right - left)
    size = (WIDE_PX, max(1, round((top - low) * scale)))
    drawn, px_mm, near_left = seen_part(snapshot, what.stage, what.face, (left, low, right, top))
    x0, y0 = near_left
    far = y0 + drawn.shape[0] * px_mm
    box = ((left - x0) / px_mm, (far - top) / px_mm, (right - x0) / px_mm, (far - low) / px_mm)
    picture = Image.fromarray(drawn).resize(
        size, Image.Resampling.BILINEAR, box=_inside(box, drawn)
    )
    if what.regions.is_empty:
        return png(np.asarray(picture))
    mask = Image.new("L", size, 0)
    draw = ImageDraw.Draw(mask)
    rings: list[list[tuple[float, float]]] = []
    for part in what.regions.geoms:
        for ring, filled in ((part.exterior, 255), *((hole, 0) for hole in part.interiors)):
            points = [((x - left) * scale, (top - y) * scale) for x, y in ring.coords]
            draw.polygon(points, fill=filled)
            rings.append(points)
    alpha = picture.getchannel("A")
    plain = picture.convert("RGB")
    faded = Image.blend(plain, Image.new("RGB", size, PAPER), FADED)
    told = Image.composite(plain, faded, mask)
    pen = ImageDraw.Draw(told)
    for points in rings:
        pen.line(points, fill=(255, 255, 255), width=3)
    for points in rings:
        pen.line(points, fill=(42, 37, 32), width=1)
    told.putalpha(alpha)
    return png(np.asarray(told))


def _inside(
    box: tuple[float, float, float, float], whole: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]
) -> tuple[float, float, float, float]:
    """Return a box clipped to a picture."""
    high, wide = whole.shape[:2]
    return (max(0.0, box[0]), max(0.0, box[1]), min(float(wide), box[2]), min(float(high), box[3]))


def _window(
    length_mm: float, width_mm: float, regions: MultiPolygon
) -> tuple[float, float, float, float]:
    """Return the stretch of board that shows regions with some of what lies around them."""
    if regions.is_empty:
        return 0.0, 0.0, length_mm, width_mm
    x0, y0, x1, y1 = regions.bounds
    wide = min(length_mm, max(1.5 * (x1 - x0), 1.5 * (y1 - y0) * 4.0 / 3.0, LEAST_MM))
    high = min(width_mm, 0.75 * wide)
    left = min(max((x0 + x1 - wide) / 2.0, 0.0), length_mm - wide)
    low = min(max((y0 + y1 - high) / 2.0, 0.0), width_mm - high)
    return left, low, left + wide, low + high
