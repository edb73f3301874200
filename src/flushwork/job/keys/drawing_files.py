"""Artwork that comes from a drawing file beside the job."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, Final

from pydantic_core import PydanticCustomError

from flushwork.core.keys.declare import OMIT, Items, Key, Keyed
from flushwork.core.keys.quantities import LENGTH, LENGTH_OR_NONE, Count, length, share, slip
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import COLOUR, TRUTH, OneOf, Size, Words
from flushwork.shelf.equipment import BitKind

LAYERS: Final = Items(Words(), 1, or_one=True)
CROP: Final = Items(share(0.0, 0.9), 4, 4)
PALETTE: Final = Key('["#0b6a72", "#c02030"]')


@dataclass(frozen=True, slots=True)
class SvgArt(Keyed):
    """Shapes of an SVG file; ``layers`` are ids or layer names, empty for all.

    ``colours`` (``#rrggbb``) are the paints taken, empty for all but the white of the paper.
    ``width_mm`` scales the picked shapes to that width; without it the file's own physical size
    holds.
    """

    kinds: ClassVar[tuple[str, ...]] = ("svg",)

    file: Annotated[str, Words(), Key("rose.svg", name="svg")]
    """An SVG file, beside the job file."""
    layers: Annotated[tuple[str, ...], LAYERS, Key("[dark]", default=())]
    """With svg and dxf: the layers to take, or the ids of an svg and the blocks of a dxf; all where
    left out."""
    colours: Annotated[tuple[str, ...], Items(COLOUR, 1, or_one=True), Key('["#0b6a72"]')] = field(
        default=(), kw_only=True
    )
    """With svg: the fills and strokes to take, as far as nothing is painted over them; all but
    white where left out, for white is the paper."""
    width_mm: Annotated[float | None, LENGTH, Key("60 mm", optional=True)]
    """With svg and dxf: the width the picked shapes are scaled to; layers of one drawing with the
    same width and place are scaled and placed as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DxfArt(Keyed):
    """Shapes of a DXF file; ``layers`` are layer or block names, empty for all.

    Closed outlines are areas, those inside others holes in them; with ``line_mm`` every outline is
    a line of that width.  ``units`` ("" for the file's own) say what a unit of it is.
    """

    kinds: ClassVar[tuple[str, ...]] = ("dxf",)

    file: Annotated[str, Words(), Key("rose.dxf", name="dxf")]
    """A DXF file, beside the job file."""
    layers: Annotated[tuple[str, ...], LAYERS, Key("[dark]", default=())]
    """With svg and dxf: the layers to take, or the ids of an svg and the blocks of a dxf; all where
    left out."""
    width_mm: Annotated[float | None, LENGTH, Key("60 mm", optional=True)]
    """With svg and dxf: the width the picked shapes are scaled to; layers of one drawing with the
    same width and place are scaled and placed as one."""
    units: Annotated[str, OneOf(("metric", "inch")), Key("metric", optional=True)] = ""
    """With dxf: what it is drawn in where it does not say so itself, mm or in."""
    line_mm: Annotated[float, LENGTH_OR_NONE, Key("1.5 mm", name="line")] = 0.0
    """With dxf: draws every outline as a line this wide, instead of what it encloses."""
    join_mm: Annotated[float, length(0.0, 5.0), Key("0.1 mm", name="join within")] = 0.01
    """With dxf: ends of lines that lie so near one another are taken for one."""


def _finest_mm(at: At) -> float:
    """Return the diameter of the shop's finest flat bit."""
    flat = [bit.diameter_mm for bit in at.shop.bits if bit.kind is BitKind.FLAT]
    return float(min(flat, default=1.0))


def _turned_over(corners: tuple[tuple[float, float], ...]) -> bool:
    """Whether four corners, y down, do not go around a convex outline clockwise."""
    ahead = (*corners[1:], corners[0])
    ways = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(corners, ahead, strict=True)]
    turns = [a[0] * b[1] - a[1] * b[0] for a, b in zip(ways, (*ways[1:], ways[0]), strict=True)]
    return min(turns) <= _FLAT


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureArt(Keyed):
    """Parts of a picture of dots (PNG, JPEG), reduced to a few colours and traced.

    ``reduced_to`` are colours (``#rrggbb``), empty where ``number_of_colours`` are found in it;
    those in ``bare`` are wood, and so is the paper, the colour that most of its edge has.  ``crop``
    are the shares cut off at the left, top, right and bottom, empty for none.
    """

    kinds: ClassVar[tuple[str, ...]] = ("picture",)

    file: Annotated[str, Words(), Key("rose.jpg", name="picture")]
    """A photo or a drawing of dots, PNG or JPEG, beside the job file."""
    colours: Annotated[tuple[str, ...], Items(COLOUR, 1, or_one=True), Key('["#0b6a72"]')] = ()
    """With picture: those of its colours that are taken, each the nearest; all but the paper's,
    which most of its edge has, where left out."""
    width_mm: Annotated[float, LENGTH, Key("60 mm", optional=True)]
    """With picture: the width of the whole picture, or of what `crop` leaves of it."""
    number_of_colours: Annotated[int, Count(2, 12), Key("4")] = 4
    """With picture: into how many of its colours it is reduced, the paper's counted."""
    reduced_to: Annotated[tuple[str, ...], Items(COLOUR, 1, 12), PALETTE] = ()
    """With picture: the colours it is reduced to, each dot to the nearest; its paper's is always
    one of them."""
    by_fill: Annotated[bool, TRUTH, Key("yes")] = False
    """With picture: it is reduced to the colours of the job's mixes and of the wood, and what comes
    nearest the inlay's own `fill` is taken."""
    smoothing_mm: Annotated[float, length(0.0, 5.0), Key("0.4 mm")] = 0.2
    """With picture: over what length outlines are smoothed."""
    narrowest_mm: Annotated[float, length(0.05, 20.0), Key("1 mm", otherwise=_finest_mm)]
    """With picture: parts thinner than this are not cut as they are; the diameter of the shop's
    finest flat bit where left out."""
    thin_parts: Annotated[str, OneOf(("dropped", "grown")), Key("grown")] = "dropped"
    """With picture: what becomes of parts that are too thin: they stay wood, or are widened."""
    least_speck_mm: Annotated[float, length(0.0, 20.0), Key("0.8 mm")] = 0.4
    """With picture: specks smaller across than this are dirt, whatever becomes of thin parts."""
    even_light: Annotated[bool, TRUTH, Key("yes")] = False
    """With picture: evens out shadows on the paper of a photo first."""
    crop: Annotated[tuple[float, ...], CROP, Key("[5 %, 0 %, 5 %, 10 %]")] = ()
    """With picture: what is cut off at its left, top, right and bottom, of its width and height."""
    corners: Annotated[
        tuple[tuple[float, float], ...],
        Items(Items(share(0.0, 1.0), 2, 2), 4, 4),
        Key("[[12 %, 9 %], [90 %, 11 %], [94 %, 92 %], [7 %, 88 %]]"),
    ] = ()
    """With picture: where the corners of a sheet lie on a photo taken aslant, [from its left, from
    its top] as shares of it: the sheet's upper left one, upper right, lower right, lower left."""
    sheet_mm: Annotated[
        float | None, Size(), Key("297 mm x 210 mm", name="sheet", into=("sheet_up_mm",))
    ] = None
    """With picture and `corners`: how large that sheet is, across by up; it is then drawn as seen
    from straight above, at its true size where no `width` is given."""
    sheet_up_mm: float | None = None
    bare: tuple[str, ...] = ()

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for the width, and for one way of reducing it."""
        if "width" not in given and "sheet" not in given:
            yield "", slip("key-missing", "`width` is missing", "add `width: 80 mm`")
        for key, other in (("corners", "sheet"), ("sheet", "corners")):
            if key in given and other not in given:
                words = f"`{key}` goes with `{other}`"
                yield key, slip("key-out-of-place", words, f"add `{other}`, or leave it out")
        ways = [key for key in ("number of colours", "reduced to", "by fill") if key in given]
        for key in ways[1:]:
            yield (
                key,
                slip("key-out-of-place", f"`{key}` does not go with `{ways[0]}`", "leave it out"),
            )
        if "by fill" in given and "colours" in given:
            yield (
                "colours",
                slip("key-out-of-place", "`colours` does not go with `by fill`", "leave it out"),
            )

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take the colours of the mixes and of the wood where it goes by them."""
        crop = own["crop"]
        if own["sheet_mm"]:
            taken = 1.0 - (crop[0] + crop[2] if crop else 0.0)
            own["width_mm"] = own["width_mm"] or own["sheet_mm"] * max(taken, 1.0 - _MOST_CUT)
        if own["corners"] and _turned_over(own["corners"]):
            at.out_of_range(
                "corners: they do not go around a sheet, the way a clock goes",
                "write its upper left corner, upper right, lower right, lower left",
                "corners",
            )
        if crop and (crop[0] + crop[2] > _MOST_CUT or crop[1] + crop[3] > _MOST_CUT):
            at.out_of_range("crop: hardly anything of the picture is left", "cut off less", "crop")
        if not own["by_fill"]:
            return
        mixes = {mix.name: mix.colour for mix in at.job.get("mixes", ())}
        fill = _fill_of(at)
        wood = at.job["blank"].wood.colour
        own["reduced_to"] = tuple(dict.fromkeys([*mixes.values(), wood]))
        own["bare"] = (wood,)
        if fill in mixes:
            own["colours"] = (mixes[fill],)
        else:
            at.slip(
                "key-out-of-place", "`by fill` goes with an inlay that has a `fill`",
                "leave it out here", "by fill",
            )  # fmt: skip

    @classmethod
    def shown(cls, record: PictureArt) -> Mapping[str, Any]:
        """Leave out what follows from the mixes, or from the colours."""
        if record.by_fill:
            return {"reduced to": OMIT, "colours": OMIT, "number of colours": OMIT}
        # one way of reducing it goes without the others, as it is read
        return {"by fill": OMIT, **({"number of colours": OMIT} if record.reduced_to else {})}


_FLAT: Final = 1e-4
"""Corners that turn less than this, as an area of the photo, leave nothing to be seen."""
_MOST_CUT: Final = 0.95


def _fill_of(at: At) -> str:
    """Return the fill written at the inlay that artwork stands in."""
    tree = at.reading.tree
    for path in (at.path, at.path[:-2]):
        node: Any = tree.root
        for step in (*path, "fill"):
            try:
                node = node[step]
            except (KeyError, IndexError, TypeError):
                break
        else:
            return str(getattr(node, "text", ""))
    return ""


DrawingArt = SvgArt | DxfArt
"""Artwork of a drawing file with layers, which keep their places to each other."""
