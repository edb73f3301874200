"""Faces, artwork and holes as text, every default visible."""

from __future__ import annotations

from flushwork.job.located import Path_
from flushwork.job.records import (
    ArcHoles,
    Art,
    Artwork,
    CircleArt,
    Face,
    GridHoles,
    Holes,
    Inlay,
    LineHoles,
    Placement,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    SvgArt,
    TextArt,
)
from flushwork.job.resolved_lines import Lines, listed, measure, pair, truth, words
from flushwork.units import Quantity, number_text


def _placement(out: Lines, place: Placement, path: Path_) -> None:
    out.add((*path, "at"), pair(place.x_mm, place.y_mm))
    out.add((*path, "from"), place.anchor)
    out.add((*path, "as drawn"), truth(place.as_drawn))
    out.add((*path, "turn"), measure(place.turn_rad, Quantity.ANGLE))
    if place.mirror:
        out.add((*path, "mirror"), place.mirror)
    out.add((*path, "scale"), number_text(place.scale, 9))
    if (place.columns, place.rows, place.around) == (1, 1, 1):
        return
    out.group((*path, "repeat"))
    if (place.columns, place.rows) != (1, 1):
        out.add((*path, "repeat", "columns"), str(place.columns))
        out.add((*path, "repeat", "rows"), str(place.rows))
        out.add((*path, "repeat", "pitch"), pair(place.pitch_x_mm, place.pitch_y_mm))
    out.add((*path, "repeat", "around"), str(place.around))


def _points(points: tuple[tuple[float, float], ...]) -> str:
    return f"[{', '.join(pair(x_mm, y_mm) for x_mm, y_mm in points)}]"


def _polygon(out: Lines, art: PolygonArt, path: Path_) -> None:
    out.group((*path, "polygon"))
    inside = (*path, "polygon")
    if art.points:
        out.add((*inside, "points"), _points(art.points))
        return
    out.add((*inside, "sides"), str(art.sides))
    out.add((*inside, "diameter"), measure(art.diameter_mm), stated=True)
    if art.inner_mm:
        out.add((*inside, "inner"), measure(art.inner_mm))


def _strokes(out: Lines, art: StrokeArt, path: Path_) -> None:
    if art.smooth:
        out.add((*path, "curve"), _points(art.lines[0]))
    else:
        lines = ", ".join(_points(line) for line in art.lines)
        out.add((*path, "lines"), f"[{lines}]")
    if art.width_mm:
        out.add((*path, "width"), measure(art.width_mm))
    out.add((*path, "closed"), truth(art.closed))
    out.add((*path, "ends"), art.ends)


def _plain_art(out: Lines, art: Art, path: Path_) -> None:
    if isinstance(art, SvgArt):
        out.add((*path, "svg"), words(art.file))
        if art.layers:
            out.add((*path, "layers"), listed(art.layers))
        if art.colours:
            out.add((*path, "colours"), listed(art.colours))
        if art.width_mm is not None:
            out.add((*path, "width"), measure(art.width_mm))
    elif isinstance(art, TextArt):
        out.add((*path, "text"), words(art.words))
        out.add((*path, "font"), words(art.font))
        out.add((*path, "size"), measure(art.size_mm))
        out.add((*path, "spacing"), measure(art.spacing, Quantity.SHARE))
        if art.width_mm:
            out.add((*path, "width"), measure(art.width_mm))
    elif isinstance(art, CircleArt) and art.hole_mm:
        out.group((*path, "ring"))
        out.add((*path, "ring", "outside"), measure(art.diameter_mm))
        out.add((*path, "ring", "inside"), measure(art.hole_mm))
    elif isinstance(art, CircleArt):
        out.add((*path, "circle"), measure(art.diameter_mm))
    elif isinstance(art, RectangleArt):
        size = f"{measure(art.length_mm)} x {measure(art.width_mm)}"
        out.add((*path, "rectangle"), size)
        out.add((*path, "round"), measure(art.round_mm))
        out.add((*path, "line"), measure(art.line_mm))


def artwork_lines(out: Lines, artwork: Artwork, path: Path_) -> None:
    """Write one piece of artwork and its place under ``path``."""
    if isinstance(artwork.art, PolygonArt):
        _polygon(out, artwork.art, path)
    elif isinstance(artwork.art, StrokeArt):
        _strokes(out, artwork.art, path)
    else:
        _plain_art(out, artwork.art, path)
    _placement(out, artwork.placement, path)


