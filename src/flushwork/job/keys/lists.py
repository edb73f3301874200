"""The lists of a job beside its faces: order, reasons, loose parts, readings, parts; its wishes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import OMIT, Key, Keyed
from flushwork.core.keys.quantities import LENGTH, Count, share, slip
from flushwork.core.keys.section import one_of
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import Code, OneOf, StepWords, Words
from flushwork.job.keys.layouts import Layout, OfLayout
from flushwork.job.keys.mixes import Mix, OfColour
from flushwork.job.keys.placing import PAIR
from flushwork.shelf.items import Wood


class Lead(StrEnum):
    """How far the test pieces have to be before the others are first cut."""

    NO = "no"
    FIRST_SANDING = "until the first sanding"
    LAST_SANDING = "until the last sanding"
    FINISH = "until the finish"


@dataclass(frozen=True, slots=True)
class OrderConstraint(Keyed):
    """An order you insist on; the check tells what it breaks.

    Step ``first`` is done before step ``then``.  A step is a kind of work and what it is done to
    (``cut body``, ``seal front``, ``trim``).  ``only_after`` tells that it was written as
    ``do THEN after FIRST``.
    """

    first: Annotated[str, StepWords(), Key("cut body", name="do")]
    """A step: the kind of work, and the inlay, pattern or face it is done to."""
    then: Annotated[
        str,
        StepWords(),
        Key("seal front", name="before", optional=True),
        StepWords(),
        Key("sand front", name="after", aside=True, doc="Or the step it may only come after."),
    ]
    """The step it comes before."""
    only_after: bool
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for one of both."""
        if ("before" in given) == ("after" in given):
            yield (
                "",
                slip(
                    "keys-clash" if "before" in given else "key-missing",
                    "an order needs `before` or `after`, and only one of them",
                    "write what the step comes before, or what it comes after",
                ),
            )

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Put the step that is done first before the other."""
        own["only_after"] = "after" in own
        if own["only_after"]:
            own.update(first=own["after"], then=own["first"])

    @classmethod
    def shown(cls, record: OrderConstraint) -> Mapping[str, Any]:
        """Tell it as it was written."""
        if not record.only_after:
            return {}
        return {"do": record.then, "before": OMIT, "after": record.first}


@dataclass(frozen=True, slots=True)
class Acceptance(Keyed):
    """A finding that you accept by name, and why."""

    code: Annotated[str, Code(), Key("wood-between-too-thin", name="finding")]
    """The code of the finding."""
    subject: Annotated[str, Words(80), Key(default="")]
    """Only for this inlay or pattern; for all where left out."""
    because: Annotated[str, Words(), Key("tried on a test strip")]
    """Your reason; it is printed in the book and in the G-code files."""
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class LoosePart(Keyed):
    """Wooden parts of one kind, ``count`` to each piece, bare or dyed to match a mix.

    ``across_mm`` is their diameter, of dice their side; None where nobody says it, and then taken
    from the holes they go in.  ``tip_mm`` is the diameter of the thin end of a tapered peg.
    """

    name: Annotated[str, Words(80), Key("night pegs")]
    """What you call them."""
    wood: Annotated[Wood, On("woods", "wood"), Key("sugar maple")]
    """The wood they are made of, from the shelf."""
    match: Annotated[Mix | None, OfColour(), Key("deep teal", optional=True)] = None
    """The mix whose colour they are dyed to; bare where left out."""
    count: Annotated[int, Count(1, 10000), Key("33")]
    """How many go with one piece."""
    spares: Annotated[int, Count(0, 10000), Key("2")] = 0
    """How many more are made for each piece."""
    shape: Annotated[str, OneOf(("peg", "counter", "die", "man")), Key("peg")] = ""
    """What they are: a round peg, a flat round counter, a die, a turned man."""
    across_mm: Annotated[float | None, LENGTH, Key("3 mm", optional=True)] = None
    """Their diameter before any finish, of dice their side; of pegs, where left out, what fits the
    holes they go in."""
    long_mm: Annotated[float | None, LENGTH, Key("24 mm", name="length", optional=True)] = None
    """How long a peg, how high a man, how thick a counter is."""
    tip_mm: Annotated[float | None, LENGTH, Key("2.8 mm", optional=True)] = None
    """Of a tapered peg: the diameter of its thin end."""
    coats: Annotated[int, Count(0, 20), Key("1")] = 0
    """Coats of the job's finish that they get."""
    goes_in: Annotated[str, Words(80), Key("track", optional=True)] = ""
    """The hole pattern that they go in."""
    plays_on: Annotated[Layout | None, OfLayout(), Key("mill", optional=True)] = None
    """The layout that they are for: their number and size are held against it."""
    side: Annotated[str, Words(40), Key("north", optional=True)] = ""
    """The side that plays with them; parts of two sides have to be told apart by their colour."""
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Leave an empty name for holes and side where nothing is said; hold a taper."""
        own.update({key: own[key] or "" for key in ("goes_in", "side", "shape")})
        tip, across = own["tip_mm"], own["across_mm"]
        if tip is not None and (across is None or tip >= across):
            at.out_of_range(
                "tip: a taper runs from `across` down to its tip",
                "write `across`, and a thinner `tip`",
                "tip",
            )


@dataclass(frozen=True, slots=True)
class MoistureReading(Keyed):
    """The wood's moisture on the day that something is cut.

    It is read itself, or the humidity that the wood has settled in.
    """

    cutting: Annotated[str, Words(80), Key("bright line", name="when cutting")]
    """The inlay that is cut that day."""
    moisture: Annotated[float | None, share(0.02, 0.3), Key("9 %", optional=True)]
    """Moisture content, of the dry weight."""
    humidity: Annotated[float | None, share(0.01, 0.99), Key("58 %", optional=True)]
    """Or the relative humidity that the wood has settled in."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for one of the two readings."""
        found = one_of(given, ("moisture", "humidity"))
        if found:
            yield found


