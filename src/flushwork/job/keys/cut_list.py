"""The boards on hand, and the parts that are sawn out of them beside the blanks of the run.

Also the pieces that are laid on one plank, cut in one run of the machine and parted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Group, Items, Key, Keyed, Spread
from flushwork.core.keys.quantities import Count, length, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import Either, OneOf, Words
from flushwork.job.keys.art import NOWHERE, Artwork
from flushwork.job.keys.placing import Placement
from flushwork.shelf.equipment import BitKind
from flushwork.shelf.items import Bit, Wood


@dataclass(frozen=True, slots=True)
class BoardDefect(Keyed):
    """A knot, a check, a strip of sapwood: where no part may lie."""

    from_mm: Annotated[float, length(0.0, 10000.0), Key("400 mm")]
    """Where it begins, from the board's left end along its length."""
    until_mm: Annotated[float, length(0.0, 10000.0), Key("460 mm")]
    """Where it ends."""
    near_mm: Annotated[float, length(0.0, 3000.0), Key("0 mm")] = 0.0
    """Its edge nearest to you, from the near edge of the board."""
    far_mm: Annotated[float | None, length(0.0, 3000.0), Key("40 mm")] = None
    """Its far edge; across the whole board where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold its ends against each other."""
        if own["until_mm"] <= own["from_mm"]:
            at.out_of_range("a defect ends where it begins", "write a larger `until`", "until")
        far = own.setdefault("far_mm", None)
        if far is not None and far <= own["near_mm"]:
            at.out_of_range("a defect is no wider than nothing", "write a larger `far`", "far")


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardOnHand(Keyed):
    """Boards of one size that lie ready; its length runs along the grain."""

    name: Annotated[str, Words(40), Key("A")]
    """What is chalked on it."""
    length_mm: Annotated[float, length(50.0, 10000.0), Key("2.4 m")]
    """Along the grain."""
    width_mm: Annotated[float, length(10.0, 3000.0), Key("160 mm")]
    """Across the grain."""
    thickness_mm: Annotated[float, length(1.0, 300.0), Key("26 mm")]
    """As it lies there."""
    count: Annotated[int, Count(1, 500), Key("1")] = 1
    """How many there are of it, alike in their defects."""
    wood: Annotated[
        Wood, On("woods", "wood"), Key("black cherry", otherwise=lambda at: at.job["blank"].wood)
    ]
    """A wood of the shelf; that of the blank where left out."""
    defects: Annotated[tuple[BoardDefect, ...], Items(Group(BoardDefect), most=100), Key()] = ()
    """Where no part may lie."""
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPart(Keyed):
    """Parts of one kind that are sawn beside the blanks; sizes as they are finished."""

    name: Annotated[str, Words(60), Key("drawer front")]
    """What you call it."""
    length_mm: Annotated[float, length(5.0, 10000.0), Key("240 mm")]
    """Along its grain."""
    width_mm: Annotated[float, length(2.0, 3000.0), Key("60 mm")]
    """Across its grain."""
    thickness_mm: Annotated[float, length(0.5, 300.0), Key("12 mm")]
    """Its thickness."""
    count: Annotated[int, Count(1, 1000), Key("2")] = 1
    """How many go with one piece."""
    turns: Annotated[
        bool, Either("along the board", "either way", second=True), Key(name="grain")
    ] = False
    """Which way its grain may run on the board."""
    wood: Annotated[
        Wood, On("woods", "wood"), Key("black cherry", otherwise=lambda at: at.job["blank"].wood)
    ]
    """A wood of the shelf; that of the blank where left out."""
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList(Keyed):
    """What is sawn out of which boards."""

    boards: Annotated[
        tuple[BoardOnHand, ...],
        Items(Group(BoardOnHand), 1, 60),
        Key("[{name: A, length: 2.4 m, width: 160 mm, thickness: 26 mm}]"),
    ]
    """The boards that lie ready."""
    parts: Annotated[tuple[CutPart, ...], Items(Group(CutPart), most=100), Key()] = ()
    """What else is sawn out of them, beside the blanks of the run."""
    kerf_mm: Annotated[float, length(0.0, 10.0), Key("3 mm")] = 3.0
    """What the saw turns to dust; 3 mm for most circular saws (common practice, no source)."""

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for boards in a group without any."""
        if not given:
            yield "", slip("key-missing", "no boards are here", "add `boards`, or leave it out")

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Note names that stand twice."""
        for key in ("boards", "parts"):
            names = [each.name for each in own.get(key, ())]
            for index, name in enumerate(names):
                if name in names[:index]:
                    at.slip(
                        "name-twice",
                        f"'{name}' stands twice among the {key}",
                        "give each a name of its own, or one a `count`",
                        *(key, index, "name"),
                    )


# ---- Many from one plank: pieces smaller than the wood, laid on it


NAME_MARK: Final = "<name>"
"""Stands in a text for the name of the piece it is cut into."""
EVERY_PIECE: Final = "all"
LEAST_TRIM_BIT_MM: Final = 3.0
"""Outlines are cut with a bit at least this wide (common practice, no source)."""
INTO_SPOILBOARD_MM: Final = 0.3
"""How far a through cut goes into the spoilboard: enough to part the last fibres (common
practice, no source)."""
BESIDE_BIT_MM: Final = 1.0
"""Wood left between two cuts, so that a tab holds on to something (common practice, no source)."""
USUAL_GAP_MM: Final = 8.0


