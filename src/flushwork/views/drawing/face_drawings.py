"""Drawings of a face: colour map, as drawn, what a setup cuts, where findings lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.gcode.swept import Box
from flushwork.views.book_records import Picture
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import (
    INK,
    LABEL_MM,
    STRIP_MM,
    WORK,
    Space,
    axes_mark,
    board,
    callout_mark,
    callouts,
    dot_mark,
    empty_mark,
    holes_mark,
    pin_mark,
    shade,
    spot_mark,
    spots,
    strip_mark,
    tint,
)
from flushwork.views.drawing.face_art import FaceArt

HATCH_MM: Final = 4.0
"""From line to line of a hatched region, on paper."""
SPOILBOARD_MM: Final = 8.0
"""Spoilboard shown around a blank."""
GUTTER_MM: Final = 9.0
"""Room on paper at both sides of a colour map for the letters of what is too small for one."""


def fitted(art: FaceArt, space: Space, gutter_mm: float, behind: bool = False) -> svg.Frame:
    """Return the largest frame of the face in a space, centred between two gutters.

    ``behind`` mirrors it as it is seen through the board after turning over.
    """
    inner = space.width_mm - 2.0 * gutter_mm
    scale = min(inner / art.length_mm, space.height_mm / art.width_mm)
    return svg.Frame(
        length_mm=art.length_mm,
        width_mm=art.width_mm,
        scale=scale,
        left_mm=(space.width_mm - art.length_mm * scale) / 2.0,
        top_mm=0.3,
        flip_x=behind and not art.turn_about_x,
        flip_y=behind and art.turn_about_x,
    )


def colour_map(art: FaceArt, space: Space, *, behind: bool) -> Picture:
    """Return the colour map: each region in its mix's colour, its letter on it or beside it."""
    frame = fitted(art, space, GUTTER_MM, behind)
    height = art.width_mm * frame.scale + STRIP_MM
    found = spots(art.inlays, frame)
    beside = callouts(art.inlays, frame, found, space.width_mm)
    parts = [
        board(art, frame, tint(art.wood, 0.62)),
        svg.group(
            (
                svg.path(
                    inlay.path,
                    fill=inlay.colour,
                    fill_rule="evenodd",
                    stroke=INK,
                    stroke_width=frame.line(0.1),
                )
                for inlay in art.inlays
            ),
            transform=frame.matrix,
        ),
        empty_mark(art, frame, tint(art.wood, 0.35)),
        holes_mark(art, frame),
        *(spot_mark(spot) for spot in found),
        *(callout_mark(callout) for callout in beside),
        strip_mark(art, frame, space.width_mm),
    ]
    seen = "mirrored, as seen through from behind" if behind else "as seen from the working side"
    alt = f"Colour map of the {art.name} face, {seen}"
    return Picture(
        alt=alt,
        caption=seen[0].upper() + seen[1:],
        width_mm=space.width_mm,
        height_mm=height,
        svg=svg.drawing(parts, space.width_mm, height, alt),
    )


def kept(art: FaceArt) -> tuple[float, float, float, float]:
    """Return the bounds (left, low, right, top) of what is left after trimming."""
    if art.trim.is_empty:
        return 0.0, 0.0, art.length_mm, art.width_mm
    left, low, right, top = art.trim.bounds
    return left, low, right, top


def as_drawn(art: FaceArt, space: Space) -> Picture:
    """Return the finished piece as the artwork was drawn: full colours, no letters, no waste."""
    left, low, right, top = kept(art)
    scale = min(space.width_mm / (right - left), space.height_mm / (top - low))
    width, height = (right - left) * scale, (top - low) * scale
    frame = svg.Frame(
        art.length_mm, art.width_mm, scale, -left * scale, (top - art.width_mm) * scale
    )
    parts = [
        svg.group(
            (
                svg.path(art.trim_path, fill=art.wood, fill_rule="evenodd"),
                *(
                    svg.path(inlay.path, fill=inlay.colour, fill_rule="evenodd")
                    for inlay in art.inlays
                ),
            ),
            transform=frame.matrix,
        ),
        empty_mark(art, frame, shade(art.wood, 0.2)),
        holes_mark(art, frame, fill="#3a2a20"),
    ]
    alt = f"The {art.name} face as drawn"
    return Picture(alt, "As drawn", width, height, svg.drawing(parts, width, height, alt))


