"""Pockets left empty: finger grips, recesses for felt or magnets, a cup's rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Group, Items, Key, Keyed, Spread
from flushwork.core.keys.quantities import length
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import TRUTH, Words
from flushwork.job.keys.art import NAMES, Artwork, placed_apart
from flushwork.job.keys.holes import FaceName
from flushwork.shelf.items import Bit


@dataclass(frozen=True, slots=True)
class Pocket(Keyed):
    """A pocket that stays empty: artwork and depth.

    It is cut once its face has been sanded for the last time, so that neither resin nor dust gets
    into it.  ``into`` are the inlays it may cut away.
    """

    more_kinds: ClassVar[tuple[str, ...]] = ("art",)
    seam: ClassVar[None] = None
    twice: ClassVar[bool] = False

    name: Annotated[
        str,
        Words(80),
        Key("cup rest", otherwise=lambda at: f"{at.path[0]} pocket {int(at.path[-1]) + 1}"),
    ]
    """What you call it; numbered where left out."""
    face: FaceName
    artwork: Annotated[
        tuple[Artwork, ...],
        Spread(Artwork),
        Items(Group(Artwork), 1, 500),
        Key(name="art", aside=True, doc="Several pieces of artwork, each with its own place."),
    ]
    depth_mm: Annotated[float, length(0.0, 200.0, above=True), Key("2 mm")]
    """Depth below the finished face; of an engraving the greatest depth."""
    v_bit: Annotated[bool, TRUTH, Key("yes", name="engrave", default=False)]
    """Engraved with a V-bit."""
    into: Annotated[tuple[str, ...], NAMES, Key("[body]", name="cut into", default=())]
    """Inlays that it may cut away."""
    bits: Annotated[
        tuple[Bit, ...],
        Items(On("bits", "bit", longest=200), 1, or_one=True),
        Key("[1/8 in flat]", default=(), unsaid="bits: chosen from the shop's  (default)"),
    ]
    """The bits to use; chosen where left out."""
    on: Annotated[str, Words(40), Key("small", optional=True)] = field(default="", kw_only=True)
    """With `from one plank`: which pieces it goes on, by the name of one of the `other pieces`, or
    `all`; those of the trim line where left out."""
    source: Source
    depth_source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Let each piece of artwork have its own place."""
        if "art" in given:
            yield from placed_apart(given, "art", "put it into each piece of `art`")

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take the artwork from where it stands."""
        own["face"] = at.path[0]
        own["artwork"] = own["art"] if "art" in own else (own["artwork"],)
