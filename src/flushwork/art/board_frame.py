"""The blank, the trim line and what a hidden border leaves in sight, in both faces' frames."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import MultiPolygon
from shapely.affinity import affine_transform

from flushwork.art.drawn import Shapes
from flushwork.art.faults import refusal
from flushwork.art.placement import Affine, place, scaling
from flushwork.art.regions import many, offset
from flushwork.job.records import Blank, FaceName, Outline


@dataclass(frozen=True, slots=True)
class Board:
    """Blank, trim line and visible part of one face, in that face's frame."""

    blank: MultiPolygon
    trim: MultiPolygon
    visible: MultiPolygon


def front_board(blank: Blank, outline: Outline, drawn: Shapes | None) -> Board:
    """Return the front's board; ``drawn`` is the trim line's artwork in its own frame.

    Raises JobRefusedError where the hidden border leaves nothing in sight.
    """
    whole = many(shapely.box(0.0, 0.0, blank.length_mm, blank.width_mm))
    trim = whole
    if drawn is not None and outline.artwork is not None:
        trim = place(drawn, outline.artwork.placement, whole.bounds).region
    visible = offset(trim, -outline.hidden_mm) if outline.hidden_mm > 0.0 else trim
    if visible.is_empty:
        raise refusal(
            outline.source,
            "hidden-border-covers-all",
            f"a hidden border of {outline.hidden_mm:g} mm leaves nothing of the board in sight",
            "make the hidden border narrower",
        )
    return Board(whole, trim, visible)


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
    numbers = back_map(blank).numbers
    return Board(
        *(
            many(affine_transform(part, numbers))
            for part in (front.blank, front.trim, front.visible)
        )
    )
