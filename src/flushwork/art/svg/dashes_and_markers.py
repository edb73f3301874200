"""What is laid along a line: its dashes, and the places and directions of its markers.

SVG 2, sections 13.5.6 (stroke-dasharray) and 13.7 (markers).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from flushwork.art.contours import Bezier, Contour, Piece, line
from flushwork.art.svg.numbers import UnreadableError, read_length_px
from flushwork.kernels.outlines import Points

MOST_DASHES: Final = 5_000
"""More dashes in one line than this are a trap and no drawing (assumed)."""


def dashes_of(style: Mapping[str, str]) -> tuple[tuple[float, ...], float]:
    """Return the lengths of dashes and gaps in turn, none for a whole line, and the offset."""
    text = style.get("stroke-dasharray", "none").strip()
    if text in ("", "none"):
        return (), 0.0
    lengths = [read_length_px(each) for each in text.replace(",", " ").split()]
    if any(each < 0.0 for each in lengths) or not sum(lengths) > 0.0:
        return (), 0.0
    if len(lengths) % 2:
        lengths *= 2
    return tuple(lengths), read_length_px(style.get("stroke-dashoffset", "0") or "0")


def dashed(points: Points, lengths: Sequence[float], offset: float) -> list[Points]:
    """Return the dashes (n, 2) of a line through points."""
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    period = sum(lengths)
    if way[-1] / period * (len(lengths) // 2) > MOST_DASHES:
        raise UnreadableError("svg-too-many-shapes", f"it has more than {MOST_DASHES} dashes")
    found: list[Points] = []
    at = -math.fmod(offset, period) - (period if offset < 0.0 else 0.0)
    while at < way[-1]:
        for index, length in enumerate(lengths):
            begin, end = max(at, 0.0), min(at + length, float(way[-1]))
            at += length
            if index % 2 or end < begin or (end == begin and length > 0.0):
                continue
            inner = points[(way > begin) & (way < end)]
            ends = [
                [np.interp(each, way, points[:, axis]) for axis in (0, 1)] for each in (begin, end)
            ]
            found.append(np.concatenate([[ends[0]], inner, [ends[1]]]))
    return found


@dataclass(frozen=True, slots=True)
class Vertex:
    """A corner of a line: which marker it takes (start, mid, end), and the way through it."""

    kind: str
    x: float
    y: float
    turn_rad: float


def vertices_of(contours: Sequence[Contour]) -> list[Vertex]:
    """Return the corners of a shape in drawing order, each with the direction of its marker."""
    found: list[tuple[Points, float]] = []
    for contour in contours:
        pieces = list(contour.pieces)
        closed = contour.closed
        if closed and pieces and (pieces[-1].end != contour.start).any():
            pieces.append(line(pieces[-1].end, contour.start))
        ways = [_ways(piece) for piece in pieces]
        corners = [contour.start, *(piece.end for piece in pieces)]
        for index, corner in enumerate(corners):
            into = ways[index - 1][1] if index or closed else None
            out = ways[index][0] if index < len(ways) else ways[0][0] if closed and ways else None
            found.append((corner, _between(into, out)))
    last = len(found) - 1
    kinds = ["start", *["mid"] * max(0, last - 1), "end"] if last > 0 else ["start"] * len(found)
    made = [
        Vertex(kind, float(corner[0]), float(corner[1]), turn)
        for kind, (corner, turn) in zip(kinds, found, strict=True)
    ]
    if len(made) == 1:
        made.append(Vertex("end", made[0].x, made[0].y, made[0].turn_rad))
    return made


def _ways(piece: Piece) -> tuple[Points, Points]:
    """Return the directions in which a piece begins and ends."""
    if isinstance(piece, Bezier):
        steps = np.diff(piece.controls, axis=0)
        moved = [step for step in steps if np.hypot(*step) > 0.0] or [np.array([1.0, 0.0])]
        return moved[0], moved[-1]
    sense = math.copysign(1.0, piece.sweep_rad)
    begin, end = piece.start_rad, piece.start_rad + piece.sweep_rad
    first, last = (
        sense * (math.cos(angle) * piece.axes[1] - math.sin(angle) * piece.axes[0])
        for angle in (begin, end)
    )
    return first, last


def _between(into: Points | None, out: Points | None) -> float:
    """Return the direction half way between two, of one alone, or 0."""
    units = [each / np.hypot(*each) for each in (into, out) if each is not None]
    if not units:
        return 0.0
    way = units[0] if len(units) == 1 else units[0] + units[1]
    if np.hypot(*way) < 1e-9:
        way = np.array([-units[0][1], units[0][0]])
    return math.atan2(float(way[1]), float(way[0]))
