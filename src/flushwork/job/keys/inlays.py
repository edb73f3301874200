"""Inlays: artwork, depth, fill; the faces they lie in, and what they say of one another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from graphlib import CycleError, TopologicalSorter
from typing import Annotated, Any, ClassVar

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import OMIT, Group, Items, Key, Keyed, Spread
from flushwork.core.keys.quantities import LENGTH, InlayDepth, length, near, slip
from flushwork.core.keys.settle import At, On, Reading
from flushwork.core.keys.tree import Path_
from flushwork.core.keys.words import TRUTH, Either, OneOf, Words
from flushwork.core.units import Quantity
from flushwork.job.keys.art import NAMES, Artwork, placed_apart, word_of
from flushwork.job.keys.edges import ALONG_TRIM, Edge, Hanger
from flushwork.job.keys.holes import FaceName, Holes
from flushwork.job.keys.mixes import Mix, OfMix, implied_clear
from flushwork.job.keys.pockets import Pocket
from flushwork.shelf.items import Bit


class MeasuredFrom(StrEnum):
    """Which face a depth counts from."""

    FINISHED = "finished face"
    STANDING = "face as it stands"


class Manner(StrEnum):
    """How a fill goes in."""

    OVERFILLED = "overfilled"
    SCRAPED = "scraped flush"
    CAPPED = "scraped flush and capped"


@dataclass(frozen=True, slots=True)
class Seam(Keyed):
    """A line cut along the edges of other inlays.

    ``shared_only`` keeps just the edges that two of them share; edges in the hidden border or
    outside the trim line are always left out.
    """

    along: Annotated[tuple[str, ...], NAMES, Key("[rose dark, rose light]")]
    """The inlays whose edges it follows."""
    width_mm: Annotated[float, LENGTH, Key("0.8 mm")]
    """Width of the line."""
    shared_only: Annotated[
        bool, Either("all", "shared", second=True), Key(name="edges", default=False)
    ]
    """All their edges, or only those that two of them share."""


@dataclass(frozen=True, slots=True)
class Inlay(Keyed):
    """One inlay: artwork, depth, fill.

    ``seam`` replaces ``artwork`` for a seam line.  ``cap_mm`` is how proud of the face a cap stands
    before flush milling, 0 without one.  ``in_layers`` lets a fill deeper than its resin's layer go
    in by several pours.  ``bits`` are the user's choice, empty for ours.
    """

    more_kinds: ClassVar[tuple[str, ...]] = ("seam line", "art")

    name: Annotated[
        str,
        Words(80),
        Key("rose dark", otherwise=lambda at: f"{at.path[0]} inlay {int(at.path[-1]) + 1}"),
    ]
    """What you call it; numbered where left out."""
    face: FaceName
    artwork: Annotated[
        tuple[Artwork, ...],
        Spread(Artwork),
        Items(Group(Artwork), 1, 500),
        Key(name="art", aside=True, doc="Several pieces of artwork, each with its own place."),
    ]
    seam: Annotated[Seam | None, Key(name="seam line", optional=True)]
    """A line along the edges of other inlays."""
    depth_mm: Annotated[float, InlayDepth(Quantity.LENGTH, 0.0, 200.0, above=True), Key("2.5 mm")]
    """Depth of the cut; of an engraving the greatest depth."""
    measured_from: Annotated[MeasuredFrom, OneOf(MeasuredFrom), Key(default=MeasuredFrom.FINISHED)]
    """The face the depth counts from, and where the walls of an engraving meet its outline."""
    mix: Annotated[Mix, OfMix(), Key("deep teal", name="fill")]
    """The mix it is filled with."""
    manner: Annotated[Manner, OneOf(Manner), Key(name="how", default=Manner.OVERFILLED)]
    """How the fill goes in."""
    cap: Annotated[Mix | None, OfMix(), Key("clear", otherwise=implied_clear)]
    """With scraped flush and capped: the mix of the cap; a clear one where left out."""
    cap_mm: Annotated[
        float,
        length(0.0, 20.0),
        Key("0.4 mm", name="cap height", otherwise=lambda at: at.job["allowances"].overfill_mm),
    ]
    """With scraped flush and capped: how proud the cap stands; the overfill where left out."""
    in_layers: Annotated[bool, TRUTH, Key("yes")] = field(default=False, kw_only=True)
    """Poured in layers where it is deeper than its resin may be poured at once."""
    second_pass_of: Annotated[tuple[str, ...], NAMES, Key("[body]", default=())]
    """Earlier inlays this one is cut into."""
    after: Annotated[tuple[str, ...], NAMES, Key("[body]", default=())]
    """Inlays to be milled flush before this one is cut."""
    v_bit: Annotated[bool, TRUTH, Key("yes", name="engrave", default=False)]
    """Engraved with a V-bit."""
    twice: Annotated[bool, TRUTH, Key("yes")] = field(default=False, kw_only=True)
    """With engrave: the V follows its walls a second time at full depth, which takes most of the
    fuzz that the first pass leaves (common practice, no source)."""
    bits: Annotated[
        tuple[Bit, ...],
        Items(On("bits", "bit", longest=200), 1, or_one=True),
        Key("[1 mm flat]", default=(), unsaid="bits: chosen from the shop's  (default)"),
    ]
    """The bits to use; chosen where left out."""
    on: Annotated[str, Words(40), Key("small", optional=True)] = field(default="", kw_only=True)
    """With `from one plank`: which pieces it goes on, by the name of one of the `other pieces`, or
    `all`; those of the trim line where left out."""
    sealed: Annotated[bool, TRUTH, Key(otherwise=lambda at: at.job["sealer"] is not None)]
    """Walls sealed before filling; yes where the job has a sealer."""
    source: Source
    depth_source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Hold kinds, caps and places apart."""
        for key in ("cap", "cap height"):
            if key in given and word_of(given.get("how")) != Manner.CAPPED.value:
                yield (
                    key,
                    slip(
                        "key-out-of-place",
                        f"`{key}` goes with `how: {Manner.CAPPED.value}` only",
                        f"add `how: {Manner.CAPPED.value}`, or leave it out",
                    ),
                )
        kind = "seam line" if "seam line" in given else "art" if "art" in given else ""
        if kind:
            remedy = (
                "put it into each piece of `art`"
                if kind == "art"
                else "leave it out: a seam line lies where its inlays lie"
            )
            yield from placed_apart(given, kind, remedy)

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take the artwork from where it stands; leave out a cap that does not go with it."""
        own["face"] = at.path[0]
        if "art" in own:
            own["artwork"] = own["art"]
        else:
            own["artwork"] = () if own["seam"] is not None else (own["artwork"],)
        if own["manner"] is not Manner.CAPPED:
            own["cap"] = None
        own["cap_mm"] = own["cap_mm"] if own["cap"] else 0.0
        own["twice"] = own["v_bit"] and own["twice"]

    @classmethod
    def shown(cls, record: Inlay) -> Mapping[str, Any]:
        """Leave out what goes with other keys only."""
        told: dict[str, Any] = {}
        if record.cap is None:
            told["cap height"] = OMIT
        if not record.v_bit:
            told["twice"] = OMIT
        return told


@dataclass(frozen=True, slots=True)
class Face(Keyed):
    """One worked side of the blank: its inlays in the order of the file, its hole patterns.

    Its ``pockets`` stay empty, its ``edges`` are shaped, it hangs by its ``hangers``.
    """

    name: FaceName
    inlays: Annotated[tuple[Inlay, ...], Items(Group(Inlay), most=300), Key(default=())]
    """The inlays, in the order you think of them."""
    holes: Annotated[tuple[Holes, ...], Items(Group(Holes), most=100), Key(default=())]
    """The hole patterns."""
    pockets: Annotated[tuple[Pocket, ...], Items(Group(Pocket), most=100), Key()] = ()
    """Pockets that are left empty, cut after the last sanding."""
    edges: Annotated[tuple[Edge, ...], Items(Group(Edge), most=40), Key()] = ()
    """Chamfers, rounds, coves, rebates and grooves along the trim line or a pocket's rim."""
    hangers: Annotated[tuple[Hanger, ...], Items(Group(Hanger), most=20), Key()] = ()
    """Slots that the piece hangs by, undercut by a keyhole bit."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Name it by its key."""
        own["name"] = at.path[-1]

    @property
    def things(self) -> tuple[Inlay | Pocket, ...]:
        """Its inlays, then its pockets left empty."""
        return (*self.inlays, *self.pockets)

    @property
    def worked(self) -> bool:
        """Whether anything is cut into it."""
        return bool(self.things or self.holes or self.edges or self.hangers)


