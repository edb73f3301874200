"""The keys of a job file, all in one place: the page to read beside ``docs/job-file.md``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Final

from pydantic import Field
from pydantic_core import PydanticCustomError

from flushwork.job.art_keys import (
    ART_KINDS,
    ArtKeys,
    ColourText,
    Length,
    Names,
    Truth,
)
from flushwork.job.brought_keys import BroughtKeys
from flushwork.job.date_leaf import Date
from flushwork.job.hole_keys import HoleKeys
from flushwork.job.leaves import Count, InlayDepth, Measured, slip
from flushwork.job.loose_keys import LoosePartKeys
from flushwork.job.measured_keys import MoistureKeys, WitnessKeys
from flushwork.job.records import Lead, Manner, MeasuredFrom
from flushwork.job.section import OrList, OrName, Section
from flushwork.job.waste_keys import BedKeys, KeepOutKeys, LocatingKeys
from flushwork.job.word_leaves import OneOf, Proportion, Version, Words
from flushwork.units import Quantity, Ratio

Name = Annotated[str, Words(80)]
Stock = Annotated[float, Measured(Quantity.LENGTH, 5.0, 3000.0)]
Allowance = Annotated[float, Measured(Quantity.LENGTH, 0.0, 20.0)]
DATUMS: Final = ("centre line", "near edge", "far edge")


class BlankKeys(Section):
    """The piece of wood before trimming."""

    timber: Name = Field(description="A timber of the shelf.", examples=["black cherry"])
    length: Stock = Field(description="Along x, as sawn.", examples=["340 mm"])
    width: Stock = Field(description="Along y, as sawn.", examples=["190 mm"])
    thickness: Annotated[float, Measured(Quantity.LENGTH, 1.0, 300.0)] = Field(
        description="As sawn.", examples=["19 mm"]
    )
    grain: Annotated[str, OneOf(("along the length", "along the width"))] = Field(
        default="along the length", description="Which way the grain runs."
    )
    sawn: Annotated[str, OneOf(("flat", "quarter"))] = Field(
        default="flat", description="How the board was sawn from the log."
    )
    moisture: Annotated[float, Measured(Quantity.SHARE, 0.02, 0.3)] = Field(
        default=0.08, description="Moisture content, of the dry weight.", examples=["8 %"]
    )
    turned_over_about: Annotated[str, OneOf(("its length", "its width"))] = Field(
        default="its length", description="The line it is turned over about for the back."
    )
    flatness: Allowance | None = Field(
        default=None,
        description="Measured: highest less lowest place of the face as it is cut.",
        examples=["0.1 mm"],
    )


class AllowanceKeys(Section):
    """What each preparation takes off a face, and what it leaves."""

    flatten: Annotated[float, Measured(Quantity.LENGTH, 0.0, 10.0)] = Field(
        default=0.5, description="Wood taken off each face first of all.", examples=["0.5 mm"]
    )
    level: Annotated[float, Measured(Quantity.LENGTH, 0.0, 5.0)] = Field(
        default=0.0,
        description="Wood taken by each levelling on the machine, from the whole face;"
        " 0 mm mills only the resin.",
        examples=["0 mm"],
    )
    skin: Annotated[float, Measured(Quantity.LENGTH, 0.0, 3.0)] = Field(
        default=0.15,
        description="Resin left proud by levelling; none where `level` mills the whole face.",
        examples=["0.15 mm"],
    )
    sand: Annotated[float, Measured(Quantity.LENGTH, 0.0, 5.0)] = Field(
        default=0.2, description="Wood taken by the first sanding of a face.", examples=["0.2 mm"]
    )
    light_sand: Annotated[float, Measured(Quantity.LENGTH, 0.0, 3.0)] = Field(
        default=0.05, description="Wood taken by each later sanding.", examples=["0.05 mm"]
    )
    overfill: Annotated[float, Measured(Quantity.LENGTH, 0.0, 5.0)] = Field(
        default=0.4, description="How proud a flooded fill stands.", examples=["0.4 mm"]
    )
    rim: Annotated[float, Measured(Quantity.LENGTH, 0.0, 10.0)] = Field(
        default=1.0, description="How far a flooded fill runs over the edge.", examples=["1 mm"]
    )
    least_web: Annotated[float, Measured(Quantity.LENGTH, 0.0, 50.0)] = Field(
        default=3.0, description="The least wood between the faces.", examples=["3 mm"]
    )
    sanding_spread: Annotated[float, Measured(Quantity.LENGTH, 0.0, 1.0)] = Field(
        default=0.02,
        description="Standard deviation of what one sanding takes; assumed, 0.01 to 0.05 mm, until"
        " a step wedge tells.",
        examples=["0.02 mm"],
    )


class BrightKeys(Section):
    """How bright lines of flakes shall come out, and how surely."""

    share: Annotated[float, Measured(Quantity.SHARE, 0.0, 1.0)] = Field(
        default=0.6, description="The share of a line's width that shall stay bright."
    )
    odds: Annotated[float, Measured(Quantity.SHARE, 0.5, 0.999)] = Field(
        default=0.9, description="How surely it shall: of a hundred places, so many."
    )


class TrimKeys(ArtKeys):
    """The final outline; its place counts from the blank."""

    hidden_border: Annotated[float, Measured(Quantity.LENGTH, 0.0, 500.0)] = Field(
        default=0.0,
        description="Inside the trim line, covered later by a frame.",
        examples=["6 mm"],
    )
    tabs: Annotated[int, Count(0, 40)] = Field(
        default=4, description="Bridges left to hold the piece.", examples=[4]
    )
    tab_length: Length = Field(
        default=4.0, description="Length of a tab along the line.", examples=["4 mm"]
    )
    tab_height: Length = Field(default=1.2, description="Thickness of a tab.", examples=["1.2 mm"])
    cutter: Name | None = Field(
        default=None, description="The cutter to trim with; chosen where left out."
    )


class ThinnerKeys(Section):
    """A thinner and its share of the whole liquid by volume."""

    name: Name = Field(description="A thinner of the shelf.", examples=["ethanol"])
    share: Annotated[float, Measured(Quantity.SHARE, 0.0, 0.5, above=True)] = Field(
        description="Of the whole liquid by volume.", examples=["8 %"]
    )


class PigmentKeys(Section):
    """A pigment and its share of the mixed resin by weight."""

    name: Name = Field(description="A pigment of the shelf.", examples=["teal flake"])
    share: Annotated[float, Measured(Quantity.SHARE, 0.0, 0.9, above=True)] | None = Field(
        default=None,
        description="Of the mixed resin by weight; the middle of what is advised where left out.",
        examples=["3 %"],
    )


class SwatchKeys(Section):
    """A cured swatch of a mix, seen over black and over white."""

    over_black: ColourText = Field(
        description="The swatch's colour over a black card.", examples=['"#12343a"']
    )
    over_white: ColourText = Field(
        description="The same swatch's colour over a white card.", examples=['"#3f8f96"']
    )
    thickness: Annotated[float, Measured(Quantity.LENGTH, 0.0, 20.0, above=True)] = Field(
        default=1.0, description="How thick the swatch is.", examples=["1 mm"]
    )
    surface: Annotated[str, OneOf(("glossy", "sanded"))] = Field(
        default="glossy",
        description="As it cured, looked at away from the mirror of the lamp; or sanded dull.",
    )


class MixKeys(Section):
    """One mix: resin, hardener, thinner, pigments."""

    resin: Name = Field(description="A resin of the shelf.", examples=["coating epoxy"])
    ratio: Annotated[Ratio, Proportion()] | None = Field(
        default=None,
        description="Resin to hardener as you will measure it; the resin's own where left out.",
        examples=["100:45 by weight"],
    )
    thinner: ThinnerKeys | None = Field(default=None, description="A thinner, if any.")
    pigments: Annotated[list[Annotated[PigmentKeys, OrName()]], Field(max_length=20), OrList()] = (
        Field(default_factory=list, description="Pigments; none makes a clear mix.")
    )
    colour: ColourText | None = Field(
        default=None,
        description="The cured colour; from the pigments where left out.",
        examples=['"#0b6a72"'],
    )
    opacity: Annotated[float, Measured(Quantity.SHARE, 0.0, 1.0)] | None = Field(
        default=None,
        description="How much of what lies beneath 1 mm of the fill hides; from the pigments where"
        " left out.",
        examples=["90 %"],
    )
    bubbles: Annotated[str, OneOf(("left", "flame", "hot air", "vacuum", "pick"))] = Field(
        default="left", description="What is done about bubbles."
    )
    heated_by: Annotated[str, OneOf(("nothing", "heat lamp", "warm box", "hot wood"))] = Field(
        default="nothing",
        description="What keeps it warm: a lamp or a box while it cures, or wood warmed before it"
        " is filled.",
    )
    swatch: SwatchKeys | None = Field(
        default=None,
        description="A cured swatch; with it colour, hiding and what shows through are reckoned.",
    )
    pinning: Annotated[float, Measured(Quantity.SHARE, 0.0, 1.0)] = Field(
        default=1.0,
        description="How firmly a scraped surface hangs on its edges: 0 % drops flat, 100 % stays"
        " pinned; assumed until a scraped-slot coupon tells.",
        examples=["80 %"],
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Hold a swatch and what is reckoned from it apart."""
        yield from super().key_slips(given)
        for key in ("colour", "opacity"):
            if key in given and "swatch" in given:
                yield (
                    key,
                    slip(
                        "keys-clash",
                        f"`{key}` is reckoned from the `swatch`",
                        f"leave out `{key}`, or the swatch",
                    ),
                )