@dataclass(frozen=True, slots=True)
class CutHere:
    """What one setup cuts: path data of regions and of lines, hole places, its zero.

    ``swept`` is what its bits sweep over, by that zero: no clamp may stand there.  ``dowels``
    are (x, y, diameter), ``clamps`` and ``stops`` path data, ``tape`` that of the strips beneath;
    ``first`` is where its first file begins.
    """

    regions: tuple[str, ...]
    lines: tuple[str, ...]
    points: tuple[tuple[float, float, float], ...]
    origin_mm: tuple[float, float]
    swept: Box | None = None
    dowels: tuple[tuple[float, float, float], ...] = ()
    clamps: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    tape: str = ""
    first: tuple[float, float] | None = None


def setup_drawing(art: FaceArt, cut: CutHere, space: Space) -> Picture:
    """Return the face with what is cut there standing out, its zero, grain and first move.

    It lies on the spoilboard; strips of tape beneath it are drawn yellow, dowels black, clamps and
    stops grey; within the broken line no clamp may stand.  All words are 10 point.
    """
    foot = 11.0
    frame = _around(art, cut, Space(space.width_mm, space.height_mm - foot), 9.0)
    box = _seen(art, cut)
    height = (box.far_mm - box.near_mm) * frame.scale + foot
    ghost = "#cfc8bf"
    parts = [
        _spoilboard(frame, box),
        board(art, frame, "#f6f2ec"),
        empty_mark(art, frame, "#ece6dd"),
        svg.group(
            (
                svg.path(
                    cut.tape,
                    fill="#f6e6b4",
                    fill_rule="evenodd",
                    fill_opacity="0.8",
                    stroke="#c9ad5c",
                    stroke_width=frame.line(0.12),
                ),
                *(
                    svg.path(inlay.path, fill="#e3ddd4", fill_rule="evenodd")
                    for inlay in art.inlays
                ),
                *(
                    svg.path(data, fill=WORK, fill_rule="evenodd", fill_opacity="0.75")
                    for data in cut.regions
                ),
                *(
                    svg.path(data, fill="none", stroke=WORK, stroke_width=frame.line(0.45))
                    for data in cut.lines
                ),
                *(
                    svg.path(data, fill="#9aa3ab", stroke=INK, stroke_width=frame.line(0.4))
                    for data in (*cut.clamps, *cut.stops)
                ),
            ),
            transform=frame.matrix,
        ),
        *(
            dot_mark(frame, hole.x_mm, hole.y_mm, hole.holes.diameter_mm, ghost)
            for hole in art.holes
        ),
        *(dot_mark(frame, x, y, diameter, WORK) for x, y, diameter in cut.points),
        *(dot_mark(frame, x, y, diameter, INK) for x, y, diameter in cut.dowels),
        *_laid(art, frame),
        _swept(frame, cut),
        axes_mark(frame, cut.origin_mm),
        _first(frame, cut.first, space.width_mm),
        _grain(art, space.width_mm, height - 2.2),
    ]
    alt = (
        f"What is cut in this setup, {art.name} face, on the spoilboard, with X0 Y0, the grain, "
        "tape, dowels, clamps, stops, the place of the first move and, within the broken line, "
        "where no clamp may stand"
    )
    width = space.width_mm
    return Picture(alt, "", width, height, svg.drawing(parts, width, height, alt))


