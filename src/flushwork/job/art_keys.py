"""The keys of artwork and of its place on a face."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Final

from pydantic import Field
from pydantic_core import PydanticCustomError

from flushwork.job.leaves import Count, Factor, Measured, slip
from flushwork.job.section import OrList, Section, one_of
from flushwork.job.single_line import SINGLE_LINE
from flushwork.job.word_leaves import Colour, OneOf, Size, WordLines, Words, YesNo
from flushwork.units import Quantity

LONGEST_MM: Final = 5000.0

Length = Annotated[float, Measured(Quantity.LENGTH, 0.0, LONGEST_MM, above=True)]
LengthOrNone = Annotated[float, Measured(Quantity.LENGTH, 0.0, LONGEST_MM)]
Coordinate = Annotated[float, Measured(Quantity.LENGTH, -LONGEST_MM, LONGEST_MM)]
Pair = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
Angle = Annotated[float, Measured(Quantity.ANGLE, -7.0, 7.0)]
Names = Annotated[list[Annotated[str, Words()]], Field(min_length=1), OrList()]
ColourText = Annotated[str, Colour()]
Truth = Annotated[bool, YesNo()]

ANCHORS: Final = (
    "centre",
    "lower left",
    "lower right",
    "upper left",
    "upper right",
    "left",
    "right",
    "top",
    "bottom",
)


class RepeatKeys(Section):
    """Copies of the artwork, on a grid or around a point."""

    columns: Annotated[int, Count(1, 200)] = Field(
        default=1, description="Copies across.", examples=[4]
    )
    rows: Annotated[int, Count(1, 200)] = Field(default=1, description="Copies up.", examples=[2])
    pitch: Annotated[list[Coordinate], Field(min_length=1, max_length=2), OrList()] | None = Field(
        default=None,
        description="From one copy to the next: one length, or [across, up].",
        examples=["12 mm"],
    )
    around: Annotated[int, Count(1, 360)] = Field(
        default=1,
        description="Copies evenly around the place the artwork is put from.",
        examples=[8],
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for the pitch of a grid."""
        if ("columns" in given or "rows" in given) and "pitch" not in given:
            yield "", slip("key-missing", "`pitch` is missing", "add `pitch: 12 mm`")
        if not given:
            yield (
                "",
                slip("key-missing", "nothing is repeated", "add `columns`, `rows` or `around`"),
            )


class PlaceKeys(Section):
    """Where artwork goes on the face."""

    at: Pair = Field(
        default_factory=lambda: [0.0, 0.0],
        description="[right, up] from the place named by `from`.",
        examples=["[0 mm, 0 mm]"],
    )
    from_: Annotated[str, OneOf(ANCHORS)] = Field(
        default="centre",
        description="The place on the trim line that `at` counts from; the artwork's own outermost"
        " box is taken by the same place.",
        examples=["centre"],
    )
    as_drawn: Truth | None = Field(
        default=None,
        description="yes: the artwork's own zero goes to the place, not its outermost box. For"
        " lines, curve and a polygon by points, zero is [0, 0] of the points; for svg it is the"
        " place named by `from` on the drawing's page, as a rule its middle; for text the middle"
        " of the first baseline; for the others their middle. The default is yes for lines, curve"
        " and a polygon by points, no for the others.",
        examples=["yes"],
    )
    turn: Angle = Field(
        default=0.0, description="Turned left about its own place.", examples=["45 deg"]
    )
    mirror: Annotated[str, OneOf(("left-right", "top-bottom"))] | None = Field(
        default=None, description="Mirrored before it is turned.", examples=["left-right"]
    )
    scale: Annotated[float, Factor(1000.0)] = Field(
        default=1.0, description="Made larger or smaller.", examples=[1.5]
    )
    repeat: RepeatKeys | None = Field(default=None, description="Copies.")


class RingKeys(Section):
    """A ring between two circles."""

    outside: Length = Field(description="Outer diameter.", examples=["90 mm"])
    inside: Length = Field(description="Inner diameter.", examples=["86 mm"])


