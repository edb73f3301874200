"""The whole job: one file, every key of it declared once, here and in the modules named here.

Frames.  Each face has its own frame, as seen by someone looking at that face with the blank
before them: x to the right along the blank's length, y away along its width, origin at the lower
left corner of the blank.  Heights (``z``) count up out of the face from its as-sawn plane.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Finding, Severity, Source
from flushwork.core.keys.days import Date
from flushwork.core.keys.declare import OMIT, Anew, Group, Items, Key, Keyed, Names
from flushwork.core.keys.quantities import Count, Measured, length, slip
from flushwork.core.keys.settle import NONE, At, On
from flushwork.core.keys.words import TRUTH, OneOf, Version, Words
from flushwork.core.units import Quantity
from flushwork.core.units.kinds import DAY_S
from flushwork.job.keys.art import TextArt
from flushwork.job.keys.box.pieces import OfBox, blank_or_piece, unsized_blank
from flushwork.job.keys.box.walls import WoodenBox
from flushwork.job.keys.cut_list import EVERY_PIECE, NAME_MARK, CutList, OnePlank
from flushwork.job.keys.holes import FaceName
from flushwork.job.keys.imported import Imported
from flushwork.job.keys.inlays import Face, Inlay, check_names, check_order
from flushwork.job.keys.layouts import Layout
from flushwork.job.keys.lists import (
    LONGEST_NAME,
    OF_A_PART,
    TAKEN_OVER,
    Acceptance,
    BrightLines,
    Lead,
    LoosePart,
    MoistureReading,
    OrderConstraint,
    RegistrationMark,
    loose_parts,
    parts_named,
)
from flushwork.job.keys.mixes import Mix, implied_clear
from flushwork.job.keys.pockets import Pocket
from flushwork.job.keys.wood import (
    Allowances,
    Bed,
    Blank,
    FinishPlan,
    Outline,
    RoughStock,
    first_finish,
    untrimmed,
)
from flushwork.shelf.items import Holding, KeepOut, Locating, Sealer, Shop
from flushwork.shelf.rooms import Room, usual_rooms

ALONE: Final = Bed()
USUAL_ROUGH: Final = RoughStock()
DATUMS: Final = ("centre line", "near edge", "far edge")


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Keyed):
    """A whole job.

    ``given`` holds the keys the file itself states (``front.inlays.0.depth``, items from 0), so
    that defaults can be told apart; ``shop_file`` is the shop file as the job names it.  ``datum``
    is the line across the grain that growth counts from, empty where the holding says it.
    ``part`` is which of several parts this is, empty where there is only one; ``parts`` are the
    others, each a job of its own that shares everything but its wood and its faces.
    ``groups`` is in how many groups the pieces are poured, None as finishes soonest.
    ``keep_outs`` is what no bit may come near, the holding's own included.  ``warnings`` are
    what its values gave cause to mention without being unusable; ``places`` is where its keys
    stand, and the keys and named items right below them.
    """

    version: Annotated[int, Version(), Key("2", name="flushwork", required=True)] = 2
    """The version of the file's language."""
    title: Annotated[str, Words(120), Key("Kingfisher travelling set")]
    """What the piece is called."""
    shop_file: Annotated[
        str,
        Words(),
        Key("shop.yaml", name="shop", unsaid="shop: the packaged starter shop  (default)"),
    ] = ""
    """The shop file, beside the job file; a packaged starter shop where left out."""
    holding: Annotated[
        Holding, On("holdings", "holding"), Key("dowels", otherwise=lambda at: at.shop.holdings[0])
    ]
    """How the blank is held and located; the shop's first where left out."""
    datum: Annotated[
        str, OneOf(DATUMS), Key("centre line", unsaid="datum: from the holding  (default)")
    ] = ""
    """Across the grain, the line that wood grows away from; from the holding where left out."""
    pieces: Annotated[int, Count(1, 500), Key("3", default=1)]
    """Pieces to be made; a part of the job may say another number for itself."""
    test_pieces: Annotated[int, Count(0, 100), Key("1", default=0)]
    """Test pieces, made beside the run."""
    groups: Annotated[
        int | None, Count(1, 100), Key("1", unsaid="groups: as finishes soonest  (default)")
    ] = None
    """In how many groups the pieces are poured, each with batches of its own; as finishes soonest
    where left out."""
    cell_mm: Annotated[
        float | None,
        length(0.02, 1.0),
        Key("0.1 mm", unsaid="cell: chosen from the narrowest work  (default)", optional=True),
    ]
    """Side of a cell of the replay; chosen where left out."""
    begin: Annotated[dt.date | None, Date(), Key("2027-03-01")] = None
    """The first day of work; without it days are numbered from a Monday."""
    days_off: Annotated[
        tuple[dt.date, ...], Items(Date(), most=400, or_one=True), Key("[2027-03-26]")
    ] = ()
    """Days the shop is shut."""
    wanted_by: Annotated[dt.date | None, Date(), Key("2027-04-30")] = None
    """The day the pieces are wanted."""
    test_ahead: Annotated[Lead, OneOf(Lead), Key(name="test piece ahead")] = Lead.NO
    """How far the test pieces are before the others are first cut; they then have batches of their
    own."""
    order_constraints: Annotated[
        tuple[OrderConstraint, ...], Items(Group(OrderConstraint), most=100), Key(name="order")
    ] = ()
    """Orders you insist on."""
    of_box: Annotated[OfBox | None, Group(OfBox, "piece"), Key(name="of the box")] = None
    """Of a part: the piece of the box that it is, in place of a blank."""
    blank: Annotated[Blank, Key(otherwise=unsized_blank)]
    """The piece of wood."""
    rough: Annotated[RoughStock, Key(name="rough stock", default=USUAL_ROUGH)] = USUAL_ROUGH
    """How much larger the boards are that the blank is made of, and how long they rest."""
    allowances: Annotated[Allowances, Key(default=Allowances())]
    """What preparation takes and leaves."""
    bright_share: Annotated[
        float, Group(BrightLines), Key(name="bright lines", default=BrightLines())
    ] = 0.6
    """What is wanted of lines that shine by flakes."""
    bright_odds: float = 0.9
    layouts: Annotated[tuple[Layout, ...], Names(Layout), Key(default=())] = ()
    """Boards of games and ornament by their measures, by name."""
    outline: Annotated[
        Outline,
        Key(
            name="trim line",
            otherwise=untrimmed,
            unsaid="trim line: none, the blank stays as it is  (default)",
        ),
    ]
    """The final outline; left out, the blank is not trimmed."""
    plank: Annotated[OnePlank | None, Group(OnePlank), Key(name="from one plank")] = None
    """Pieces smaller than the blank, laid on it, cut in one run and parted."""
    sealer: Annotated[
        Sealer | None,
        On("sealers", "sealer", none=True),
        Key("shellac", otherwise=lambda at: at.shop.sealers[0] if at.shop.sealers else None),
    ]
    """A sealer of the shelf, or none; the shop's first where left out."""
    finish: Annotated[FinishPlan | None, Group(FinishPlan, "name"), Key(otherwise=first_finish)]
    """The clear finish, or none; the shop's first where left out."""
    mixes: Annotated[tuple[Mix, ...], Names(Mix), Key(default=())]
    """The mixes, by name."""
    faces: Annotated[
        tuple[Face, ...],
        Group(Face),
        Key(name="front", aside=True, doc="The face worked first."),
        Group(Face),
        Key(name="back", aside=True, doc="The other face."),
    ]
    parts: Annotated[
        tuple[Job, ...],
        Anew(
            lambda: Job,
            (*OF_A_PART, *TAKEN_OVER),
            "Part",
            "One more part of the job: its wood and its faces.",
        ),
        Key(),
    ] = ()
    """More parts of the same job, by name: a lid, an end cap. They share mixes, pours, days, cost
    and book."""
    first_part: Annotated[str, Words(LONGEST_NAME), Key("sign", optional=True)] = "board"
    """What the part is called that the rest of the file speaks of, where there are others."""
    cut_list: Annotated[CutList | None, Group(CutList), Key()] = None
    """The boards on hand, out of which the blanks of the run are sawn, and what else."""
    box: Annotated[WoodenBox | None, Group(WoodenBox), Key()] = None
    """The mitred box that the piece lives in."""
    loose_parts: Annotated[tuple[LoosePart, ...], Items(Group(LoosePart), most=50), Key()] = ()
    """Pegs, counters, dice and men that go with the piece."""
    imported: Annotated[
        tuple[Imported, ...], Items(Group(Imported), most=40), Key(name="imported files")
    ] = ()
    """G-code files of any program, run in place of ours."""
    locating: Annotated[
        Locating | None, Group(Locating), Key(otherwise=lambda at: at.job["holding"].locating)
    ] = None
    """Dowels or discs to be let in by G-code files; those of the holding where left out."""
    keep_outs: Annotated[
        tuple[KeepOut, ...], Items(Group(KeepOut), most=60), Key(name="keep clear of")
    ] = ()
    """Clamps and stops, beside those of the holding, that no bit may come near."""
    marks: Annotated[bool, TRUTH, Key("yes", name="cut registration marks")] = False
    """Each setup first cuts four small marks into the waste, to be read in the next."""
    bed: Annotated[Bed, Key(name="on the bed")] = ALONE
    """Several pieces held side by side and cut by one run of a file."""
    cure_wait_s: Annotated[
        float | None, Measured(Quantity.TIME, 0.0, 60.0 * DAY_S), Key("48 h")
    ] = None
    """How long you mean to wait from a pour to the next cut."""
    rooms: Annotated[
        tuple[Room, ...],
        Items(Group(Room, "name"), 1, 8, or_one=True),
        Key("[heated room]", name="places", otherwise=lambda _: usual_rooms()),
    ] = field(default_factory=usual_rooms)
    """Where the pieces will live; a heated room where left out."""
    moisture_log: Annotated[
        tuple[MoistureReading, ...], Items(Group(MoistureReading), most=200), Key()
    ] = ()
    """The wood's moisture on the days it is cut."""
    registration_marks: Annotated[
        tuple[RegistrationMark, ...], Items(Group(RegistrationMark), most=40), Key()
    ] = ()
    """Marks read back in the setup at hand."""
    accepted: Annotated[
        tuple[Acceptance, ...], Items(Group(Acceptance), most=200), Key(name="accept", default=())
    ]
    """Findings accepted by name."""
    file: str
    folder: str
    shop: Shop
    source: Source
    part: str = ""
    given: frozenset[str] = frozenset()
    places: tuple[tuple[str, Source], ...] = ()
    warnings: tuple[Finding, ...] = ()

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for wood, and for some work on a face."""
        yield from blank_or_piece(given)
        if not {"front", "back", "of the box"} & {*given}:
            yield (
                "",
                slip(
                    "key-missing",
                    "neither `front` nor `back` is here",
                    "add `front:` with its inlays",
                ),
            )

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold the parts of the job against one another."""
        own["places"] = at.reading.tree.places
        if own["of_box"] is not None and "part" not in own:
            told = "only one of the `parts` can be a piece of the box"
            at.slip("key-out-of-place", told, "write it there", "of the box")
        parts_named(own, at)
        faces = tuple(own.get(name) or Face(name, (), ()) for name in FACES)
        check_names(faces, at.reading)
        check_order(faces, at.reading)
        own["faces"] = tuple(each for each in faces if each.worked)
        inlays = [each for face in faces for each in face.inlays]
        poured = {mix.name for each in inlays for mix in (each.mix, each.cap) if mix}
        clear = implied_clear(at)
        if clear.name in poured and clear not in own["mixes"]:
            own["mixes"] = (*own["mixes"], clear)
        bright: BrightLines = own["bright_share"]
        own.update(bright_share=bright.share, bright_odds=bright.odds)
        if own["finish"] is not None and own["finish"].finish is None:
            own["finish"] = None
        thickness = own["blank"].thickness_mm
        if own["allowances"].wood_between_mm >= thickness:
            at.out_of_range(
                f"least wood between faces: the blank is only {thickness:g} mm thick",
                "write less than the thickness; 3 mm is usual",
                "allowances",
                "least wood between faces",
            )
        _pieces_named(own, at)
        _days_off(own, at)
        loose_parts(own, at)
        located = own["locating"]
        if located is not None and located.bit:
            where = ("locating", "bit") if "locating" in at.said else ("holding",)
            at.reading.find(at.shop.bits, located.bit, "bit", where)
        own["keep_outs"] = (*own["holding"].keep_outs, *own["keep_outs"])
        for index, each in enumerate(own["moisture_log"] if inlays else ()):
            path = ("moisture log", index, "when cutting")
            at.reading.find(inlays, each.cutting, "inlay", path)

    @classmethod
    def shown(cls, record: Job) -> Mapping[str, Any]:
        """Tell what the holding brings with it only where it is the job's own."""
        told: dict[str, Any] = {
            "bright lines": BrightLines(share=record.bright_share, odds=record.bright_odds),
            "keep clear of": record.keep_outs[len(record.holding.keep_outs) :],
            **{each.name: each for each in record.faces},
        }
        if record.outline.artwork is None:
            told["trim line"] = None
        told |= {key: NONE for key in ("sealer", "finish") if getattr(record, key) is None}
        if record.bed.pieces == 1:
            told["on the bed"] = OMIT
        if not record.parts:
            told["first part"] = OMIT
        if record.of_box is not None:
            told["blank"] = OMIT
        return told

    def face(self, name: FaceName) -> Face:
        """Return the face of that name; one without work has nothing on it."""
        for face in self.faces:
            if face.name == name:
                return face
        return Face(name=name, inlays=(), holes=())

    @property
    def planed(self) -> bool:
        """Whether it comes to the machine as thick as it stays: of the box, not inlaid."""
        return self.sawn_for_box and not self.inlays

    @property
    def sawn_for_box(self) -> bool:
        """Whether its wood is that of the box's own walls or bottom."""
        return self.of_box is not None and self.of_box.planed

    @property
    def each(self) -> tuple[Job, ...]:
        """All parts of the job, this one first."""
        return (self, *self.parts)

    @property
    def inlays(self) -> tuple[Inlay, ...]:
        """All inlays, front before back."""
        return tuple(inlay for face in self.faces for inlay in face.inlays)

    @property
    def pockets(self) -> tuple[Pocket, ...]:
        """All pockets left empty, front before back."""
        return tuple(pocket for face in self.faces for pocket in face.pockets)


