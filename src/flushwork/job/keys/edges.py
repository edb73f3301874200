"""Shaped edges along the trim line or the rim of an empty pocket: chamfers, rounds, rebates ...

Hanger slots: a keyhole bit plunges in, runs along under a lip, and comes back out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import TRIM_LINE, Source
from flushwork.core.keys.declare import Key, Keyed
from flushwork.core.keys.quantities import ANGLE, length, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import OneOf, Words
from flushwork.job.keys.art import NAMES, word_of
from flushwork.job.keys.holes import FaceName
from flushwork.job.keys.placing import PAIR
from flushwork.shelf.items import ANCHORS, Bit

ALONG_TRIM: Final = TRIM_LINE.name


class EdgeShape(StrEnum):
    """What an edge is made into; each is the work of one kind of bit."""

    CHAMFER = "chamfer"
    ROUND = "round"
    COVE = "cove"
    REBATE = "rebate"
    GROOVE = "groove"


SUNK: Final = (EdgeShape.REBATE, EdgeShape.GROOVE)
"""Edges with a floor, whose depth is a figure of its own."""


@dataclass(frozen=True, slots=True)
class Edge(Keyed):
    """One edge of a face shaped by a bit that follows it.

    ``size_mm`` is the width of a chamfer, a rebate or a groove on the face, the radius of a round
    or a cove.  ``depth_mm`` is 0 where the shape says it; ``inset_mm`` is how far inside its
    outline the middle of a groove lies.
    """

    name: Annotated[
        str,
        Words(80),
        Key("soft rim", otherwise=lambda at: f"{at.path[0]} edge {int(at.path[-1]) + 1}"),
    ]
    """What you call it; numbered where left out."""
    face: FaceName
    along: Annotated[str, Words(80), Key("cup rest", default=ALONG_TRIM)]
    """The trim line, or a pocket of this face that is left empty, by its name."""
    shape: Annotated[EdgeShape, OneOf(EdgeShape), Key(default=EdgeShape.CHAMFER)]
    """A chamfer by a V-bit, a round by a round-over or in steps by a ball, a cove (a hollow) by a
    ball, a rebate (a step) by a flat bit, a groove by a ball or a flat bit of its width."""
    size_mm: Annotated[float, length(0.1, 30.0), Key("1.5 mm")]
    """The width on the face; of a round or a cove its radius, which is its bit's; of a round by a
    ball any."""
    depth_mm: Annotated[float, length(0.0, 200.0), Key("1.5 mm", optional=True)]
    """Of a rebate or a groove: its depth below the finished face."""
    inset_mm: Annotated[float, length(0.0, 500.0), Key("6 mm", optional=True)]
    """Of a groove: from the outline to its middle."""
    into: Annotated[tuple[str, ...], NAMES, Key("[border]", name="cut into", default=())]
    """Inlays that it may cut away."""
    bit: Annotated[
        Bit | None,
        On("bits", "bit"),
        Key("90 deg V-bit", unsaid="bit: chosen from the shop's  (default)", optional=True),
    ]
    """The bit to use; chosen where left out: for a chamfer the V-bit nearest to 90 degrees."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for depth and inset where they are wanted, and only there."""
        shape = word_of(given.get("shape", EdgeShape.CHAMFER.value))
        wanted = {
            "depth": tuple(each.value for each in SUNK),
            "inset": (EdgeShape.GROOVE.value,),
        }
        for key, shapes in wanted.items():
            if shape in shapes and key not in given:
                told = f"a {shape} has a `{key}`"
                yield "", slip("key-missing", f"`{key}` is missing: {told}", f"add `{key}: 2 mm`")
            elif shape not in shapes and key in given:
                goes = " or ".join(f"`shape: {each}`" for each in shapes)
                told = f"`{key}` goes with {goes} only"
                yield key, slip("key-out-of-place", told, "leave it out here")

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take its face from where it stands; ask for a trim line where it follows one."""
        own["face"] = at.path[0]
        own["depth_mm"] = own["depth_mm"] or 0.0
        own["inset_mm"] = own["inset_mm"] or 0.0
        if own["along"] == ALONG_TRIM and at.job["outline"].artwork is None:
            at.slip(
                "edge-without-line",
                "an edge follows the trim line, and the job has none",
                "add a `trim line`, or name a pocket: `along: cup rest`",
                "along",
            )


@dataclass(frozen=True, slots=True)
class Hanger(Keyed):
    """One slot that a screw's head goes into: its entry, and how far and which way it runs.

    The entry is as wide as the bit's head, the slot as its neck; the head runs hidden beneath.
    """

    name: Annotated[
        str,
        Words(80),
        Key("left hanger", otherwise=lambda at: f"{at.path[0]} hanger {int(at.path[-1]) + 1}"),
    ]
    """What you call it; numbered where left out."""
    face: FaceName
    x_mm: Annotated[float, PAIR, Key("[-60 mm, 20 mm]", name="at", into=("y_mm",))]
    """The middle of its entry, [right, up] from the place named by `from`."""
    y_mm: float
    anchor: Annotated[str, OneOf(ANCHORS), Key("top", name="from", default="centre")]
    """The place on the trim line that `at` counts from."""
    slot_mm: Annotated[float, length(1.0, 500.0), Key("12 mm", name="slot")]
    """How far the slot runs, from the middle of the entry to the middle of its end."""
    turn_rad: Annotated[float, ANGLE, Key("90 deg", name="runs", default=math.pi / 2.0)]
    """Which way it runs from the entry, left about from the right: 90 deg is up, where the screw
    comes to rest when the piece is let down onto it."""
    depth_mm: Annotated[float, length(0.0, 100.0, above=True), Key("9 mm")]
    """How deep the bit's tip runs below the finished face."""
    bit: Annotated[
        Bit | None,
        On("bits", "bit"),
        Key("9.5 mm keyhole", unsaid="bit: chosen from the shop's  (default)", optional=True),
    ]
    """The keyhole bit to use; the shop's first where left out."""
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take its face from where it stands."""
        own["face"] = at.path[0]
