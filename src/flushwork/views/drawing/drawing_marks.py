"""What every drawing of a face shares: colours, board, letters and their places, pins, axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import shapely
from shapely import MultiPolygon, Point
from shapely.ops import nearest_points

from flushwork.core.units.kinds import INCH_MM
from flushwork.views.drawing import svg
from flushwork.views.drawing.face_art import FaceArt, InlayArt
from flushwork.views.drawing.svg import Frame
from flushwork.views.figures import NO_BREAK, short

# ---- Where the letters of a colour map go: on a region with room for it, else beside the board


DISC_MM: Final = 2.0
"""Radius on paper of a letter's disc: the letter stands 2.8 mm high, as 8 point type."""

ROOM: Final = 1.25
"""A region takes a letter where a circle this much larger than the disc fits into it."""

CROWD_MM: Final = 4.0
"""How far off the middle an inlay may lie and still go to the emptier side, for each letter."""

MOST_SPOTS: Final = 16
"""Letters on the regions of one inlay at most; the largest get them."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A letter on a region, mm on paper."""

    inlay: str
    letter: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Callout(Spot):
    """A letter beside the board and where its line ends, mm on paper."""

    to_x_mm: float
    to_y_mm: float


def spots(inlays: tuple[InlayArt, ...], frame: Frame) -> tuple[Spot, ...]:
    """Return a letter for each part of a region that has room for one."""
    least_mm = DISC_MM * ROOM / frame.scale
    found: list[Spot] = []
    for art in inlays:
        parts = [part for part in art.in_sight.geoms if part.area > 3.0 * least_mm * least_mm]
        for part in sorted(parts, key=lambda part: -part.area)[:MOST_SPOTS]:
            circle = shapely.maximum_inscribed_circle(part, tolerance=least_mm / 4.0)
            if circle.length >= least_mm:
                (x, y), _ = circle.coords
                found.append(Spot(art.inlay.name, art.letter, *frame.place(x, y)))
    return tuple(found)


def callouts(
    inlays: tuple[InlayArt, ...], frame: Frame, found: tuple[Spot, ...], width_mm: float
) -> tuple[Callout, ...]:
    """Return a letter beside the board for each inlay that has none on it."""
    labelled = {spot.inlay for spot in found}
    waiting = [art for art in inlays if art.inlay.name not in labelled and not art.region.is_empty]
    edge = frame.left_mm
    sides = {"left": edge - 5.0, "right": width_mm - edge + 5.0}
    placed: dict[str, list[tuple[tuple[float, float], InlayArt]]] = {"left": [], "right": []}
    for art in waiting:
        x, y = frame.place(*_middle(art.in_sight if not art.in_sight.is_empty else art.region))
        crowded = len(placed["left"]) - len(placed["right"])
        side = "left" if x + crowded * CROWD_MM < width_mm / 2.0 else "right"
        placed[side].append((_nearest(art, frame, sides[side], y), art))
    result: list[Callout] = []
    for side, entries in placed.items():
        entries.sort(key=lambda entry: entry[0][1])
        rows = _variation([target[1] for target, _ in entries], frame)
        for row, (target, art) in zip(rows, entries, strict=True):
            place = (art.inlay.name, art.letter, sides[side], row)
            result.append(Callout(*place, *target))
    return tuple(result)


def _middle(region: MultiPolygon) -> tuple[float, float]:
    point = region.centroid
    return point.x, point.y


def _nearest(art: InlayArt, frame: Frame, x_mm: float, y_mm: float) -> tuple[float, float]:
    """Return the place on paper of the region's point nearest to a place on paper."""
    face_x = (x_mm - frame.left_mm) / frame.scale
    up = frame.width_mm - (y_mm - frame.top_mm) / frame.scale
    if frame.flip_x:
        face_x = frame.length_mm - face_x
    if frame.flip_y:
        up = frame.width_mm - up
    target = art.in_sight if not art.in_sight.is_empty else art.region
    near, _ = nearest_points(target, Point(face_x, up))
    return frame.place(near.x, near.y)


def _variation(wanted: list[float], frame: Frame) -> list[float]:
    """Return rows near the wanted ones, apart by a disc where the board's height allows."""
    if not wanted:
        return []
    low = frame.top_mm + DISC_MM
    high = frame.top_mm + frame.width_mm * frame.scale - DISC_MM
    gap = min(2.3 * DISC_MM, (high - low) / max(len(wanted) - 1, 1))
    rows: list[float] = []
    for y in wanted:
        rows.append(max(y, rows[-1] + gap if rows else low))
    ceiling = high
    for at in range(len(rows) - 1, -1, -1):
        rows[at] = min(rows[at], ceiling)
        ceiling = rows[at] - gap
    return rows


# ---- What every drawing of a face shares: colours, the board, letters, pins, axes, the scale bar


