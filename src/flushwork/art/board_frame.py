"""The blank, the trim line and what a hidden border leaves in sight, in both faces' frames."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.affinity import affine_transform

from flushwork.art.drawn import Box, Shapes
from flushwork.art.faults import refusal
from flushwork.art.placement import Affine, place, scaling, turning
from flushwork.art.regions import many, offset
from flushwork.cutlist.packing import Seat
from flushwork.job.records import Blank, FaceName, Outline


@dataclass(frozen=True, slots=True)
class PiecePlace:
    """Where a piece lies on a face: the box of its outline in its own frame, the map onto the face.

    ``kind`` is empty for pieces of the trim line, ``name`` where pieces have no names.
    """

    onto: Box
    to_face: Affine | None = None
    kind: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Board:
    """Blank, trim line and visible part of one face, in that face's frame.

    ``spots`` are the pieces that artwork is placed on: the whole trim line where there is no plank.
    """

    blank: MultiPolygon
    trim: MultiPolygon
    visible: MultiPolygon
    spots: tuple[PiecePlace, ...] = ()


def front_board(blank: Blank, outline: Outline, drawn: Shapes | None) -> Board:
    """Return the front's board; ``drawn`` is the trim line's artwork in its own frame.

    Raises JobRefusedError where the hidden border leaves nothing in sight.
    """
    whole = many(shapely.box(0.0, 0.0, blank.length_mm, blank.width_mm))
    trim = whole
    if drawn is not None and outline.artwork is not None:
        trim = place(drawn, outline.artwork.placement, whole.bounds).region
    return seen_board(blank, outline, trim, (PiecePlace(trim.bounds),))


def seen_board(
    blank: Blank, outline: Outline, trim: MultiPolygon, spots: tuple[PiecePlace, ...]
) -> Board:
    """Return the front's board with what the hidden border leaves in sight.

    Raises JobRefusedError where that is nothing.
    """
    whole = many(shapely.box(0.0, 0.0, blank.length_mm, blank.width_mm))
    visible = offset(trim, -outline.hidden_mm) if outline.hidden_mm > 0.0 else trim
    if visible.is_empty:
        raise refusal(
            outline.source,
            "hidden-border-covers-all",
            f"a hidden border of {outline.hidden_mm:g} mm leaves nothing of the board in sight",
            "make the hidden border narrower",
        )
    return Board(whole, trim, visible, spots)


def back_map(blank: Blank) -> Affine:
    """Return the map from the front's frame to the back's, which is its own inverse.

    Flipped top to bottom, the blank's far edge comes near: back (x, y) lies behind front
    (x, W - y).  Flipped side to side, right becomes left: (L - x, y).
    """
    if blank.turn_about_x:
        return scaling(1.0, -1.0).moved(0.0, blank.width_mm)
    return scaling(-1.0, 1.0).moved(blank.length_mm, 0.0)


def board_of(name: FaceName, front: Board, blank: Blank) -> Board:
    """Return the board in the frame of one face."""
    if name == "front":
        return front
    onto_back = back_map(blank)
    whole, trim, visible = (
        many(affine_transform(part, onto_back.numbers))
        for part in (front.blank, front.trim, front.visible)
    )
    if all(spot.to_face is None for spot in front.spots):
        return Board(whole, trim, visible, (PiecePlace(trim.bounds),))
    # a piece is flipped as its plank is, about its own zero
    flip = scaling(1.0, -1.0) if blank.turn_about_x else scaling(-1.0, 1.0)
    return Board(
        whole, trim, visible, tuple(_flipped(each, onto_back, flip) for each in front.spots)
    )


def _flipped(spot: PiecePlace, onto_back: Affine, flip: Affine) -> PiecePlace:
    west, south, east, north = spot.onto
    mapped = flip.apply(np.array([[west, south], [east, north]]))
    (left, low), (right, high) = mapped.min(axis=0).tolist(), mapped.max(axis=0).tolist()
    to_face = onto_back.after((spot.to_face or Affine()).after(flip))
    return replace(spot, onto=(left, low, right, high), to_face=to_face)


def spots_of(
    seats: Sequence[Seat], boxes: dict[str, Box], names: Sequence[str]
) -> tuple[PiecePlace, ...]:
    """Return where pieces lie on the front; ``names`` are those of the trim line's pieces."""
    waiting = iter(names)
    return tuple(
        PiecePlace(
            onto=boxes[seat.kind],
            to_face=turning(seat.quarters * math.pi / 2.0).moved(seat.x_mm, seat.y_mm),
            kind=seat.kind,
            name="" if seat.kind else next(waiting, ""),
        )
        for seat in seats
    )