class PolygonKeys(Section):
    """A regular polygon, a star, or a polygon by its points."""

    sides: Annotated[int, Count(3, 360)] | None = Field(
        default=None, description="Corners of a polygon, points of a star.", examples=[6]
    )
    diameter: Length | None = Field(
        default=None, description="Of the circle its corners stand on.", examples=["60 mm"]
    )
    across: Length | None = Field(
        default=None,
        description="From flat to flat, for an even number of sides.",
        examples=["60 mm"],
    )
    inner: Length | None = Field(
        default=None,
        description="Makes a star: the diameter its inner corners stand on.",
        examples=["20 mm"],
    )
    points: Annotated[list[Pair], Field(min_length=3, max_length=5000)] | None = Field(
        default=None, description="Corners in order, instead of `sides`."
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Hold the ways of giving a polygon apart."""
        found = one_of(given, ("sides", "points"))
        if found:
            yield found
        for key in ("diameter", "across", "inner"):
            if "points" in given and key in given:
                yield key, _stray(key, "sides")
        if "sides" in given:
            size = one_of(given, ("diameter", "across"))
            if size:
                yield size


ART_KINDS: Final = ("svg", "text", "lines", "curve", "circle", "ring", "polygon", "rectangle")
"""The keys that name a kind of artwork."""

BELONGS: Final = {
    "layers": ("svg",),
    "colours": ("svg",),
    "font": ("text",),
    "size": ("text",),
    "spacing": ("text",),
    "width": ("svg", "lines", "curve", "text"),
    "closed": ("lines", "curve"),
    "ends": ("lines", "curve"),
    "round": ("rectangle",),
    "line": ("rectangle",),
}
"""The keys that only go with some kinds of artwork."""


def _stray(key: str, *kinds: str) -> PydanticCustomError:
    listed = " or ".join(f"`{kind}`" for kind in kinds)
    return slip("key-out-of-place", f"`{key}` goes with {listed} only", "leave it out here")


def _word(given: object) -> object:
    """Return what is written, whether it has been read already or not."""
    return getattr(given, "text", given)


class ArtKeys(PlaceKeys):
    """One piece of artwork and its place."""

    kinds: ClassVar[tuple[str, ...]] = ART_KINDS

    svg: Annotated[str, Words()] | None = Field(
        default=None, description="An SVG file, beside the job file.", examples=["rose.svg"]
    )
    layers: Names | None = Field(
        default=None,
        description="With svg: the layers or ids to take; all where left out.",
        examples=["[dark]"],
    )
    colours: Annotated[list[ColourText], Field(min_length=1), OrList()] | None = Field(
        default=None,
        description="With svg: the fills and strokes to take, as far as nothing is painted over"
        " them; all but white where left out, for white is the paper.",
        examples=['["#0b6a72"]'],
    )
    text: Annotated[str, WordLines()] | None = Field(
        default=None,
        description="Words to set, on one line or on several: a block of lines.",
        examples=["HALCYON"],
    )
    font: Annotated[str, Words()] = Field(
        default="serif",
        description="With text: a packaged font or a font file. `single line`, `single line plain`"
        " and `single line script` are lines for a cutter to follow.",
        examples=["serif bold"],
    )
    size: Length | None = Field(
        default=None, description="With text: the height of the em square.", examples=["9 mm"]
    )
    spacing: Annotated[float, Measured(Quantity.SHARE, -0.5, 5.0)] = Field(
        default=0.0,
        description="With text: extra room between letters, as a share of the size.",
        examples=["5 %"],
    )
    lines: (
        Annotated[
            list[Annotated[list[Pair], Field(min_length=2, max_length=5000)]],
            Field(min_length=1, max_length=2000),
        ]
        | None
    ) = Field(
        default=None,
        description="Lines, each a list of [right, up] points.",
        examples=["[[[-20 mm, 0 mm], [20 mm, 0 mm]]]"],
    )
    curve: Annotated[list[Pair], Field(min_length=2, max_length=5000)] | None = Field(
        default=None,
        description="One smooth curve through its points, in their order: a centripetal Catmull-Rom"
        " spline. Two points give a straight line.",
        examples=["[[0 mm, 0 mm], [10 mm, 5 mm], [20 mm, 0 mm]]"],
    )
    width: Length | None = Field(
        default=None,
        description="With svg: the width the picked shapes are scaled to; layers of one drawing"
        " with the same width and place are scaled and placed as one. With lines and curve, and"
        " text in a single-line font: the width of the line; left out, one pass of the cutter.",
        examples=["60 mm"],
    )
    closed: Truth = Field(
        default=False,
        description="With lines and curve: joined back to the start.",
        examples=["yes"],
    )
    ends: Annotated[str, OneOf(("round", "flat", "square"))] = Field(
        default="round",
        description="With lines and curve: the shape of open ends.",
        examples=["flat"],
    )
    circle: Length | None = Field(
        default=None, description="A disc of this diameter.", examples=["90 mm"]
    )
    ring: RingKeys | None = Field(default=None, description="A ring.")
    polygon: PolygonKeys | None = Field(default=None, description="A polygon or a star.")
    rectangle: Annotated[tuple[float, float], Size()] | None = Field(
        default=None, description="A rectangle, across by up.", examples=["320 mm x 170 mm"]
    )
    round: LengthOrNone = Field(
        default=0.0, description="With rectangle: the radius of its corners.", examples=["8 mm"]
    )
    line: LengthOrNone = Field(
        default=0.0, description="With rectangle: leaves a frame this wide.", examples=["1.5 mm"]
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for one kind of artwork, and only the keys that go with it."""
        found = one_of(given, cls.kinds)
        if found:
            yield found
        kind = next((each for each in cls.kinds if each in given), "")
        if not kind:
            return
        for key, kinds in BELONGS.items():
            if key in given and kind not in kinds:
                yield key, _stray(key, *kinds)
        if kind == "text" and "width" in given and _word(given.get("font")) not in SINGLE_LINE:
            yield "width", _stray("width", "svg", "lines", "curve", "text in a single line")
        if kind == "text" and "size" not in given:
            yield "", slip("key-missing", "`size` is missing", "add `size: 9 mm`")