def pour_drawing(art: FaceArt, filled: Sequence[str], space: Space) -> Picture:
    """Return a face on which only what a pour fills is coloured."""
    frame = fitted(art, space, 0.4)
    height = art.width_mm * frame.scale + 0.6
    parts = [
        board(art, frame, "#ffffff"),
        svg.group(
            (
                svg.path(
                    inlay.path,
                    fill=inlay.colour if inlay.inlay.name in filled else "#eeeae4",
                    stroke=INK if inlay.inlay.name in filled else "none",
                    stroke_width=frame.line(0.15),
                    fill_rule="evenodd",
                )
                for inlay in sorted(art.inlays, key=lambda each: each.inlay.name in filled)
            ),
            transform=frame.matrix,
        ),
    ]
    alt = f"What this pour fills on the {art.name} face"
    width = space.width_mm
    return Picture(alt, f"{art.name}", width, height, svg.drawing(parts, width, height, alt))


def _spoilboard(frame: svg.Frame, seen: Box) -> str:
    """Draw as much of the spoilboard as the picture shows."""
    left, top = frame.place(seen.left_mm, seen.far_mm)
    right, bottom = frame.place(seen.right_mm, seen.near_mm)
    return svg.path(f"M{left:.2f} {top:.2f}H{right:.2f}V{bottom:.2f}H{left:.2f}z", fill="#dcd8d0")


def _first(frame: svg.Frame, place: tuple[float, float] | None, width_mm: float) -> str:
    """Draw a ring at the place of the first move, with its name beside it."""
    if place is None:
        return ""
    x, y = frame.place(*place)
    return (
        svg.shape("circle", cx=x, cy=y, r=2.2, fill="none", stroke="#ffffff", stroke_width=1.3)
        + svg.shape("circle", cx=x, cy=y, r=2.2, fill="none", stroke=INK, stroke_width=0.6)
        + _named(
            "first move", min(x + 3.0, width_mm - 21.0), y + (1.3 if x < width_mm - 24.0 else 6.0)
        )
    )


def _laid(art: FaceArt, frame: svg.Frame) -> list[str]:
    """Draw what is kept clear of on a plank, and each piece's number in the cut and its name."""
    parts = []
    if art.defects:
        hatched = svg.path(
            art.defects, fill="#b9a58f", fill_rule="evenodd", stroke=INK,
            stroke_width=frame.line(0.3), stroke_dasharray=frame.line(1.2),
        )  # fmt: skip
        parts.append(svg.group((hatched,), transform=frame.matrix))
    for text, part in zip(art.pieces, art.trim.geoms, strict=bool(art.pieces)):
        west, _, east, north = part.bounds
        x, y = frame.place((west + east) / 2.0, north)
        parts.append(_named(text, x - 0.25 * LABEL_MM * len(text), y + 4.0))
    return parts


def _named(text: str, x_mm: float, y_mm: float) -> str:
    """Return words of 10 point on a white ground."""
    wide = 0.5 * LABEL_MM * len(text)
    ground = svg.shape(
        "rect", x=x_mm - 0.4, y=y_mm - 3.0, width=wide + 0.8, height=4.0, rx=0.5, fill="#ffffff",
        fill_opacity="0.88",
    )  # fmt: skip
    return ground + svg.words(text, x_mm, y_mm, LABEL_MM, bold=True)


def _grain(art: FaceArt, width_mm: float, y: float) -> str:
    """Draw the grain as a double arrow at the lower right, with its name."""
    right = width_mm - 13.0
    if art.grain_along_x:
        tips = "m-1.8-1.1l1.8 1.1l-1.8 1.1m-8.4-2.2l-1.8 1.1l1.8 1.1"
        arrow = f"M{right - 14:.2f} {y - 1.2:.2f}h12{tips}"
    else:
        tips = "m-1.1 1.8l1.1-1.8l1.1 1.8m-2.2 2.8l1.1 1.8l1.1-1.8"
        arrow = f"M{right - 4:.2f} {y + 1.4:.2f}v-6.4{tips}"
    return svg.path(arrow, fill="none", stroke=INK, stroke_width="0.5") + svg.words(
        "grain", right, y, LABEL_MM
    )


