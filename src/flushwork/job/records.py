"""The job as every later room sees it: frozen, in mm, names already resolved to the shelf.

Frames.  Each face has its own frame, as seen by someone looking at that face with the blank
before them: x to the right along the blank's length, y away along its width, origin at the lower
left corner of the blank.  Heights (``z``) count up out of the face from its as-sawn plane.

Long because it is the contract of all later rooms, and declarations alone.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from flushwork.findings import Finding, Source
from flushwork.job.artwork import (
    Art,
    Artwork,
    CircleArt,
    Placement,
    Point,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    SvgArt,
    TextArt,
)
from flushwork.job.brought_records import Brought, BroughtFile, HeightZero
from flushwork.job.measured_records import MoistureReading, WitnessMark
from flushwork.shelf.items import (
    Cutter,
    Finish,
    Holding,
    KeepOut,
    Locating,
    Pigment,
    Resin,
    Sealer,
    Shop,
    Thinner,
    Timber,
)

__all__ = [
    "FACES",
    "Acceptance",
    "Allowances",
    "ArcHoles",
    "Art",
    "Artwork",
    "Bed",
    "Blank",
    "Brought",
    "BroughtFile",
    "CircleArt",
    "Face",
    "FaceName",
    "FinishPlan",
    "GridHoles",
    "HeightZero",
    "HolePattern",
    "Holes",
    "Inlay",
    "Job",
    "LineHoles",
    "LoosePart",
    "Manner",
    "MeasuredFrom",
    "Mix",
    "MixPigment",
    "MixSwatch",
    "MoistureReading",
    "Outline",
    "Placement",
    "Point",
    "PointHoles",
    "PolygonArt",
    "RectangleArt",
    "Seam",
    "StrokeArt",
    "SvgArt",
    "TextArt",
    "WitnessMark",
]

FaceName = Literal["front", "back"]
FACES: tuple[FaceName, ...] = ("front", "back")


class MeasuredFrom(StrEnum):
    """Which face a depth counts from."""

    FINISHED = "finished face"
    STANDING = "face as it stands"


class Manner(StrEnum):
    """How a fill goes in."""

    FLOODED = "flooded"
    SCRAPED = "scraped"
    CAPPED = "scraped and capped"


@dataclass(frozen=True, slots=True)
class Seam:
    """A line of ``width_mm`` along the edges of the inlays named in ``along``.

    ``shared_only`` keeps just the edges that two of them share; edges in the hidden border or
    outside the trim line are always left out.
    """

    along: tuple[str, ...]
    width_mm: float
    shared_only: bool


@dataclass(frozen=True, slots=True)
class MixPigment:
    """A pigment and its share of the mixed resin by weight."""

    pigment: Pigment
    share: float


@dataclass(frozen=True, slots=True)
class MixSwatch:
    """A cured swatch ``thickness_mm`` thick as it looks over black and over white (sRGB).

    ``glossy`` says that its surface is as it cured, read away from the mirror of the lamp.
    """

    over_black: str
    over_white: str
    thickness_mm: float
    glossy: bool = True


@dataclass(frozen=True, slots=True)
class Mix:
    """Resin, hardener, thinner and pigments, by ratio.

    ``ratio_resin`` : ``ratio_hardener`` is what the job says will be measured (``by_weight`` or
    by volume); the resin's own ratio is on its record.  ``thinner_share`` is of the whole liquid
    by volume.  ``opacity`` is the share of the contrast beneath that 1 mm of the cured fill takes
    away, so a fill t mm thick shows ``(1 - opacity) ** t`` of it.  ``bubbles`` is ``left``,
    ``flame``, ``hot air``, ``vacuum`` or ``pick``.  ``pinning`` is the share by which a scraped
    surface stays pinned to its edges.  ``heated_by`` is ``nothing``, ``heat lamp``, ``warm box`` or
    ``hot wood``.
    """

    name: str
    resin: Resin
    ratio_resin: float
    ratio_hardener: float
    by_weight: bool
    thinner: Thinner | None
    thinner_share: float
    pigments: tuple[MixPigment, ...]
    colour: str
    opacity: float
    bubbles: str
    source: Source
    swatch: MixSwatch | None = None
    pinning: float = 1.0
    heated_by: str = "nothing"

    @property
    def clear(self) -> bool:
        """Whether nothing colours this mix."""
        return not self.pigments


@dataclass(frozen=True, slots=True)
class Inlay:
    """Artwork + depth + fill.

    ``seam`` replaces ``artwork`` for a seam line.  ``second_pass_of`` names the inlays this one
    is cut into.  ``after`` lists inlays that must be levelled before this one is cut.
    ``cap_mm`` is how proud of the face a cap stands before levelling, 0 without one.
    ``vee`` asks for V engraving, ``twice`` for a second pass over its walls. ``in_layers`` lets a
    fill deeper than its resin's layer go in by several pours. ``cutters`` are the user's choice by
    name, empty for ours.
    """

    name: str
    face: FaceName
    artwork: tuple[Artwork, ...]
    seam: Seam | None
    depth_mm: float
    measured_from: MeasuredFrom
    mix: Mix
    manner: Manner
    cap: Mix | None
    cap_mm: float
    second_pass_of: tuple[str, ...]
    after: tuple[str, ...]
    vee: bool
    cutters: tuple[Cutter, ...]
    sealed: bool
    source: Source
    depth_source: Source
    in_layers: bool = False
    twice: bool = False


@dataclass(frozen=True, slots=True)
class GridHoles:
    """Holes on a grid centred on the pattern's place; ``skip`` leaves (column, row) out, from 1."""

    columns: int
    rows: int
    pitch_x_mm: float
    pitch_y_mm: float
    skip: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class LineHoles:
    """``count`` holes from ``start`` to ``end``; ``group`` > 0 opens a gap after so many."""

    start: Point
    end: Point
    count: int
    group: int
    gap_mm: float


