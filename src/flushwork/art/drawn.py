"""Artwork once it is geometry: what the later rooms cut, fill and draw.

Artwork in its own frame, before it is placed on a face.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely import MultiLineString, MultiPolygon

from flushwork.art.regions import NO_LINES, NOTHING
from flushwork.core.findings import Finding, Subject
from flushwork.job.records import Edge, FaceName, Hanger, Holes, Inlay, Job, Pocket
from flushwork.runtime.memo import CompareById


@dataclass(frozen=True, slots=True)
class DrawnInlay:
    """An inlay and its region: valid polygons with holes, in mm in the face's frame.

    ``strokes`` are the centre lines where the inlay is made of lines (seams, strokes); a stroke of
    width 0 has an empty region until a bit gives it one.
    """

    inlay: Inlay
    region: MultiPolygon
    strokes: MultiLineString

    @property
    def thing(self) -> Inlay:
        """What of the job it is."""
        return self.inlay

    @property
    def subject(self) -> Subject:
        """What a finding calls it."""
        return Subject("inlay", self.inlay.name)


@dataclass(frozen=True, slots=True)
class DrawnPocket:
    """A pocket left empty and its region, as of an inlay."""

    pocket: Pocket
    region: MultiPolygon
    strokes: MultiLineString

    @property
    def thing(self) -> Pocket:
        """What of the job it is."""
        return self.pocket

    @property
    def subject(self) -> Subject:
        """What a finding calls it."""
        return Subject("pocket", self.pocket.name)


Drawn = DrawnInlay | DrawnPocket
"""What bits are fitted to: an inlay, or a pocket left empty."""


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole: its place in the face's frame and its number within its pattern, from 1."""

    number: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class DrawnHoles:
    """A hole pattern and its holes in reading order."""

    holes: Holes
    places: tuple[Hole, ...]


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """A piece on a plank: the name that it is given, and what its label calls it."""

    name: str
    called: str


@dataclass(frozen=True, slots=True)
class LaidPlank(CompareById):
    """Pieces laid on one plank, in the order of the trim line's parts on both faces.

    ``defects`` are on the front; ``used_mm`` of the plank's length are taken, ``share`` of that
    ends in pieces.
    """

    pieces: tuple[LaidPiece, ...]
    defects: MultiPolygon
    used_mm: float
    share: float
    warnings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class DrawnFace(CompareById):
    """Everything on one face.

    ``trim`` is the final outline and ``visible`` the trim line less the hidden border, both in
    this face's frame (mirrored for the back); ``blank`` the whole blank.  ``warnings`` are what
    the artwork gave cause to mention without being unusable.
    """

    name: FaceName
    inlays: tuple[DrawnInlay, ...]
    holes: tuple[DrawnHoles, ...]
    blank: MultiPolygon
    trim: MultiPolygon
    visible: MultiPolygon
    warnings: tuple[Finding, ...] = ()
    pockets: tuple[DrawnPocket, ...] = ()
    edges: tuple[Edge, ...] = ()
    hangers: tuple[Hanger, ...] = ()
    laid: LaidPlank | None = None

    @property
    def things(self) -> tuple[Drawn, ...]:
        """Its inlays, then its pockets left empty."""
        return (*self.inlays, *self.pockets)

    @property
    def worked(self) -> bool:
        """Whether anything is cut into it."""
        return bool(self.things or self.holes or self.edges or self.hangers)


Begun = tuple[Job, tuple[DrawnFace, ...]]
"""A job read and its faces drawn: what every walk begins with."""


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
    warnings: tuple[Finding, ...] = ()
    extent: Box | None = None
    scale: float = 1.0
