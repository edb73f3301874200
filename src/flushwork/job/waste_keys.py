"""The keys of what stands in and beside the waste: dowels, discs, clamps."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from flushwork.job.art_keys import ANCHORS, Length, LengthOrNone, Pair
from flushwork.job.leaves import Count, DepthOrThrough
from flushwork.job.section import OrList, Section
from flushwork.job.word_leaves import OneOf, Words
from flushwork.shelf.items import LOCATED_BY
from flushwork.units import Quantity

SIDES: Final = ("both", "front", "back")


class LocatingKeys(Section):
    """Two dowels or discs that bring the blank back to its place, let in by cut files."""

    by: Annotated[str, OneOf(LOCATED_BY)] = Field(
        default=LOCATED_BY[0], description="What stands in the spoilboard."
    )
    diameter: Length = Field(description="Of a dowel or disc.", examples=["6 mm"])
    into_spoilboard: Length = Field(
        default=8.0, description="How deep they stand in the spoilboard.", examples=["8 mm"]
    )
    into_blank: Annotated[float, DepthOrThrough(Quantity.LENGTH, 0.0, 200.0, above=True)] = Field(
        description="How far they reach into the blank, or `through`; a recess that does not go"
        " through serves only once the blank is turned over.",
        examples=["through"],
    )
    play: LengthOrNone = Field(
        default=0.05, description="How much wider their recesses are.", examples=["0.05 mm"]
    )
    cutter: Annotated[str, Words(80)] | None = Field(
        default=None,
        description="The cutter to bore them with; chosen where left out.",
        examples=["3.175 mm flat"],
    )


class BedKeys(Section):
    """Pieces that lie side by side on the machine."""

    pieces: Annotated[int, Count(2, 100)] = Field(description="How many.", examples=[4])
    step: Pair = Field(
        description="From one blank's lower left corner to the next one's, [right, away].",
        examples=["[0 mm, 210 mm]"],
    )


class KeepOutKeys(Section):
    """An area that no cutter may come into while it is lower than its height."""

    name: Annotated[str, Words(80)] = Field(
        description="What stands there.", examples=["left clamp"]
    )
    size: Annotated[list[Length], Field(min_length=2, max_length=2)] = Field(
        description="[right, away].", examples=["[20 mm, 40 mm]"]
    )
    at: Pair = Field(
        default_factory=lambda: [0.0, 0.0],
        description="Its middle, [right, away] from the place of the blank named by `from`.",
        examples=["[-5 mm, 0 mm]"],
    )
    from_: Annotated[str, OneOf(ANCHORS)] = Field(
        default="lower left",
        description="The place of the blank that `at` counts from, as you look at the face.",
    )
    height: Length = Field(
        description="How far it stands above the face that is up.", examples=["25 mm"]
    )
    face: Annotated[str, OneOf(SIDES)] = Field(
        default=SIDES[0], description="The face that is up while it is there."
    )
    mountings: Annotated[list[Annotated[int, Count(1, 200)]], OrList()] = Field(
        default_factory=list, description="The mountings it is there in; all where left out."
    )
