"""Layouts: boards of games and ornament by their measures, declared once and used part by part.

A layout is no artwork yet: inlays take its areas, lines and numbers, hole patterns its holes, all
about one middle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Items, Key, Keyed, Spread
from flushwork.core.keys.quantities import ANGLE, LENGTH, Count
from flushwork.core.keys.section import one_of
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import OneOf, Size, Words
from flushwork.job.keys.games import (
    AREA,
    HOLES,
    LINES,
    WORDS,
    MancalaRows,
    Morris,
    PegTrack,
    PointedBoard,
    Solitaire,
    Squares,
    StarHalma,
)

ROSE_LEVELS: Final = {4: (4,), 8: (4, 4), 16: (4, 4, 8), 32: (4, 4, 8, 16)}
"""Points of a compass rose, the longest first: winds, half winds, quarter winds, by-points."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CompassRose(Keyed):
    """Points about a middle, each split along its length into a dark and a light half."""

    under: ClassVar[Key | None] = Key(name="compass rose", doc="A compass rose.")
    parts: ClassVar[Mapping[str, str]] = {"dark": AREA, "light": AREA, "letters": WORDS}

    points: Annotated[int, Count(4, 32), Key("16")] = 8
    """Points: 4, 8, 16 or 32."""
    diameter_mm: Annotated[float, LENGTH, Key("90 mm")]
    """From tip to tip of the longest points."""
    waist_mm: Annotated[float | None, LENGTH, Key("18 mm", optional=True)] = None
    """Of the circle on which the longest points meet; a fifth of the diameter where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for points that can be, and a waist inside them."""
        if own["points"] not in ROSE_LEVELS:
            at.out_of_range(
                f"points: a rose has 4, 8, 16 or 32 points, not {own['points']}",
                "write one of these",
                "points",
            )
            own["points"] = 8
        shortest = ROSE_REACH[len(ROSE_LEVELS[own["points"]]) - 1] * own["diameter_mm"]
        if (own["waist_mm"] or 0.0) >= shortest:
            at.out_of_range(
                f"waist: the shortest points are {shortest:g} mm across from tip to tip",
                "write less than that",
                "waist",
            )


ROSE_REACH: Final = (1.0, 0.74, 0.54, 0.38)
"""How far the points of each level reach, as a share of the longest (common practice, no
source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BorderRun(Keyed):
    """One ornament repeated along a rectangle, with one at each corner."""

    under: ClassVar[Key | None] = Key(name="border run", doc="An ornament along a rectangle.")
    parts: ClassVar[Mapping[str, str]] = {"ornaments": AREA, "lines": LINES}

    around_mm: Annotated[tuple[float, float], Size(), Key("280 mm x 160 mm")]
    """The rectangle that runs through their middles."""
    ornament: Annotated[str, OneOf(("diamonds", "discs", "bars", "triangles")), Key("diamonds")] = (
        "diamonds"
    )
    """What is repeated."""
    size_mm: Annotated[tuple[float, ...], Items(LENGTH, 1, 2, or_one=True), Key("[8 mm, 4 mm]")]
    """Of one ornament: [along, across] the run, or one length."""
    gap_mm: Annotated[float, LENGTH, Key("2 mm")]
    """The least room between two of them; they are spaced evenly from corner to corner."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for two steps at least along each side."""
        need = 2.0 * run_step_mm(own["size_mm"], own["gap_mm"])
        if min(own["around_mm"]) < need:
            at.out_of_range(
                f"around: ornaments of this size need sides of {need:g} mm at least",
                "make the rectangle larger, or the ornament or the gap smaller",
                "around",
            )