def _shapes(out: Lines, inlay: Inlay, path: Path_) -> None:
    if inlay.seam is not None:
        inside = (*path, "seam line")
        out.group(inside)
        out.add((*inside, "along"), listed(inlay.seam.along))
        out.add((*inside, "width"), measure(inlay.seam.width_mm))
        out.add((*inside, "edges"), "shared" if inlay.seam.shared_only else "all")
    elif out.stated((*path, "art")):
        out.group((*path, "art"))
        for index, each in enumerate(inlay.artwork):
            before = len(out.lines)
            artwork_lines(out, each, (*path, "art", index))
            first = out.lines[before]
            indent = len(first) - len(first.lstrip())
            out.lines[before] = f"{first[: indent - 2]}- {first[indent:]}"
    else:
        artwork_lines(out, inlay.artwork[0], path)


def _inlay(out: Lines, inlay: Inlay, path: Path_) -> None:
    out.add((*path, "name"), words(inlay.name))
    out.item((*path, "name"))
    _shapes(out, inlay, path)
    out.add((*path, "depth"), measure(inlay.depth_mm))
    out.add((*path, "measured from"), inlay.measured_from.value)
    out.add((*path, "fill"), words(inlay.mix.name))
    out.add((*path, "how"), inlay.manner.value)
    if inlay.cap is not None:
        out.add((*path, "cap"), words(inlay.cap.name))
        out.add((*path, "cap height"), measure(inlay.cap_mm))
    out.add((*path, "in layers"), truth(inlay.in_layers))
    if inlay.second_pass_of:
        out.add((*path, "second pass of"), listed(inlay.second_pass_of))
    if inlay.after:
        out.add((*path, "after"), listed(inlay.after))
    out.add((*path, "engrave"), truth(inlay.vee))
    if inlay.vee:
        out.add((*path, "twice"), truth(inlay.twice))
    if inlay.cutters:
        out.add((*path, "cutters"), listed(cutter.name for cutter in inlay.cutters))
    else:
        out.note((*path, "cutters"), "cutters: chosen from the shop's  (default)")
    out.add((*path, "sealed"), truth(inlay.sealed))


def _pattern(out: Lines, holes: Holes, path: Path_) -> None:
    pattern = holes.pattern
    if isinstance(pattern, GridHoles):
        out.group((*path, "grid"))
        out.add((*path, "grid", "columns"), str(pattern.columns))
        out.add((*path, "grid", "rows"), str(pattern.rows))
        out.add((*path, "grid", "pitch"), pair(pattern.pitch_x_mm, pattern.pitch_y_mm))
        if pattern.skip:
            skip = ", ".join(f"[{column}, {row}]" for column, row in pattern.skip)
            out.add((*path, "grid", "skip"), f"[{skip}]")
    elif isinstance(pattern, LineHoles):
        out.group((*path, "line"))
        out.add((*path, "line", "start"), pair(*pattern.start))
        out.add((*path, "line", "end"), pair(*pattern.end))
        out.add((*path, "line", "count"), str(pattern.count))
        out.add((*path, "line", "group"), str(pattern.group))
        out.add((*path, "line", "gap"), measure(pattern.gap_mm))
    elif isinstance(pattern, ArcHoles):
        out.group((*path, "arc"))
        out.add((*path, "arc", "diameter"), measure(pattern.diameter_mm))
        out.add((*path, "arc", "count"), str(pattern.count))
        out.add((*path, "arc", "start"), measure(pattern.start_rad, Quantity.ANGLE))
        out.add((*path, "arc", "sweep"), measure(pattern.sweep_rad, Quantity.ANGLE))
    elif pattern.file:
        out.add((*path, "points file"), words(pattern.file))
    else:
        out.add((*path, "points"), _points(pattern.points))


def _holes(out: Lines, holes: Holes, path: Path_) -> None:
    out.add((*path, "name"), words(holes.name))
    out.item((*path, "name"))
    _pattern(out, holes, path)
    _placement(out, holes.placement, path)
    out.add((*path, "diameter"), measure(holes.diameter_mm))
    out.add((*path, "depth"), "through" if holes.through else measure(holes.depth_mm))
    if holes.peg_mm is not None:
        out.add((*path, "peg"), measure(holes.peg_mm))
    out.add((*path, "flat bottom"), truth(holes.flat_bottom))
    if holes.cutter is not None:
        out.add((*path, "cutter"), words(holes.cutter.name))
    else:
        out.note((*path, "cutter"), "cutter: chosen from the shop's  (default)")


def face_lines(out: Lines, face: Face) -> None:
    """Write one face."""
    out.group((face.name,))
    if face.inlays:
        out.group((face.name, "inlays"))
    for index, inlay in enumerate(face.inlays):
        _inlay(out, inlay, (face.name, "inlays", index))
    if face.holes:
        out.group((face.name, "holes"))
    for index, holes in enumerate(face.holes):
        _holes(out, holes, (face.name, "holes", index))
