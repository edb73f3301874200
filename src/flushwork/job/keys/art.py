"""Artwork and its place on a face: what is drawn, before it is drawn.

Long because all kinds of artwork are one union.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import OMIT, Group, Items, Key, Keyed, Spread, stray
from flushwork.core.keys.quantities import (
    LENGTH,
    LENGTH_OR_NONE,
    Count,
    share,
    slip,
)
from flushwork.core.keys.section import one_of
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import TRUTH, OneOf, Size, WordLines, Words
from flushwork.job.keys.drawing_files import DxfArt, PictureArt, SvgArt
from flushwork.job.keys.games import AREA, HOLES, LINES, WORDS
from flushwork.job.keys.layouts import Layout, OfLayout, known_part
from flushwork.job.keys.placing import PAIR, Placement, TextArc, TextLine

Point = tuple[float, float]
SINGLE_LINE: Final = ("single line", "single line plain", "single line script")
"""The packaged fonts that are lines and take a width."""
NAMES: Final = Items(Words(), 1, or_one=True)


def placed_apart(
    given: dict[str, Any], kind: str, remedy: str
) -> Iterator[tuple[str, PydanticCustomError]]:
    """Yield the keys of a place that do not go with a kind of artwork."""
    for key in ("at", "from", "as drawn", "turn", "mirror", "scale", "repeat"):
        if key in given:
            yield key, slip("key-out-of-place", f"`{key}` does not go with `{kind}`", remedy)


def word_of(given: object) -> object:
    """Return what is written, whether it has been read already or not."""
    return getattr(given, "text", given)


@dataclass(frozen=True, slots=True)
class TextArt(Keyed):
    """Words set in an outline font (``font`` is a file or the name of a packaged font).

    ``size_mm`` is the em height; ``spacing`` is extra space between letters as a share of it.  A
    single-line font (``SINGLE_LINE``) gives lines ``width_mm`` wide, bare strokes for 0.
    """

    kinds: ClassVar[tuple[str, ...]] = ("text",)

    words: Annotated[str, WordLines(), Key("HALCYON", name="text")]
    """Words to set, on one line or on several: a block of lines."""
    font: Annotated[str, Words(), Key("serif bold", default="serif")]
    """With text and a layout's numbers: a packaged font or a font file. `single line`, `single
    line plain` and `single line script` are lines for a bit to follow."""
    size_mm: Annotated[float, LENGTH, Key("9 mm")]
    """With text and a layout's numbers: the height of the em square."""
    spacing: Annotated[float, share(-0.5, 5.0), Key("5 %", default=0.0)]
    """With text: extra room between letters, as a share of the size."""
    width_mm: Annotated[float, LENGTH, Key("60 mm", optional=True)] = 0.0
    """With lines, curve, a layout's lines and text in a single-line font: the width of the
    line; left out, one pass of the bit."""
    align: Annotated[str, OneOf(("centre", "left", "right")), Key("left")] = "centre"
    """With text: where its lines meet: at their middles, their starts or their ends."""
    line_spacing: Annotated[float, share(0.2, 5.0), Key("120 %")] = 1.0
    """With text: from one line to the next, as a share of what the font asks for."""
    most_width_mm: Annotated[float | None, LENGTH, Key("60 mm", optional=True)] = None
    """With text: wider words are set smaller, until they are this wide."""
    least_size_mm: Annotated[float | None, LENGTH, Key("6 mm", optional=True)] = None
    """With text: the smallest size that `most width` may come to; left out, `size` itself."""
    on_arc: Annotated[TextArc | None, Key(name="on arc", optional=True)] = None
    """With text: the letters stand on a circle."""
    on_line: Annotated[TextLine | None, Key(name="on line", optional=True)] = None
    """With text: the letters stand on a straight line."""

    @property
    def by_points(self) -> bool:
        """Whether it stands on an arc or a line that has a zero of its own."""
        return self.on_arc is not None or self.on_line is not None

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Let only single lines have a width; let text stand on one thing."""
        if "on arc" in given and "on line" in given:
            yield (
                "on line",
                slip("keys-clash", "`on arc` and `on line` cannot stand together", "keep one"),
            )
        if "width" in given and word_of(given.get("font")) not in SINGLE_LINE:
            yield (
                "width",
                stray("width", "svg", "dxf", "picture", "lines", "curve", "text in a single line"),
            )
        if "least size" in given and "most width" not in given:
            words = "`least size` goes with `most width` only"
            yield "least size", slip("key-out-of-place", words, "add `most width`, or leave it out")


@dataclass(frozen=True, slots=True)
class StrokeArt(Keyed):
    """Open (or closed) lines of one width.

    ``lines`` are polylines; with ``smooth`` a curve runs through their points.  ``width_mm`` 0
    leaves them bare strokes, cut by one pass of the bit's own width.
    """

    kinds: ClassVar[tuple[str, ...]] = ("lines", "curve")
    by_points: ClassVar[bool] = True

    lines: Annotated[
        tuple[tuple[Point, ...], ...],
        Items(Items(PAIR, 2, 5000), 1, 2000),
        Key("[[[-20 mm, 0 mm], [20 mm, 0 mm]]]", name="lines"),
        Items(PAIR, 2, 5000),
        Key(
            "[[0 mm, 0 mm], [10 mm, 5 mm], [20 mm, 0 mm]]",
            name="curve",
            aside=True,
            doc="One smooth curve through its points, in their order: a centripetal Catmull-Rom"
            " spline. Two points give a straight line.",
        ),
    ]
    """Lines, each a list of [right, up] points."""
    width_mm: Annotated[float, LENGTH, Key("60 mm", optional=True)]
    """With lines, curve, a layout's lines and text in a single-line font: the width of the
    line; left out, one pass of the bit."""
    smooth: bool
    closed: Annotated[bool, TRUTH, Key("yes")] = False
    """With lines and curve: joined back to the start."""
    ends: Annotated[str, OneOf(("round", "flat", "square")), Key("flat")] = "round"
    """With lines, curve and a layout's lines: the shape of open ends."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take a curve for a line that is smooth."""
        own["smooth"] = "curve" in own and not own["lines"]
        own["lines"] = own["lines"] or (own["curve"],)
        own["width_mm"] = own["width_mm"] or 0.0

    @classmethod
    def shown(cls, record: StrokeArt) -> Mapping[str, Any]:
        """Tell a curve from lines."""
        return {"lines": OMIT, "curve": record.lines[0]} if record.smooth else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring(Keyed):
    """A ring between two circles."""

    outside_mm: Annotated[float, LENGTH, Key("90 mm")]
    """Outer diameter."""
    inside_mm: Annotated[float, LENGTH, Key("86 mm")]
    """Inner diameter."""


@dataclass(frozen=True, slots=True)
class CircleArt(Keyed):
    """A disc, or a ring where ``hole_mm`` (inner diameter) is not 0."""

    kinds: ClassVar[tuple[str, ...]] = ("circle", "ring")

    diameter_mm: Annotated[
        float,
        LENGTH,
        Key("90 mm", name="circle"),
        Group(Ring),
        Key(name="ring", aside=True, doc="A ring."),
    ]
    """A disc of this diameter."""
    hole_mm: float

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take both diameters from a ring."""
        own["hole_mm"] = 0.0
        if own["diameter_mm"]:
            return
        ring: Ring = own["ring"]
        if ring.inside_mm >= ring.outside_mm:
            at.out_of_range(
                "inside: the inside of a ring is smaller than its outside",
                "write less than `outside`",
                "ring",
                "inside",
            )
        own.update(diameter_mm=ring.outside_mm, hole_mm=ring.inside_mm)

    @classmethod
    def shown(cls, record: CircleArt) -> Mapping[str, Any]:
        """Tell a ring from a disc."""
        if not record.hole_mm:
            return {}
        ring = Ring(outside_mm=record.diameter_mm, inside_mm=record.hole_mm)
        return {"circle": OMIT, "ring": ring}


@dataclass(frozen=True, slots=True)
class PolygonArt(Keyed):
    """A regular polygon, a star, or a polygon by its points.

    It is a star with ``inner_mm``, and goes through ``points`` where there are any.
    """

    under: ClassVar[Key | None] = Key(name="polygon", doc="A polygon or a star.")

    sides: Annotated[int, Count(3, 360), Key("6", optional=True)]
    """Corners of a polygon, points of a star."""
    diameter_mm: Annotated[
        float,
        LENGTH,
        Key("60 mm", optional=True),
        LENGTH,
        Key(
            "60 mm",
            name="across",
            aside=True,
            doc="From flat to flat, for an even number of sides.",
        ),
    ]
    """Of the circle its corners stand on."""
    inner_mm: Annotated[float, LENGTH, Key("20 mm", optional=True)]
    """Makes a star: the diameter its inner corners stand on."""
    points: Annotated[tuple[Point, ...], Items(PAIR, 3, 5000), Key(optional=True)]
    """Corners in order, instead of `sides`."""

    @property
    def by_points(self) -> bool:
        """Whether it goes through points of its own."""
        return bool(self.points)

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Hold the ways of giving a polygon apart."""
        found = one_of(given, ("sides", "points"))
        if found:
            yield found
        for key in ("diameter", "across", "inner"):
            if "points" in given and key in given:
                yield key, stray(key, "sides")
        if "sides" in given:
            size = one_of(given, ("diameter", "across"))
            if size:
                yield size

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Find the diameter from flat to flat, and hold a star's two apart."""
        if own["points"]:
            own.update(sides=0, diameter_mm=0.0, inner_mm=0.0)
            return
        sides, across = own["sides"] or 3, own.get("across")
        diameter = own["diameter_mm"] or 0.0
        if across is not None:
            if sides % 2:
                at.slip(
                    "polygon-has-no-flats",
                    f"a polygon of {sides} sides has no two flats across from each other",
                    "give `diameter` instead of `across`",
                    "across",
                )
            diameter = across / math.cos(math.pi / sides)
        inner = own["inner_mm"] or 0.0
        if inner >= diameter > 0:
            at.out_of_range(
                "inner: the inner corners of a star lie inside the outer ones",
                "write less than the diameter",
                "inner",
            )
        own.update(sides=sides, diameter_mm=diameter, inner_mm=inner, points=())


@dataclass(frozen=True, slots=True)
class RectangleArt(Keyed):
    """A rectangle with corner radius ``round_mm``; ``line_mm`` leaves only a frame that wide."""

    kinds: ClassVar[tuple[str, ...]] = ("rectangle",)

    length_mm: Annotated[
        float, Size(), Key("320 mm x 170 mm", name="rectangle", into=("width_mm",))
    ]
    """A rectangle, across by up."""
    width_mm: float
    round_mm: Annotated[float, LENGTH_OR_NONE, Key("8 mm")] = 0.0
    """With rectangle: the radius of its corners."""
    line_mm: Annotated[float, LENGTH_OR_NONE, Key("1.5 mm")] = 0.0
    """With rectangle: leaves a frame this wide."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold its corners and its frame against its size."""
        narrow = min(own["length_mm"], own["width_mm"])
        for key in ("round", "line"):
            if 2 * own[f"{key}_mm"] > narrow:
                at.out_of_range(
                    f"{key}: the rectangle is too narrow for it",
                    f"write at most half of its narrow side, {narrow / 2:g} mm",
                    key,
                )


@dataclass(frozen=True, slots=True)
class LayoutArt(Keyed):
    """A part of a layout: its areas, its lines ``width_mm`` wide, its numbers, or discs.

    Of holes it makes discs of ``disc_mm``.  Its own zero is the middle of the layout.
    """

    kinds: ClassVar[tuple[str, ...]] = ("layout",)
    by_points: ClassVar[bool] = True

    layout: Annotated[Layout, OfLayout(), Key("morris")]
    """One of the job's `layouts`, of which a part is taken."""
    part: Annotated[str, Words(40), Key("lines")]
    """With layout: the part that is taken."""
    width_mm: Annotated[float, LENGTH, Key("60 mm", optional=True)] = 0.0
    """With lines, curve, a layout's lines and text in a single-line font: the width of the
    line; left out, one pass of the bit."""
    ends: Annotated[str, OneOf(("round", "flat", "square")), Key("flat")] = "round"
    """With lines, curve and a layout's lines: the shape of open ends."""
    font: Annotated[str, Words(), Key("serif bold")] = "serif"
    """With text and a layout's numbers: a packaged font or a font file. `single line`, `single
    line plain` and `single line script` are lines for a bit to follow."""
    size_mm: Annotated[float | None, LENGTH, Key("9 mm", optional=True)] = None
    """With text and a layout's numbers: the height of the em square."""
    disc_mm: Annotated[float | None, LENGTH, Key("8 mm", optional=True)] = None
    """With layout: the discs that stand for its holes, across."""

    @property
    def kind(self) -> str:
        """What the part is made of."""
        return self.layout.by.parts[self.part]

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for what the part needs."""
        layout: Layout = own["layout"]
        own["part"] = known_part(layout, own["part"], at, AREA, LINES, HOLES, WORDS)
        kind = layout.by.parts[own["part"]]
        for key, of in (("size", WORDS), ("disc", HOLES)):
            field = f"{key}_mm"
            if not own[field] and kind == of and layout.name:
                at.slip(
                    "key-missing", f"`{key}` is missing: the part is made of {of}",
                    f"add `{key}: {'5 mm' if key == 'size' else '8 mm'}`",
                )  # fmt: skip
        own["width_mm"] = own["width_mm"] or 0.0
        single = kind == WORDS and own["font"] in SINGLE_LINE
        if own["width_mm"] and kind != LINES and not single:
            at.slip(
                "key-out-of-place",
                f"`width` goes with lines; the part {own['part']} is made of {kind}",
                "leave it out here",
                "width",
            )


Art = (
    SvgArt
    | DxfArt
    | PictureArt
    | TextArt
    | StrokeArt
    | CircleArt
    | PolygonArt
    | RectangleArt
    | LayoutArt
)
NOWHERE: Final = CircleArt(diameter_mm=1.0, hole_mm=0.0)
"""Stands in for artwork refused already."""


@dataclass(frozen=True, slots=True)
class Artwork(Keyed):
    """One piece of artwork and its place."""

    art: Annotated[
        Art,
        Spread(
            SvgArt,
            DxfArt,
            PictureArt,
            TextArt,
            StrokeArt,
            CircleArt,
            PolygonArt,
            RectangleArt,
            LayoutArt,
        ),
    ]
    placement: Annotated[Placement, Spread(Placement)]
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Find the place of its kind."""
        own.setdefault("art", NOWHERE)
        tree = at.reading.tree
        kind = next((each for each in ART_KINDS if tree.has((*at.path, each))), "")
        own["source"] = at.source(kind) if kind else at.source()


ART_KINDS: Final = (
    "svg", "dxf", "picture", "text", "lines", "curve", "circle", "ring", "polygon", "rectangle",
    "layout",
)  # fmt: skip
"""The keys that name a kind of artwork."""