# ---- What inlays say of one another: every name known, every name once, no circles


def _named(inlay: Inlay | Pocket | Edge, path: Path_) -> Iterator[tuple[str, Path_]]:
    """Yield the inlays that one rests on, each with the place that says so."""
    if isinstance(inlay, Pocket | Edge):
        for index, name in enumerate(inlay.into):
            yield name, (*path, "cut into", index)
        return
    if inlay.seam is not None:
        for index, name in enumerate(inlay.seam.along):
            yield name, (*path, "seam line", "along", index)
    for index, name in enumerate(inlay.second_pass_of):
        yield name, (*path, "second pass of", index)
    for index, name in enumerate(inlay.after):
        yield name, (*path, "after", index)


def rests_on(inlay: Inlay) -> tuple[str, ...]:
    """Return the names of the inlays that must be in the face before this one."""
    return tuple(dict.fromkeys(name for name, _ in _named(inlay, ())))


def check_names(faces: tuple[Face, ...], reading: Reading) -> None:
    """Note every name that stands twice: all that is cut shares one list of names."""
    seen: dict[str, str] = {}
    for face in faces:
        groups: tuple[tuple[str, tuple[Inlay | Holes | Pocket | Edge | Hanger, ...]], ...] = (
            ("inlays", face.inlays),
            ("holes", face.holes),
            ("pockets", face.pockets),
            ("edges", face.edges),
            ("hangers", face.hangers),
        )
        for kind, items in groups:
            for index, item in enumerate(items):
                path: Path_ = (face.name, kind, index, "name")
                source = reading.source(path)
                if item.name in seen:
                    reading.slip(
                        "name-twice",
                        f"'{item.name}' is the name of two things, first in {seen[item.name]}",
                        "give each inlay, pocket, edge, hanger and hole pattern a name of its own, "
                        "on both faces",
                        path,
                    )
                seen.setdefault(item.name, f"line {source.line}")