@dataclass(frozen=True, slots=True)
class ArcHoles:
    """``count`` holes on an arc about the place, from ``start_rad`` through ``sweep_rad``."""

    diameter_mm: float
    count: int
    start_rad: float
    sweep_rad: float


@dataclass(frozen=True, slots=True)
class PointHoles:
    """Holes at points typed in the job or read from a file of ``x, y`` lines."""

    points: tuple[Point, ...]
    file: str


HolePattern = GridHoles | LineHoles | ArcHoles | PointHoles


@dataclass(frozen=True, slots=True)
class Holes:
    """A hole pattern: ``depth_mm`` from the finished face, ``through`` for all the way.

    A hole ``through`` carries the blank's as-sawn thickness as its depth.  ``peg_mm`` is the
    diameter of the peg it shall take once finished.  The pattern's own zero (a grid's middle, an
    arc's centre, the zero of typed points) goes to ``placement``.
    """

    name: str
    face: FaceName
    pattern: HolePattern
    placement: Placement
    diameter_mm: float
    depth_mm: float
    through: bool
    flat_bottom: bool
    cutter: Cutter | None
    source: Source
    depth_source: Source
    peg_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Face:
    """A worked side: its inlays in the order of the file, its hole patterns."""

    name: FaceName
    inlays: tuple[Inlay, ...]
    holes: tuple[Holes, ...]


@dataclass(frozen=True, slots=True)
class Allowances:
    """What each preparation takes off a face, in mm of wood, and what it leaves.

    The finished face lies ``flatten + sand + (rounds - 1) * light_sand + rounds * level`` below
    the as-sawn plane, where a round is cut, fill, cure, level.  ``skin_mm`` is the resin a machine
    levelling leaves proud for the sanding; ``overfill_mm`` is how proud a flood stands and
    ``rim_mm`` how far it runs over the edge.  ``sand_spread_mm`` is the standard deviation of one
    sanding.
    """

    flatten_mm: float
    level_mm: float
    skin_mm: float
    sand_mm: float
    light_sand_mm: float
    overfill_mm: float
    rim_mm: float
    web_mm: float
    sand_spread_mm: float = 0.02


@dataclass(frozen=True, slots=True)
class Blank:
    """The piece of wood before trimming, as sawn.

    ``grain_along_x`` says the grain runs along the length; ``flat_sawn`` picks tangential
    movement across it.  ``turn_about_x`` says the blank is turned over about its length (the far
    edge comes near), otherwise about its width (right becomes left).  ``moisture`` is a share of
    the dry weight (0.08 is 8 %).  ``flatness_mm`` is the measured spread of heights of a face as
    it lies on the machine, None where nobody has measured it.
    """

    timber: Timber
    length_mm: float
    width_mm: float
    thickness_mm: float
    grain_along_x: bool
    flat_sawn: bool
    moisture: float
    turn_about_x: bool
    source: Source
    thickness_source: Source
    flatness_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Outline:
    """The trim line as artwork on the front face (centred on the blank), and how it is cut.

    ``None`` artwork leaves the blank untrimmed.  ``hidden_mm`` is the width inside the trim line
    that a frame will cover.
    """

    artwork: Artwork | None
    hidden_mm: float
    tabs: int
    tab_mm: float
    tab_height_mm: float
    cutter: Cutter | None
    source: Source