INK: Final = "#2b2622"


SOFT: Final = "#6f675e"


WORK: Final = "#b4552d"


LABEL_MM: Final = 3.6
"""Words in a picture of a card: a little over 10 point."""


STRIP_MM: Final = 8.0
"""Room on paper under a map for grain arrow and scale bar."""


BAR_STEPS_MM: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)


BAR_STEPS_INCH_MM: Final = tuple(
    INCH_MM * step for step in (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 4, 8, 16)
)


@dataclass(frozen=True, slots=True)
class Space:
    """The room on paper a drawing may take."""

    width_mm: float
    height_mm: float


def tint(colour: str, white: float) -> str:
    """Return a ``#rrggbb`` colour with that share of white in it."""
    parts = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{round(part + (255 - part) * white):02x}" for part in parts)


def shade(colour: str, black: float) -> str:
    """Return a ``#rrggbb`` colour with that share of black in it."""
    parts = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{round(part * (1.0 - black)):02x}" for part in parts)


def board(art: FaceArt, frame: svg.Frame, wood: str) -> str:
    """Blank, trim line, hidden border and the corner that is X0 Y0 of the face's frame."""
    left, top = frame.left_mm, frame.top_mm
    length, width = art.length_mm * frame.scale, art.width_mm * frame.scale
    corner_x, corner_y = frame.place(0.0, 0.0)
    blank = svg.shape(
        "rect", x=left, y=top, width=length, height=width, fill=wood,
        stroke=SOFT, stroke_width=0.15,
    )  # fmt: skip
    lines = svg.group(
        (
            svg.path(
                art.edge_path,
                fill="none",
                stroke=INK,
                stroke_width=frame.line(0.18),
                stroke_dasharray=f"{frame.line(1.6)} {frame.line(0.8)}",
            ),
            svg.path(
                art.border_path,
                fill="none",
                stroke=SOFT,
                stroke_width=frame.line(0.15),
                stroke_dasharray=f"{frame.line(0.4)} {frame.line(0.6)}",
            ),
        ),
        transform=frame.matrix,
    )
    inside_x = 1.6 if corner_x < left + length / 2.0 else -1.6
    inside_y = 1.6 if corner_y < top + width / 2.0 else -1.6
    return blank + lines + _origin(corner_x + inside_x, corner_y + inside_y)


def holes_mark(art: FaceArt, frame: svg.Frame, fill: str = "#ffffff") -> str:
    """Holes as rings; a through hole has a dot in it."""
    parts = []
    for hole in art.holes:
        x, y = frame.place(hole.x_mm, hole.y_mm)
        radius = max(hole.holes.diameter_mm * frame.scale / 2.0, 0.25)
        parts.append(svg.shape("circle", cx=x, cy=y, r=radius))
        if hole.holes.through:
            parts.append(svg.shape("circle", cx=x, cy=y, r=radius / 3.0, fill=INK))
    return svg.group(parts, fill=fill, stroke=INK, stroke_width="0.12")


def empty_mark(art: FaceArt, frame: svg.Frame, fill: str) -> str:
    """Pockets left empty: a ground of their own within a fine broken outline; shaped edges."""
    shaped = svg.group(
        (svg.path(data, fill="none") for data in art.shaped),
        transform=frame.matrix,
        stroke=SOFT,
        stroke_width=frame.line(0.25),
    )
    return shaped + svg.group(
        (svg.path(data, fill=fill, fill_rule="evenodd") for data in art.empty),
        transform=frame.matrix,
        stroke=INK,
        stroke_width=frame.line(0.2),
        stroke_dasharray=f"{frame.line(1.2)} {frame.line(0.7)}",
    )


def dot_mark(frame: svg.Frame, x_mm: float, y_mm: float, diameter_mm: float, fill: str) -> str:
    """Draw a hole or a dowel of so many mm, never smaller than can be seen."""
    x, y = frame.place(x_mm, y_mm)
    return svg.shape("circle", cx=x, cy=y, r=max(diameter_mm * frame.scale / 2.0, 0.35), fill=fill)


def spot_mark(spot: Spot) -> str:
    """Draw a letter on a white disc, readable over any colour."""
    return disc(spot.letter, spot.x_mm, spot.y_mm, DISC_MM)


def disc(letter: str, x_mm: float, y_mm: float, radius_mm: float) -> str:
    """Draw a letter on a white disc with a dark rim."""
    size = radius_mm * (1.45 if len(letter) == 1 else 1.1)
    return svg.shape(
        "circle", cx=x_mm, cy=y_mm, r=radius_mm, fill="#ffffff", fill_opacity="0.94",
        stroke=INK, stroke_width=0.14,
    ) + svg.words(letter, x_mm, y_mm + size * 0.355, size, anchor="middle", bold=True)  # fmt: skip