FACES: tuple[FaceName, ...] = ("front", "back")


def _days_off(own: dict[str, Any], at: At) -> None:
    """Put the days off in order; one written twice is a slip: another day may be meant."""
    days = own["days_off"]
    for index, day in enumerate(days):
        if day in days[:index]:
            at.slip(
                "day-twice",
                f"{day.isoformat()} stands twice among the days off",
                "write each day once",
                "days off",
                index,
            )
    own["days_off"] = tuple(sorted(set(days)))


def _pieces_named(own: dict[str, Any], at: At) -> None:
    """Note what goes on a piece that there is none of, and a text that no names fill."""
    plank: OnePlank | None = own.get("plank")
    others = () if plank is None else tuple(each.name for each in plank.others)
    named = plank is not None and bool(plank.names or plank.names_file)
    for face in own["faces"]:
        for kind, items in (("inlays", face.inlays), ("holes", face.holes),
                            ("pockets", face.pockets)):  # fmt: skip
            for index, item in enumerate(items):
                where = (face.name, kind, index, "on")
                if item.on and item.on not in (*others, EVERY_PIECE):
                    at.reading.slip(
                        "name-unknown",
                        f"there is no piece called '{item.on}' on the plank",
                        f"write `{EVERY_PIECE}` for every piece, or one of the `other pieces`"
                        + (f": {', '.join(others)}" if others else ", of which there are none"),
                        where,
                    )
        for thing in face.things:
            for art in thing.artwork:
                words = art.art.words if isinstance(art.art, TextArt) else ""
                if NAME_MARK in words and not (named and thing.on in ("", EVERY_PIECE)):
                    at.reading.findings.append(
                        Finding(
                            "names-missing",
                            Severity.MUST_FIX,
                            f"the text '{words}' asks for the name of a piece, and no names fill "
                            "it",
                            "add `names` to `from one plank`, or write the words themselves",
                            source=art.source,
                        )
                    )