@dataclass(frozen=True, slots=True)
class FinishPlan:
    """The clear finish, its coats, and whether holes are drilled before it."""

    finish: Finish
    coats: int
    holes_first: bool


class Lead(StrEnum):
    """How far the test pieces have to be before the others are first cut."""

    NO = "no"
    FIRST_SANDING = "until the first sanding"
    LAST_SANDING = "until the last sanding"
    FINISH = "until the finish"


@dataclass(frozen=True, slots=True)
class Pin:
    """An order the user insists on: step ``first`` is done before step ``then``.

    A step is a kind of work and what it is done to (``cut body``, ``seal front``, ``trim``).
    ``only_after`` tells that it was written as ``do THEN after FIRST``.
    """

    first: str
    then: str
    only_after: bool
    source: Source


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A ``stop`` the user accepts by name, and why."""

    code: str
    subject: str
    because: str
    source: Source


@dataclass(frozen=True, slots=True)
class Bed:
    """How many pieces lie on the bed at once, each a step from the one before."""

    pieces: int = 1
    step_x_mm: float = 0.0
    step_y_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class LoosePart:
    """Wooden parts of one kind, ``count`` to each piece, dyed to match the colour of a mix."""

    name: str
    timber: Timber
    match: Mix
    count: int
    source: Source


@dataclass(frozen=True, slots=True)
class Job:
    """One file: the piece, its faces, the run, the shop it is made in.

    ``given`` holds the keys the file itself states (``front.inlays.0.depth``, items from 0), so
    that defaults can be told apart; ``shop_file`` is the shop file as the job names it.  ``datum``
    is the line across the grain that growth counts from (``centre line``, ``near edge``,
    ``far edge``), empty where the holding says it; ``cure_wait_s`` how long the user means to wait
    from a pour to the next cut.  ``begin`` is
    the first day of work, ``wanted_by`` the day the pieces are wanted, ``pins`` the orders
    insisted on.  ``groups`` is in how many groups the pieces are poured, None as finishes soonest.
    ``bright_share`` is how much of a line's width shall stay bright, ``bright_odds`` how surely.
    ``brought`` are cut files from elsewhere; ``locating`` what is let into the waste
    and the spoilboard, ``keep_outs`` what no cutter may come near, the holding's own included;
    ``marks`` says that each mounting first cuts witness marks; ``bed`` how pieces lie on it.
    ``cautions`` are what its values gave cause to mention without being unusable; ``places`` is
    where its keys stand, and the keys and named items right below them.
    """

    title: str
    file: str
    folder: str
    pieces: int
    test_pieces: int
    blank: Blank
    outline: Outline
    allowances: Allowances
    faces: tuple[Face, ...]
    mixes: tuple[Mix, ...]
    sealer: Sealer | None
    finish: FinishPlan | None
    shop: Shop
    holding: Holding
    cell_mm: float | None
    accepted: tuple[Acceptance, ...]
    source: Source
    given: frozenset[str] = frozenset()
    shop_file: str = ""
    places: tuple[tuple[str, Source], ...] = ()
    datum: str = ""
    moisture_log: tuple[MoistureReading, ...] = ()
    witness_marks: tuple[WitnessMark, ...] = ()
    cure_wait_s: float | None = None
    begin: dt.date | None = None
    days_off: tuple[dt.date, ...] = ()
    wanted_by: dt.date | None = None
    test_ahead: Lead = Lead.NO
    pins: tuple[Pin, ...] = ()
    bright_share: float = 0.6
    bright_odds: float = 0.9
    loose_parts: tuple[LoosePart, ...] = ()
    brought: tuple[Brought, ...] = ()
    locating: Locating | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    marks: bool = False
    groups: int | None = None
    bed: Bed = Bed()
    cautions: tuple[Finding, ...] = ()

    def face(self, name: FaceName) -> Face:
        """Return the face of that name; one without work has neither inlays nor holes."""
        for face in self.faces:
            if face.name == name:
                return face
        return Face(name=name, inlays=(), holes=())

    @property
    def inlays(self) -> tuple[Inlay, ...]:
        """All inlays, front before back."""
        return tuple(inlay for face in self.faces for inlay in face.inlays)
