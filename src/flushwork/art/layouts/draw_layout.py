"""A part of a layout as artwork, and its holes as places; what stands too close is refused."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

import shapely
from shapely import MultiLineString
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import Shapes
from flushwork.art.faults import refusal
from flushwork.art.glyph_outlines import draw_text
from flushwork.art.layouts.game_boards import (
    lay_mancala,
    lay_morris,
    lay_pointed,
    lay_solitaire,
    lay_squares,
    lay_star,
    lay_track,
)
from flushwork.art.layouts.laid import Laid, LaidWords, discs
from flushwork.art.layouts.ornament import lay_border, lay_fans, lay_rose, lay_scale
from flushwork.art.regions import many, many_lines, united
from flushwork.art.strokes import draw_strokes
from flushwork.core.findings import Source
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.job.keys.games import AREA, HOLES, LINES
from flushwork.job.records import (
    BorderRun,
    CompassRose,
    CornerFans,
    Holes,
    Laying,
    LayoutArt,
    LayoutHoles,
    MancalaRows,
    MarkedScale,
    Morris,
    PegTrack,
    Point,
    PointedBoard,
    Solitaire,
    Squares,
    StarHalma,
    StrokeArt,
    TextArt,
)

_LAID: Final[Mapping[type, Callable[[Any, float], Laid]]] = {
    Squares: lay_squares,
    PointedBoard: lay_pointed,
    Morris: lay_morris,
    Solitaire: lay_solitaire,
    MancalaRows: lay_mancala,
    StarHalma: lay_star,
    PegTrack: lay_track,
    CompassRose: lay_rose,
    BorderRun: lay_border,
    CornerFans: lay_fans,
    MarkedScale: lay_scale,
}


def lay(of: Laying, tolerance_mm: float = FLATTENING_MM) -> Laid:
    """Return the parts of a board or an ornament; curves are flattened within the tolerance."""
    return _LAID[type(of)](of, tolerance_mm)


def draw_layout(art: LayoutArt, folder: Path, source: Source, tolerance_mm: float) -> Shapes:
    """Return a part of a layout about its middle.

    Raises JobRefusedError where the part is empty, its lines or discs meet because they are too
    wide, or its numbers run into each other or into holes.
    """
    laid = lay(art.layout.by, tolerance_mm)
    if art.kind == AREA:
        region = laid.areas[art.part]
        if region.is_empty:
            raise refusal(
                source,
                "layout-part-empty",
                f"the layout {art.layout.name} has no {art.part}",
                "give its measures under `layouts`, or leave this part out",
            )
        return Shapes(region=region)
    if art.kind == LINES:
        _check_room(art.layout.name, art.part, art.width_mm, laid, source)
        strokes = StrokeArt(laid.lines[art.part], art.width_mm, smooth=False, ends=art.ends)
        return draw_strokes(strokes, source, tolerance_mm)
    if art.kind == HOLES:
        disc_mm = art.disc_mm or 0.0
        _check_room(art.layout.name, art.part, disc_mm, laid, source)
        return Shapes(region=discs(laid.holes[art.part], disc_mm, tolerance_mm))
    return _words(art, laid, folder, source, tolerance_mm)


def layout_places(pattern: LayoutHoles, holes: Holes) -> tuple[Point, ...]:
    """Return the places of a layout's holes; raise JobRefusedError where they would meet."""
    laid = lay(pattern.layout.by)
    parts = [pattern.part] if pattern.part else list(laid.holes)
    for part in parts:
        _check_room(pattern.layout.name, part, holes.diameter_mm, laid, holes.source)
    return tuple(place for part in parts for place in laid.holes[part])


def _check_room(name: str, part: str, wide_mm: float, laid: Laid, source: Source) -> None:
    room_mm = laid.room_mm[part]
    if wide_mm < room_mm:
        return
    raise refusal(
        source,
        "layout-too-tight",
        f"{part} of the layout {name} stand {room_mm:.2f} mm apart, so that they run into each "
        f"other {wide_mm:g} mm wide",
        f"make the layout larger, or write less than {room_mm:.2f} mm here",
    )


def _words(art: LayoutArt, laid: Laid, folder: Path, source: Source, tolerance_mm: float) -> Shapes:
    labels, size_mm = laid.words[art.part], art.size_mm or 0.0
    known: dict[str, Shapes] = {}
    drawn: list[Shapes] = []
    for label in labels:
        if label.words not in known:
            words = TextArt(label.words, art.font, size_mm, 0.0, art.width_mm)
            known[label.words] = draw_text(words, folder, source, tolerance_mm)
        drawn.append(_at_its_place(known[label.words], label))
    places = shapely.multipoints(laid.places) if laid.places else None
    clear_mm = min(laid.room_mm.values(), default=0.0) / 2.0
    inks = [each.strokes if each.region.is_empty else each.region for each in drawn]
    tree = shapely.STRtree(inks)
    for at, ink in enumerate(inks):
        near = [int(other) for other in tree.query(ink, predicate="intersects") if other > at]
        hit = places is not None and ink.distance(places) < clear_mm
        if near or hit:
            what = f"'{labels[near[0]].words}'" if near else "a hole"
            raise refusal(
                source,
                "layout-numbers-meet",
                f"'{labels[at].words}' of the layout {art.layout.name} runs into {what}",
                f"write a smaller `size` than {size_mm:g} mm, or make the layout larger",
            )
    lines = [line for each in drawn for line in each.strokes.geoms]
    return Shapes(united([each.region for each in drawn]), MultiLineString(lines))


def _at_its_place(drawn: Shapes, label: LaidWords) -> Shapes:
    """Move words so that their box touches the label's place from the side it leads to."""
    parts: list[BaseGeometry] = [
        part for part in (drawn.region, drawn.strokes) if not part.is_empty
    ]
    boxes = list(itertools.chain.from_iterable(part.bounds for part in parts))
    left, low, right, high = min(boxes[::4]), min(boxes[1::4]), max(boxes[2::4]), max(boxes[3::4])
    half = abs(label.away[0]) * (right - left) / 2.0 + abs(label.away[1]) * (high - low) / 2.0
    move_x = label.at[0] + half * label.away[0] - (left + right) / 2.0
    move_y = label.at[1] + half * label.away[1] - (low + high) / 2.0
    return Shapes(
        many(translate(drawn.region, move_x, move_y)),
        many_lines(translate(drawn.strokes, move_x, move_y)),
    )
