"""The keys of a hole pattern."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Final

from pydantic import Field
from pydantic_core import PydanticCustomError

from flushwork.job.art_keys import Angle, Coordinate, Length, LengthOrNone, Pair, PlaceKeys, Truth
from flushwork.job.leaves import Count, DepthOrThrough, Measured
from flushwork.job.section import OrList, Section, one_of
from flushwork.job.word_leaves import Words
from flushwork.units import Quantity

PATTERNS: Final = ("grid", "line", "arc", "points", "points file")


class GridKeys(Section):
    """Holes in columns and rows about the place."""

    columns: Annotated[int, Count(1, 300)] = Field(description="Holes across.", examples=[7])
    rows: Annotated[int, Count(1, 300)] = Field(description="Holes up.", examples=[7])
    pitch: Annotated[list[Coordinate], Field(min_length=1, max_length=2), OrList()] = Field(
        description="From hole to hole: one length, or [across, up].", examples=["12 mm"]
    )
    skip: list[
        Annotated[list[Annotated[int, Count(1, 300)]], Field(min_length=2, max_length=2)]
    ] = Field(
        default_factory=list,
        description="Holes left out, each [column, row] counted from 1 at the lower left.",
        examples=["[[1, 1], [7, 7]]"],
    )


class HoleLineKeys(Section):
    """Holes on a straight line."""

    start: Pair = Field(description="The first hole, [right, up].", examples=["[-60 mm, 0 mm]"])
    end: Pair = Field(description="The last hole.", examples=["[60 mm, 0 mm]"])
    count: Annotated[int, Count(2, 2000)] = Field(description="How many holes.", examples=[30])
    group: Annotated[int, Count(0, 2000)] = Field(
        default=0, description="Holes to a group; a gap follows each.", examples=[5]
    )
    gap: LengthOrNone = Field(
        default=0.0, description="Extra room between groups.", examples=["3 mm"]
    )


class ArcKeys(Section):
    """Holes on an arc about the place."""

    diameter: Length = Field(description="Of the circle the holes lie on.", examples=["80 mm"])
    count: Annotated[int, Count(1, 2000)] = Field(description="How many holes.", examples=[12])
    start: Angle = Field(
        default=0.0, description="The first hole, left about from the right.", examples=["90 deg"]
    )
    sweep: Angle = Field(
        default=6.283185307179586,
        description="From the first hole to the last; a full turn spaces them evenly around.",
        examples=["180 deg"],
    )


class HoleKeys(PlaceKeys):
    """One pattern of equal holes."""

    name: Annotated[str, Words(80)] | None = Field(
        default=None, description="What you call it; numbered where left out.", examples=["corners"]
    )
    grid: GridKeys | None = Field(default=None, description="Holes in columns and rows.")
    line: HoleLineKeys | None = Field(default=None, description="Holes on a line.")
    arc: ArcKeys | None = Field(default=None, description="Holes on an arc or circle.")
    points: Annotated[list[Pair], Field(min_length=1, max_length=5000)] | None = Field(
        default=None, description="Holes one by one.", examples=["[[0 mm, 0 mm], [12 mm, 0 mm]]"]
    )
    points_file: Annotated[str, Words()] | None = Field(
        default=None,
        description="A text file of holes, one `x, y` in mm to a line.",
        examples=["holes.csv"],
    )
    diameter: Annotated[float, Measured(Quantity.LENGTH, 0.0, 100.0, above=True)] = Field(
        description="Of each hole.", examples=["3.175 mm"]
    )
    depth: Annotated[float, DepthOrThrough(Quantity.LENGTH, 0.0, 200.0, above=True)] = Field(
        description="From the finished face, or `through`.", examples=["8 mm"]
    )
    peg: Length | None = Field(
        default=None,
        description="Diameter of the peg that shall go in after the finish.",
        examples=["3.1 mm"],
    )
    flat_bottom: Truth = Field(
        default=True, description="The floor is left flat.", examples=["yes"]
    )
    cutter: Annotated[str, Words(80)] | None = Field(
        default=None,
        description="The cutter to use; chosen where left out.",
        examples=["1 mm flat"],
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for exactly one pattern."""
        found = one_of(given, PATTERNS)
        if found:
            yield found