def stout_bit(bits: tuple[Bit, ...], through_mm: float) -> Bit | None:
    """Return the narrowest flat bit that parts wood ``through_mm`` thick."""
    stout = [
        item
        for item in bits
        if item.kind is BitKind.FLAT
        and item.diameter_mm >= LEAST_TRIM_BIT_MM
        and item.flute_mm >= through_mm + INTO_SPOILBOARD_MM
    ]
    return min(stout, key=lambda item: item.diameter_mm, default=None)


def _parting_mm(at: At) -> float:
    """Return the width of the bit that cuts the outlines; 0 where none will do."""
    bit = at.job["outline"].bit
    if bit is None:
        surfaced_mm = 2.0 * at.job["allowances"].surface_mm
        bit = stout_bit(at.shop.bits, at.job["blank"].thickness_mm - surfaced_mm)
    return float(bit.diameter_mm) if bit is not None else 0.0


def _usual_gap_mm(at: At) -> float:
    parting_mm = _parting_mm(at)
    return parting_mm + BESIDE_BIT_MM if parting_mm else USUAL_GAP_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPiece(Keyed):
    """Pieces of another outline, beside those of the trim line."""

    name: Annotated[str, Words(40), Key("small")]
    """What you call it; inlays, holes and pockets go on it by this name."""
    artwork: Annotated[Artwork, Spread(Artwork)]
    count: Annotated[int, Count(1, 200), Key("2")] = 1
    """How many of it."""
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Stand in for artwork that has been refused."""
        own.setdefault("artwork", Artwork(NOWHERE, Placement(), at.source()))


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePlank(Keyed):
    """Pieces laid on the blank: those of the trim line, and others.

    ``pieces`` None and no names ask for as many as find room.
    """

    pieces: Annotated[
        int | None,
        Count(1, 500),
        Key("12", unsaid="pieces: as many as there are names, or as find room  (default)"),
    ] = None
    """How many of the trim line's outline; as many as there are names, or as find room, where left
    out."""
    names: Annotated[tuple[str, ...], Items(Words(80), 1, 500), Key("[ANNA, BEN]")] = ()
    """A name for each piece, in the order they are read on the plank; the text `<name>` is filled
    with it."""
    names_file: Annotated[str, Words(), Key("guests.csv")] = ""
    """A text file of names, beside the job file: one to a line, or a table with commas."""
    column: Annotated[str, Words(80), Key("first name")] = ""
    """With a `names file` that is a table: the head of the column that the names stand in; the
    first column, without a head, where left out."""
    others: Annotated[
        tuple[OtherPiece, ...], Items(Group(OtherPiece), 1, 30), Key(name="other pieces")
    ] = ()
    """Pieces of other outlines, laid on the same plank."""
    gap_mm: Annotated[float, length(0.0, 200.0), Key("5 mm", otherwise=_usual_gap_mm)]
    """Between two pieces, the bit's way included; the trim bit's width and 1 mm where left out."""
    margin_mm: Annotated[float, length(0.0, 500.0), Key("6 mm")] = 6.0
    """From the edges of the plank."""
    turned: Annotated[str, OneOf(("no", "half", "quarter")), Key("no")] = "half"
    """How pieces may be turned to lie closer: not at all, by half turns, which keep the grain, or
    by quarter turns, which do not."""
    defects: Annotated[tuple[Artwork, ...], Items(Group(Artwork), 1, 200), Key()] = ()
    """Knots, checks and sapwood, each drawn where it is on the front face of the blank; nothing is
    laid on them."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Let one thing tell how many there are."""
        told = [key for key in ("names", "names file", "pieces") if key in given]
        for key in told[1:]:
            words = f"`{told[0]}` and `{key}` cannot stand together"
            yield key, slip("keys-clash", words, f"keep `{told[0]}`: it tells how many there are")
        if "column" in given and "names file" not in given:
            words = "`column` goes with a `names file` only"
            yield "column", slip("key-out-of-place", words, "add `names file`, or leave it out")

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold the gap against the bit, and the names of outlines against each other."""
        parting_mm = _parting_mm(at)
        if own["gap_mm"] < parting_mm:
            at.out_of_range(
                f"gap: the bit that parts the pieces is {parting_mm:.4g} mm wide",
                f"write {parting_mm + BESIDE_BIT_MM:.4g} mm, or leave it out",
                "gap",
            )
        if at.job["outline"].artwork is None:
            at.slip(
                "key-missing",
                "`trim line` is missing: it is the outline of the pieces on the plank",
                "add `trim line: {circle: 90 mm}`",
            )
        names = [each.name for each in own["others"]]
        for index, name in enumerate(names):
            if name in names[:index] or name == EVERY_PIECE:
                at.slip(
                    "name-twice",
                    f"'{name}' stands twice among the outlines of this plank",
                    "give each outline a name of its own",
                    *("other pieces", index, "name"),
                )

    def counts(self, named: int) -> int | None:
        """Return how many pieces of the trim line's outline are asked for."""
        return named or self.pieces
