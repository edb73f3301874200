"""Hole patterns."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, Literal

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Items, Key, Keyed, Spread
from flushwork.core.keys.quantities import (
    ANGLE,
    LENGTH,
    LENGTH_OR_NONE,
    Count,
    DepthOrThrough,
    length,
)
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import TRUTH, Words
from flushwork.core.units import Quantity
from flushwork.job.keys.art import Point
from flushwork.job.keys.layouts import LayoutHoles
from flushwork.job.keys.placing import PAIR, PITCH, Placement
from flushwork.shelf.items import Bit

FaceName = Literal["front", "back"]


@dataclass(frozen=True, slots=True)
class GridHoles(Keyed):
    """Holes in columns and rows about the place; ``skip`` leaves (column, row) out, from 1."""

    under: ClassVar[Key | None] = Key(name="grid", doc="Holes in columns and rows.")

    columns: Annotated[int, Count(1, 300), Key("7")]
    """Holes across."""
    rows: Annotated[int, Count(1, 300), Key("7")]
    """Holes up."""
    pitch_x_mm: Annotated[float, PITCH, Key("12 mm", name="pitch")]
    """From hole to hole: one length, or [across, up]."""
    pitch_y_mm: float
    skip: Annotated[
        tuple[tuple[int, int], ...],
        Items(Items(Count(1, 300), 2, 2)),
        Key("[[1, 1], [7, 7]]", default=()),
    ]
    """Holes left out, each [column, row] counted from 1 at the lower left."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Spread one pitch over both ways; ask for holes that are there."""
        pitch = own["pitch_x_mm"]
        own.update(pitch_x_mm=pitch[0], pitch_y_mm=pitch[-1])
        for place, (column, row) in enumerate(own["skip"]):
            if column > own["columns"] or row > own["rows"]:
                at.out_of_range(
                    f"skip: there is no hole [{column}, {row}] in this grid",
                    f"columns run from 1 to {own['columns']}, rows from 1 to {own['rows']}",
                    "skip",
                    place,
                )

    @classmethod
    def shown(cls, record: GridHoles) -> Mapping[str, Any]:
        """Tell both pitches."""
        return {"pitch": (record.pitch_x_mm, record.pitch_y_mm)}


@dataclass(frozen=True, slots=True)
class LineHoles(Keyed):
    """Holes on a straight line: ``group`` > 0 opens a gap after so many."""

    under: ClassVar[Key | None] = Key(name="line", doc="Holes on a line.")

    start: Annotated[Point, PAIR, Key("[-60 mm, 0 mm]")]
    """The first hole, [right, up]."""
    end: Annotated[Point, PAIR, Key("[60 mm, 0 mm]")]
    """The last hole."""
    count: Annotated[int, Count(2, 2000), Key("30")]
    """How many holes."""
    group: Annotated[int, Count(0, 2000), Key("5")] = 0
    """Holes to a group; a gap follows each."""
    gap_mm: Annotated[float, LENGTH_OR_NONE, Key("3 mm")] = 0.0
    """Extra room between groups."""


@dataclass(frozen=True, slots=True)
class ArcHoles(Keyed):
    """Holes on an arc about the place, from ``start_rad`` through ``sweep_rad``."""

    under: ClassVar[Key | None] = Key(name="arc", doc="Holes on an arc or circle.")

    diameter_mm: Annotated[float, LENGTH, Key("80 mm")]
    """Of the circle the holes lie on."""
    count: Annotated[int, Count(1, 2000), Key("12")]
    """How many holes."""
    start_rad: Annotated[float, ANGLE, Key("90 deg")] = 0.0
    """The first hole, left about from the right."""
    sweep_rad: Annotated[float, ANGLE, Key("180 deg")] = math.tau
    """From the first hole to the last; a full turn spaces them evenly around."""


@dataclass(frozen=True, slots=True)
class PointHoles(Keyed):
    """Holes at points typed in the job or read from a file of ``x, y`` lines."""

    kinds: ClassVar[tuple[str, ...]] = ("points", "points file")

    points: Annotated[
        tuple[Point, ...], Items(PAIR, 1, 5000), Key("[[0 mm, 0 mm], [12 mm, 0 mm]]")
    ] = ()
    """Holes one by one."""
    file: Annotated[str, Words(), Key("holes.csv", name="points file")] = ""
    """A text file of holes, one `x, y` in mm to a line."""


HolePattern = GridHoles | LineHoles | ArcHoles | PointHoles | LayoutHoles


@dataclass(frozen=True, slots=True)
class Holes(Keyed):
    """One pattern of equal holes: ``depth_mm`` from the finished face, ``through`` for all the way.

    A hole ``through`` carries the blank's as-sawn thickness as its depth.  ``peg_mm`` is the
    diameter of the peg it shall take once finished.  The pattern's own zero (a grid's middle, an
    arc's centre, the zero of typed points) goes to ``placement``.
    """

    name: Annotated[
        str,
        Words(80),
        Key("corners", otherwise=lambda at: f"{at.path[0]} holes {int(at.path[-1]) + 1}"),
    ]
    """What you call it; numbered where left out."""
    face: FaceName
    pattern: Annotated[HolePattern, Spread(GridHoles, LineHoles, ArcHoles, PointHoles, LayoutHoles)]
    placement: Annotated[Placement, Spread(Placement)]
    diameter_mm: Annotated[float, length(0.0, 100.0, above=True), Key("3.175 mm")]
    """Of each hole."""
    depth_mm: Annotated[float, DepthOrThrough(Quantity.LENGTH, 0.0, 200.0, above=True), Key("8 mm")]
    """From the finished face, or `through`."""
    through: bool
    peg_mm: Annotated[float | None, LENGTH, Key("3.1 mm")] = field(default=None, kw_only=True)
    """Diameter of the peg that shall go in after the finish."""
    flat_bottom: Annotated[bool, TRUTH, Key("yes", default=True)]
    """The floor is left flat."""
    bit: Annotated[
        Bit | None,
        On("bits", "bit"),
        Key("1 mm flat", unsaid="bit: chosen from the shop's  (default)", optional=True),
    ]
    """The bit to use; chosen where left out."""
    on: Annotated[str, Words(40), Key("small", optional=True)] = field(default="", kw_only=True)
    """With `from one plank`: which pieces it goes on, by the name of one of the `other pieces`, or
    `all`; those of the trim line where left out."""
    source: Source
    depth_source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take the blank's thickness for the depth of a hole through it."""
        own["face"] = at.path[0]
        own.setdefault("pattern", PointHoles((), ""))
        own["through"] = math.isinf(own["depth_mm"])
        if own["through"]:
            own["depth_mm"] = at.job["blank"].thickness_mm

    @classmethod
    def shown(cls, record: Holes) -> Mapping[str, Any]:
        """Tell of holes that go through by the word."""
        return {"depth": math.inf} if record.through else {}