def _seen(art: FaceArt, cut: CutHere) -> Box:
    """Return what a setup's picture shows: the blank, some spoilboard and all that bits sweep."""
    seen = Box(0.0, art.length_mm, 0.0, art.width_mm).grown(SPOILBOARD_MM)
    return seen if cut.swept is None else seen.and_also(cut.swept.moved(*cut.origin_mm))


def _around(art: FaceArt, cut: CutHere, space: Space, gutter_mm: float) -> svg.Frame:
    """Return the largest frame in which the blank and the region beside it are seen whole."""
    box = _seen(art, cut)
    wide, deep = box.right_mm - box.left_mm, box.far_mm - box.near_mm
    scale = min((space.width_mm - 2.0 * gutter_mm) / wide, space.height_mm / deep)
    return svg.Frame(
        length_mm=art.length_mm,
        width_mm=art.width_mm,
        scale=scale,
        left_mm=(space.width_mm - wide * scale) / 2.0 - box.left_mm * scale,
        top_mm=0.3 + (box.far_mm - art.width_mm) * scale,
    )


def _swept(frame: svg.Frame, cut: CutHere) -> str:
    """Draw the region that clamps stay out of."""
    if cut.swept is None:
        return ""
    box = cut.swept.moved(*cut.origin_mm)
    (left, bottom), (right, top) = (
        frame.place(box.left_mm, box.near_mm),
        frame.place(box.right_mm, box.far_mm),
    )
    x, y, wide, high = min(left, right), min(bottom, top), abs(right - left), abs(top - bottom)
    hatch = svg.path(
        hatching(x, y, wide, high), fill="none", stroke=WORK, stroke_width="0.12",
        stroke_opacity="0.45",
    )  # fmt: skip
    return hatch + svg.shape(
        "rect", x=x, y=y, width=wide, height=high, fill="none", stroke=WORK, stroke_width=0.35,
        stroke_dasharray="2 1.2",
    )  # fmt: skip


def hatching(x: float, y: float, wide: float, high: float) -> str:
    """Return lines at 45 degrees across a box on paper, ``HATCH_MM`` apart along its edges."""
    steps = []
    at = HATCH_MM
    while at < wide + high:
        x0, y0 = (x + at, y) if at <= wide else (x + wide, y + at - wide)
        x1, y1 = (x, y + at) if at <= high else (x + at - high, y + high)
        steps.append(f"M{x0:.2f} {y0:.2f}L{x1:.2f} {y1:.2f}")
        at += HATCH_MM
    return "".join(steps)


def places_drawing(
    art: FaceArt, pins: Sequence[tuple[int, str, float, float]], space: Space
) -> Picture:
    """Return the face with numbered pins (number, mark, x, y) where findings lie."""
    frame = fitted(art, space, 3.0)
    height = art.width_mm * frame.scale + 0.6
    parts = [
        board(art, frame, "#f6f2ec"),
        svg.group(
            (
                svg.path(inlay.path, fill=tint(inlay.colour, 0.6), fill_rule="evenodd")
                for inlay in art.inlays
            ),
            transform=frame.matrix,
        ),
        empty_mark(art, frame, "#ece6dd"),
        *(
            dot_mark(frame, hole.x_mm, hole.y_mm, hole.holes.diameter_mm, "#cfc8bf")
            for hole in art.holes
        ),
        *(pin_mark(number, mark, *frame.place(x, y)) for number, mark, x, y in pins),
    ]
    alt = f"Where findings lie on the {art.name} face"
    caption = f"{art.name.capitalize()} face"
    width = space.width_mm
    return Picture(alt, caption, width, height, svg.drawing(parts, width, height, alt))