@dataclass(frozen=True, slots=True)
class RegistrationMark(Keyed):
    """One registration mark: where it was cut, and how far off it now reads, mm."""

    x_mm: Annotated[float, PAIR, Key("[10 mm, 10 mm]", name="at", into=("y_mm",))]
    """Where it was cut, [right, up] from the blank's lower left corner."""
    y_mm: float
    off_x_mm: Annotated[float, PAIR, Key("[0.12 mm, 0.05 mm]", name="read", into=("off_y_mm",))]
    """How far off it now is, [right, up]."""
    off_y_mm: float
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class BrightLines(Keyed):
    """How bright lines of flakes shall come out, and how surely."""

    share: Annotated[float, share(), Key()] = 0.6
    """The share of a line's width that shall stay bright."""
    odds: Annotated[float, share(0.5, 0.999), Key()] = 0.9
    """How surely it shall: of a hundred places, so many."""


def loose_parts(own: dict[str, Any], at: At) -> None:
    """Note names that stand twice among loose parts, and holes that are not there."""
    parts = own["loose_parts"]
    for index, part in enumerate(parts):
        if any(part.name == each.name for each in parts[:index]):
            at.slip(
                "name-twice",
                f"'{part.name}' is the name of two kinds of loose parts",
                "give each kind a name of its own",
                "loose parts",
                index,
                "name",
            )
        if part.goes_in:
            holes = [each for face in own["faces"] for each in face.holes]
            path = ("loose parts", index, "goes in")
            if holes:
                at.reading.find(holes, part.goes_in, "hole pattern", path)
            else:
                at.reading.slip(
                    "name-unknown", "the job has no holes for them", "leave this line out", path
                )


# ---- Several parts of one job: which keys each has for itself, and their names


OF_A_PART: Final = (
    "of the box",
    "blank",
    "trim line",
    "from one plank",
    "front",
    "back",
    "loose parts",
    "order",
    "imported files",
    "locating",
    "keep clear of",
    "registration marks",
    "moisture log",
    "accept",
)
"""The keys that each part has for itself."""
TAKEN_OVER: Final = (
    "pieces",
    "holding",
    "datum",
    "cell",
    "rough stock",
    "allowances",
    "layouts",
    "cut registration marks",
    "on the bed",
)
"""The keys that a part takes over from the job where it does not say them itself."""
OF_THE_FIRST: Final = (*OF_A_PART, "box", "cut list", "parts", "first part")
"""The keys of the job that speak of its first part alone, or of all parts together."""
MOST_PARTS: Final = 8
LONGEST_NAME: Final = 40


def parts_named(own: dict[str, Any], at: At) -> None:
    """Name the first of several parts; each needs a name that files and cards tell apart."""
    named = at.reading.tree.root.get("parts")
    if "part" in own or not isinstance(named, dict) or not named:
        return
    own["part"] = own["first_part"]
    if len(named) >= MOST_PARTS:
        at.out_of_range(
            f"the job has {len(named) + 1} parts, more than {MOST_PARTS}",
            "make a second job of some of them",
            "parts",
        )
    taken = {file_words(own["part"]): own["part"]}
    for name in named:
        plain = file_words(name)
        if not plain or len(name) > LONGEST_NAME or plain in taken:
            told = f"'{name}' names files '{plain}'"
            if plain in taken:
                told = f"{told}, like {taken[plain]}'s"
            elif not plain:
                told = f"'{name}' holds no letter or digit that can name its files"
            elif len(name) > LONGEST_NAME:
                told = f"'{name}' is {len(name)} letters long"
            at.slip(
                "part-name",
                told,
                f"give each part a name of its own, with letters or digits, of at most "
                f"{LONGEST_NAME} letters",
                "parts",
                name,
            )
        taken.setdefault(plain, name)


def file_words(name: str) -> str:
    """Return a name as it may stand in the name of a file: small letters, digits, hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")