def run_step_mm(size_mm: tuple[float, ...], gap_mm: float) -> float:
    """Return the least step of a border run: the corner's ornament is as long as it is across."""
    return max(size_mm[0], (size_mm[0] + size_mm[-1]) / 2.0) + gap_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerFans(Keyed):
    """A fan of rays in each corner of a rectangle, dark and light by turns."""

    under: ClassVar[Key | None] = Key(name="corner fans", doc="A fan in each corner.")
    parts: ClassVar[Mapping[str, str]] = {"dark": AREA, "light": AREA}

    corners_of_mm: Annotated[tuple[float, float], Size(), Key("280 mm x 160 mm")]
    """The rectangle whose corners they spread from."""
    rays: Annotated[int, Count(1, 45), Key("7")]
    """Rays of a fan, an odd number: dark at both edges."""
    radius_mm: Annotated[float, LENGTH, Key("40 mm")]
    """How far they reach."""
    inside_mm: Annotated[float, LENGTH, Key("6 mm")]
    """How far from the corner they begin."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold the fans apart, and alike at both edges."""
        if own["rays"] % 2 == 0:
            at.out_of_range(
                "rays: an even number makes one edge dark and one light",
                f"write {own['rays'] + 1}",
                "rays",
            )
        if own["inside_mm"] >= own["radius_mm"]:
            at.out_of_range("inside: nothing is left of the rays", "write less", "inside")
        if 2.0 * own["radius_mm"] > min(own["corners_of_mm"]):
            at.out_of_range(
                "radius: two fans run into each other",
                f"write at most {min(own['corners_of_mm']) / 2.0:g} mm",
                "radius",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedScale(Keyed):
    """The marks and numbers of a ruler or a dial."""

    under: ClassVar[Key | None] = Key(name="scale", doc="A ruler or a dial.")
    parts: ClassVar[Mapping[str, str]] = {"lines": LINES, "numbers": WORDS}

    length_mm: Annotated[float | None, LENGTH, Key("300 mm", optional=True)] = None
    """Of a ruler, from its first mark to its last."""
    diameter_mm: Annotated[float | None, LENGTH, Key("120 mm", optional=True)] = None
    """Of a dial: of the circle that its marks stand inside of."""
    start_rad: Annotated[float, ANGLE, Key("90 deg")] = math.pi / 2.0
    """With diameter: the first mark, left about from the right."""
    sweep_rad: Annotated[float, ANGLE, Key("-360 deg")] = -math.tau
    """With diameter: from the first mark to the last; minus runs right about."""
    steps: Annotated[int, Count(1, 2000), Key("60")]
    """Steps from the first mark to the last."""
    long_every: Annotated[int, Count(1, 2000), Key("5")] = 10
    """Every so many steps a mark is twice as long and has a number; half-way one and a half."""
    mark_mm: Annotated[float, LENGTH, Key("3 mm")]
    """How long a short mark is."""
    first: Annotated[int, Count(0, 100000), Key("0")] = 0
    """The first number."""
    counts_by: Annotated[int, Count(1, 100000), Key("1")] = 1
    """From one number to the next."""

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for a ruler or a dial."""
        found = one_of(given, ("length", "diameter"))
        if found:
            yield found

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Leave a middle in a dial; go round once at most."""
        if own["diameter_mm"] and 4.0 * own["mark_mm"] >= own["diameter_mm"]:
            at.out_of_range(
                "mark: the long marks of the dial meet in its middle",
                f"write less than {own['diameter_mm'] / 4.0:g} mm",
                "mark",
            )
        if not 1e-3 < abs(own["sweep_rad"]) <= math.tau + 1e-9:
            at.out_of_range("sweep: a dial goes round once at most", "write 360 deg", "sweep")


Laying = (
    Squares | PointedBoard | Morris | Solitaire | MancalaRows | StarHalma | PegTrack
    | CompassRose | BorderRun | CornerFans | MarkedScale
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Layout(Keyed):
    """A board or an ornament by its measures, of which inlays and holes take their parts."""

    name: str
    by: Annotated[
        Laying,
        Spread(
            Squares, PointedBoard, Morris, Solitaire, MancalaRows, StarHalma, PegTrack,
            CompassRose, BorderRun, CornerFans, MarkedScale,
        ),
    ]  # fmt: skip
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Stand in for one that was refused already."""
        own.setdefault("by", Solitaire(pitch_mm=12.0))

    def made_of(self, *kinds: str) -> tuple[str, ...]:
        """Return the names of its parts of some kinds."""
        return tuple(part for part, kind in self.by.parts.items() if kind in kinds)


@dataclass(frozen=True)
class OfLayout(On):
    """The name of one of the job's layouts."""

    shelf: str = "layouts"
    what: str = "layout"

    def resolve(self, value: Any, at: At) -> Any:
        """Return the layout; a slip where the job has none of that name."""
        if at.job["layouts"]:
            return super().resolve(value, at)
        at.slip(
            "name-unknown",
            f"the job has no layouts, so there is none called '{value}'",
            f"add it: `layouts: {{{value}: {{morris: {{men: 9, size: 180 mm}}}}}}`",
        )
        return Layout("", Solitaire(pitch_mm=12.0), at.source())

    def items(self, at: At) -> tuple[Layout, ...]:
        """Return the job's layouts."""
        found: tuple[Layout, ...] = at.job["layouts"]
        return found


def known_part(layout: Layout, part: str, at: At, *kinds: str) -> str:
    """Return a part of a layout; note the slip of one that it has not."""
    known = layout.made_of(*kinds)
    if part in known:
        return part
    if layout.name:
        at.slip(
            "name-unknown",
            f"the layout {layout.name} has no {'part' if part else 'holes'} "
            + (f"called '{part}' that can be used here" if part else "to drill"),
            f"write one of {', '.join(known)}" if known else "take another layout",
            "part" if part else "layout",
        )
    return known[0] if known else next(iter(layout.by.parts))


@dataclass(frozen=True, slots=True)
class LayoutHoles(Keyed):
    """The holes of a layout, or one part of them."""

    kinds: ClassVar[tuple[str, ...]] = ("layout",)

    layout: Annotated[Layout, OfLayout(), Key("morris")]
    """One of the job's `layouts`, whose holes are drilled."""
    part: Annotated[str, Words(40), Key("track", optional=True)] = ""
    """With layout: only this part of them; all where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for a part that has holes."""
        own["part"] = own["part"] or ""
        if own["part"] or not own["layout"].made_of(HOLES):
            own["part"] = known_part(own["layout"], own["part"], at, HOLES)