def check_order(faces: tuple[Face, ...], reading: Reading) -> None:
    """Note every inlay that rests on one that is not on its face, or in the end on itself."""
    for face in faces:
        known = tuple(inlay.name for inlay in face.inlays)
        elsewhere = {inlay.name for other in faces if other is not face for inlay in other.inlays}
        rows: list[tuple[Inlay | Pocket | Edge, Path_]] = [
            *((each, (face.name, "inlays", at)) for at, each in enumerate(face.inlays)),
            *((each, (face.name, "pockets", at)) for at, each in enumerate(face.pockets)),
            *((each, (face.name, "edges", at)) for at, each in enumerate(face.edges)),
        ]
        for inlay, own in rows:
            for name, path in _named(inlay, own):
                if name in known:
                    continue
                others = tuple(each for each in known if each != inlay.name)
                listed = ", ".join(others) or "no other inlay"
                remedy = (
                    "it is on the other face; name one on this face"
                    if name in elsewhere
                    else f"{near(name, others)}on this face: {listed}"
                )
                reading.slip(
                    "name-unknown", f"there is no inlay called '{name}' here", remedy, path
                )
        pockets = (ALONG_TRIM, *(pocket.name for pocket in face.pockets))
        for at, edge in enumerate(face.edges):
            if edge.along not in pockets:
                reading.slip(
                    "name-unknown",
                    f"there is no empty pocket called '{edge.along}' on this face",
                    f"{near(edge.along, pockets)}an edge runs along: {', '.join(pockets)}",
                    (face.name, "edges", at, "along"),
                )
        if len(set(known)) < len(known):
            continue
        for circle in _circles(face):
            reading.slip(
                "order-goes-round",
                f"the order goes round: {' after '.join((*circle, circle[0]))}",
                "take one of these out of `along`, `second pass of` or `after`",
                (face.name, "inlays", known.index(circle[0])),
            )


def _circles(face: Face) -> Iterator[tuple[str, ...]]:
    """Yield each circle of inlays once, from its first inlay in the file."""
    rests = {inlay.name: set(rests_on(inlay)) for inlay in face.inlays}
    while True:
        try:
            TopologicalSorter(rests).prepare()
        except CycleError as error:
            circle = list(reversed(error.args[1][1:]))
            first = min(range(len(circle)), key=lambda at: list(rests).index(circle[at]))
            yield tuple(circle[first:] + circle[:first])
            rests[circle[first]] = set()
        else:
            return
