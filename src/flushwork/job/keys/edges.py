"""Shaped edges: chamfers, rounds and coves along the trim line or the rim of an empty pocket."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

from flushwork.core.findings import TRIM_LINE, Source
from flushwork.core.keys.declare import Key, Keyed
from flushwork.core.keys.quantities import length
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import OneOf, Words
from flushwork.job.keys.art import NAMES
from flushwork.job.keys.holes import FaceName
from flushwork.shelf.items import Bit

ALONG_TRIM: Final = TRIM_LINE.name


class EdgeShape(StrEnum):
    """What an edge is made into; each is the work of one kind of bit."""

    CHAMFER = "chamfer"
    ROUND = "round"
    COVE = "cove"


@dataclass(frozen=True, slots=True)
class Edge(Keyed):
    """One edge of a face shaped by a bit that follows it: a V, a round-over or a ball.

    ``size_mm`` is the width of a chamfer on the face, the radius of a round or a cove.
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
    """A chamfer by a V-bit, a round by a round-over, a cove (a hollow) by a ball."""
    size_mm: Annotated[float, length(0.1, 30.0), Key("1.5 mm")]
    """The width of a chamfer on the face; of a round or a cove its radius, which is its bit's."""
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
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take its face from where it stands; ask for a trim line where it follows one."""
        own["face"] = at.path[0]
        if own["along"] == ALONG_TRIM and at.job["outline"].artwork is None:
            at.slip(
                "edge-without-line",
                "an edge follows the trim line, and the job has none",
                "add a `trim line`, or name a pocket: `along: cup rest`",
                "along",
            )
