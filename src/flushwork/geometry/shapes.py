"""Artwork in its own frame, before it is placed on a face."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import MultiLineString, MultiPolygon

from flushwork.findings import Finding
from flushwork.geometry.regions import NO_LINES, NOTHING

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Shapes:
    """Region and centre lines in mm, y up, about the artwork's own origin.

    ``frame`` (least x, least y, greatest x, greatest y) stands in for the bounding box where the
    artwork goes on the face as drawn: an SVG's page, the bare origin for all else.  ``extent``
    stands in for it where other layers of the drawing go to the same place: the box of them all.
    ``scale`` is how large a drawing is read: 1 by its own physical size.
    """

    region: MultiPolygon = NOTHING
    strokes: MultiLineString = NO_LINES
    frame: Box = (0.0, 0.0, 0.0, 0.0)
    cautions: tuple[Finding, ...] = ()
    extent: Box | None = None
    scale: float = 1.0