def callout_mark(callout: Callout) -> str:
    """Draw a letter beside the board with a hair line to its inlay."""
    line = f"M{callout.x_mm:.2f} {callout.y_mm:.2f}L{callout.to_x_mm:.2f} {callout.to_y_mm:.2f}"
    return (
        svg.path(line, fill="none", stroke="#ffffff", stroke_width="0.5", stroke_opacity="0.8")
        + svg.path(line, fill="none", stroke=INK, stroke_width="0.14")
        + svg.shape("circle", cx=callout.to_x_mm, cy=callout.to_y_mm, r=0.4, fill=INK)
        + spot_mark(callout)
    )


def pin_mark(number: int, mark: str, x_mm: float, y_mm: float) -> str:
    """Draw a number in the shape of its weight: square stop, triangle warning, round note."""
    text = svg.words(
        str(number), x_mm, y_mm + 1.0, svg.WORD_MM, anchor="middle", fill="#ffffff", bold=True
    )
    edge: dict[str, str | float] = {"stroke": "#ffffff", "stroke_width": 0.3}
    if mark == "must-fix":
        body = svg.shape(
            "rect", x=x_mm - 2.0, y=y_mm - 2.0, width=4.0, height=4.0, fill="#9c1f1f", **edge
        )
    elif mark == "warning":
        triangle = f"M{x_mm - 2.9:.2f} {y_mm + 1.9:.2f}h5.8l-2.9-5.2z"
        body = svg.path(triangle, fill="#a35c00", stroke="#ffffff", stroke_width="0.3")
    else:
        body = svg.shape("circle", cx=x_mm, cy=y_mm, r=2.1, fill="#4d5b66", **edge)
    return body + text


def _origin(x: float, y: float) -> str:
    """Draw the ring that marks X0 Y0 wherever a face is shown."""
    return svg.shape("circle", cx=x, cy=y, r=1.2, fill="#ffffff", stroke=INK, stroke_width=0.5)


def axes_mark(frame: svg.Frame, origin_mm: tuple[float, float]) -> str:
    """Draw the cross at X0 Y0 and its two arrows."""
    x, y = frame.place(*origin_mm)
    arrows = (
        f"M{x - 2.4:.2f} {y:.2f}h13.4m-1.8-1l1.8 1l-1.8 1"
        f"M{x:.2f} {y + 2.4:.2f}v-13.4m-1 1.8l1-1.8l1 1.8"
    )
    return (
        svg.path(arrows, fill="none", stroke="#ffffff", stroke_width="1.1")
        + svg.path(arrows, fill="none", stroke=INK, stroke_width="0.5")
        + _origin(x, y)
        + svg.words("X", x + 12.2, y + 1.3, LABEL_MM, bold=True)
        + svg.words("Y", x, y - 12.2, LABEL_MM, anchor="middle", bold=True)
        + svg.words("X0 Y0", x - 2.0, y + 5.6, LABEL_MM, bold=True)
    )


def bar_length_mm(room_mm: float, *, inch: bool = False) -> float:
    """Return the longest length, round in mm or ``inch``, that fits a room, in mm of wood."""
    steps = BAR_STEPS_INCH_MM if inch else BAR_STEPS_MM
    return max((step for step in steps if step <= room_mm), default=steps[0])


def strip_mark(art: FaceArt, frame: svg.Frame, width_mm: float) -> str:
    """Grain arrow on the left, scale bar on the right, under the board."""
    left, right = frame.left_mm, width_mm - frame.left_mm
    y = frame.top_mm + art.width_mm * frame.scale + 4.6
    if art.grain_along_x:
        arrow = f"M{left:.2f} {y:.2f}h12m-1.6-.9l1.6 .9l-1.6 .9m-8.8-1.8l-1.6 .9l1.6 .9"
        text_x = left + 13.5
    else:
        arrow = f"M{left + 2:.2f} {y + 2.6:.2f}v-5.2m-.9 1.4l.9-1.4l.9 1.4m-1.8 2.4l.9 1.4l.9-1.4"
        text_x = left + 4.5
    bar = bar_length_mm(art.length_mm / 4.0, inch=art.inch)
    on_paper = bar * frame.scale
    start = right - on_paper
    ticks = f"M{start:.2f} {y - 0.9:.2f}v1.8m0-.9h{on_paper:.2f}m0-.9v1.8"
    return (
        svg.path(arrow, fill="none", stroke=INK, stroke_width="0.25")
        + svg.words("grain", text_x, y + 0.9, svg.WORD_MM)
        + svg.path(ticks, fill="none", stroke=INK, stroke_width="0.25")
        + svg.words(f"{short(bar, 4)}{NO_BREAK}mm", start - 1.5, y + 0.9, svg.WORD_MM, anchor="end")
    )
