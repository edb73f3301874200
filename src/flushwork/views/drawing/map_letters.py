"""Where the letters of a colour map go: on a region with room for it, else beside the board."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import shapely
from shapely import MultiPolygon, Point
from shapely.ops import nearest_points

from flushwork.views.drawing.face_art import InlayArt
from flushwork.views.drawing.svg import Frame

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
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Callout:
    """A letter beside the board and where its line ends, mm on paper."""

    inlay: str
    letter: str
    x_mm: float
    y_mm: float
    to_x_mm: float
    to_y_mm: float
    radius_mm: float


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
                found.append(
                    Spot(art.inlay.name, art.letter, *frame.place(x, y), radius_mm=DISC_MM)
                )
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
            result.append(Callout(*place, *target, radius_mm=DISC_MM))
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