class SeamKeys(Section):
    """A line cut along the edges of other inlays."""

    along: Names = Field(
        description="The inlays whose edges it follows.", examples=["[rose dark, rose light]"]
    )
    width: Length = Field(description="Width of the line.", examples=["0.8 mm"])
    edges: Annotated[str, OneOf(("all", "shared"))] = Field(
        default="all", description="All their edges, or only those that two of them share."
    )


INLAY_KINDS: Final = (*ART_KINDS, "seam line", "art")


class InlayKeys(ArtKeys):
    """One inlay: artwork, depth, fill."""

    kinds: ClassVar[tuple[str, ...]] = INLAY_KINDS

    name: Name | None = Field(
        default=None,
        description="What you call it; numbered where left out.",
        examples=["rose dark"],
    )
    seam_line: SeamKeys | None = Field(
        default=None, description="A line along the edges of other inlays."
    )
    art: Annotated[list[ArtKeys], Field(min_length=1, max_length=500)] | None = Field(
        default=None, description="Several pieces of artwork, each with its own place."
    )
    depth: Annotated[float, InlayDepth(Quantity.LENGTH, 0.0, 200.0, above=True)] = Field(
        description="Depth of the cut; of an engraving the greatest depth.", examples=["2.5 mm"]
    )
    measured_from: Annotated[str, OneOf(tuple(each.value for each in MeasuredFrom))] = Field(
        default=MeasuredFrom.FINISHED.value,
        description="The face the depth counts from, and where the walls of an engraving meet "
        "its outline.",
    )
    fill: Name = Field(description="The mix it is filled with.", examples=["deep teal"])
    how: Annotated[str, OneOf(tuple(each.value for each in Manner))] = Field(
        default=Manner.FLOODED.value, description="How the fill goes in."
    )
    cap: Name | None = Field(
        default=None,
        description="With scraped and capped: the mix of the cap; a clear one where left out.",
        examples=["clear"],
    )
    cap_height: Allowance | None = Field(
        default=None,
        description="With scraped and capped: how proud the cap stands; the overfill where left"
        " out.",
        examples=["0.4 mm"],
    )
    in_layers: Truth = Field(
        default=False,
        description="Poured in layers where it is deeper than its resin may be poured at once.",
        examples=["yes"],
    )
    second_pass_of: Names | None = Field(
        default=None, description="Earlier inlays this one is cut into.", examples=["[body]"]
    )
    after: Names | None = Field(
        default=None,
        description="Inlays to be levelled before this one is cut.",
        examples=["[body]"],
    )
    engrave: Truth = Field(default=False, description="Engraved with a V cutter.", examples=["yes"])
    twice: Truth = Field(
        default=False,
        description="With engrave: the V follows its walls a second time at full depth, which"
        " takes most of the fuzz that the first pass leaves (common practice, no source).",
        examples=["yes"],
    )
    cutters: Names | None = Field(
        default=None,
        description="The cutters to use; chosen where left out.",
        examples=["[1 mm flat]"],
    )
    sealed: Truth | None = Field(
        default=None, description="Walls sealed before filling; yes where the job has a sealer."
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Hold kinds, caps and places apart."""
        yield from super().key_slips(given)
        how = getattr(given.get("how"), "text", "")
        for key in ("cap", "cap height"):
            if key in given and how != Manner.CAPPED.value:
                yield (
                    key,
                    slip(
                        "key-out-of-place",
                        f"`{key}` goes with `how: {Manner.CAPPED.value}` only",
                        f"add `how: {Manner.CAPPED.value}`, or leave it out",
                    ),
                )
        kind = "seam line" if "seam line" in given else "art" if "art" in given else ""
        for key in ("at", "from", "as drawn", "turn", "mirror", "scale", "repeat"):
            if kind and key in given:
                remedy = (
                    "put it into each piece of `art`"
                    if kind == "art"
                    else "leave it out: a seam line lies where its inlays lie"
                )
                yield key, slip("key-out-of-place", f"`{key}` does not go with `{kind}`", remedy)


class FaceKeys(Section):
    """One worked side of the blank."""

    inlays: Annotated[list[InlayKeys], Field(max_length=300)] = Field(
        default_factory=list, description="The inlays, in the order you think of them."
    )
    holes: Annotated[list[HoleKeys], Field(max_length=100)] = Field(
        default_factory=list, description="The hole patterns."
    )


class FinishKeys(Section):
    """The clear finish."""

    name: Name = Field(description="A finish of the shelf, or none.", examples=["wiping varnish"])
    coats: Annotated[int, Count(1, 20)] = Field(default=3, description="Coats.", examples=[3])
    holes: Annotated[str, OneOf(("before", "after"))] = Field(
        default="before", description="Holes are drilled before the finish, or after."
    )


class PinKeys(Section):
    """An order you insist on; the proof tells what it breaks."""

    do: Annotated[str, Words(100)] = Field(
        description="A step: the kind of work, and the inlay, pattern or face it is done to.",
        examples=["cut body"],
    )
    before: Annotated[str, Words(100)] | None = Field(
        default=None, description="The step it comes before.", examples=["seal front"]
    )
    after: Annotated[str, Words(100)] | None = Field(
        default=None, description="Or the step it may only come after.", examples=["sand front"]
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for one of both."""
        yield from super().key_slips(given)
        if ("before" in given) == ("after" in given):
            yield (
                "",
                slip(
                    "keys-clash" if "before" in given else "key-missing",
                    "an order needs `before` or `after`, and only one of them",
                    "write what the step comes before, or what it comes after",
                ),
            )


class AcceptKeys(Section):
    """A stop that you accept by name, and why."""

    finding: Name = Field(description="The code of the finding.", examples=["web-too-thin"])
    subject: Name | None = Field(
        default=None, description="Only for this inlay or pattern; for all where left out."
    )
    because: Annotated[str, Words()] = Field(
        description="Your reason; it is printed in the book and in the cut files.",
        examples=["tried on a coupon"],
    )


class JobKeys(Section):
    """A whole job."""

    flushwork: Annotated[int, Version()] = Field(
        description="The version of the file's language.", examples=[1]
    )
    title: Annotated[str, Words(120)] = Field(
        description="What the piece is called.", examples=["Kingfisher travelling set"]
    )
    shop: Annotated[str, Words()] | None = Field(
        default=None,
        description="The shop file, beside the job file; a packaged starter shop where left out.",
        examples=["shop.yaml"],
    )
    holding: Name | None = Field(
        default=None,
        description="How the blank is held and located; the shop's first where left out.",
        examples=["dowels"],
    )
    datum: Annotated[str, OneOf(DATUMS)] | None = Field(
        default=None,
        description="Across the grain, the line that wood grows away from; from the holding where"
        " left out.",
        examples=["centre line"],
    )
    pieces: Annotated[int, Count(1, 500)] = Field(
        default=1, description="Pieces to be made.", examples=[3]
    )
    test_pieces: Annotated[int, Count(0, 100)] = Field(
        default=0, description="Pieces made to learn from.", examples=[1]
    )
    groups: Annotated[int, Count(1, 100)] | None = Field(
        default=None,
        description="In how many groups the pieces are poured, each with batches of its own; as"
        " finishes soonest where left out.",
        examples=[1],
    )
    cell: Annotated[float, Measured(Quantity.LENGTH, 0.02, 1.0)] | None = Field(
        default=None,
        description="Side of a cell of the replay; chosen where left out.",
        examples=["0.1 mm"],
    )
    blank: BlankKeys = Field(description="The piece of wood.")
    allowances: AllowanceKeys = Field(
        default_factory=AllowanceKeys, description="What preparation takes and leaves."
    )
    bright_lines: BrightKeys = Field(
        default_factory=BrightKeys, description="What is wanted of lines that shine by flakes."
    )
    trim_line: TrimKeys | None = Field(
        default=None, description="The final outline; left out, the blank is not trimmed."
    )
    sealer: Name | None = Field(
        default=None,
        description="A sealer of the shelf, or none; the shop's first where left out.",
        examples=["shellac"],
    )
    finish: Annotated[FinishKeys, OrName()] | None = Field(
        default=None, description="The clear finish, or none; the shop's first where left out."
    )
    mixes: dict[str, MixKeys] = Field(default_factory=dict, description="The mixes, by name.")
    front: FaceKeys = Field(default_factory=FaceKeys, description="The face worked first.")
    back: FaceKeys = Field(default_factory=FaceKeys, description="The other face.")
    loose_parts: Annotated[list[LoosePartKeys], Field(max_length=50)] = Field(
        default_factory=list, description="Wooden parts that are dyed to match a mix."
    )
    moisture_log: Annotated[list[MoistureKeys], Field(max_length=200)] = Field(
        default_factory=list, description="The wood's moisture on the days it is cut."
    )
    witness_marks: Annotated[list[WitnessKeys], Field(max_length=40)] = Field(
        default_factory=list, description="Marks read back in the mounting at hand."
    )
    cure_wait: Annotated[float, Measured(Quantity.TIME, 0.0, 60.0 * 86400.0)] | None = Field(
        default=None,
        description="How long you mean to wait from a pour to the next cut.",
        examples=["48 h"],
    )
    begin: Annotated[dt.date, Date()] | None = Field(
        default=None,
        description="The first day of work; without it days are numbered from a Monday.",
        examples=["2027-03-01"],
    )
    days_off: Annotated[list[Annotated[dt.date, Date()]], Field(max_length=400), OrList()] = Field(
        default_factory=list, description="Days the shop is shut.", examples=["[2027-03-26]"]
    )
    wanted_by: Annotated[dt.date, Date()] | None = Field(
        default=None, description="The day the pieces are wanted.", examples=["2027-04-30"]
    )
    test_piece_ahead: Annotated[str, OneOf(tuple(each.value for each in Lead))] = Field(
        default=Lead.NO.value,
        description="How far the test pieces are before the others are first cut; they then have"
        " batches of their own.",
    )
    cut_files_from_elsewhere: Annotated[list[BroughtKeys], Field(max_length=40)] = Field(
        default_factory=list, description="Cut files of any program, run in place of ours."
    )
    on_the_bed: BedKeys | None = Field(
        default=None, description="Several pieces held side by side and cut by one run of a file."
    )
    locating: LocatingKeys | None = Field(
        default=None,
        description="Dowels or discs to be let in by cut files; those of the holding where left"
        " out.",
    )
    keep_clear_of: Annotated[list[KeepOutKeys], Field(max_length=60)] = Field(
        default_factory=list,
        description="Clamps and stops, beside those of the holding, that no cutter may come near.",
    )
    cut_witness_marks: Truth = Field(
        default=False,
        description="Each mounting first cuts four small marks into the waste, to be read in the"
        " next.",
        examples=["yes"],
    )
    order: Annotated[list[PinKeys], Field(max_length=100)] = Field(
        default_factory=list, description="Orders you insist on."
    )
    accept: Annotated[list[AcceptKeys], Field(max_length=200)] = Field(
        default_factory=list, description="Stops accepted by name."
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for some work on a face."""
        if "front" not in given and "back" not in given:
            yield (
                "",
                slip(
                    "key-missing",
                    "neither `front` nor `back` is here",
                    "add `front:` with its inlays",
                ),
            )
