"""A part of the job that is a piece of its box: what the box says of it need not be said again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Key, Keyed
from flushwork.core.keys.quantities import LENGTH, length, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import OneOf
from flushwork.job.keys.art import word_of
from flushwork.job.keys.wood import Blank
from flushwork.shelf.items import Wood


class BoxPiece(StrEnum):
    """The pieces of a box that are cut on the machine as a part of the job."""

    WALL_A = "wall A"
    WALL_B = "wall B"
    WALL_C = "wall C"
    WALL_D = "wall D"
    EDGE_A = "lower edge A"
    EDGE_C = "lower edge C"
    BOTTOM = "bottom"
    LID = "lid"


EDGES: Final = (BoxPiece.EDGE_A, BoxPiece.EDGE_C)
UNSIZED_MM: Final = (300.0, 200.0, 1000.0)
"""What a blank is until the box has given it its size: no value of the job is at odds with it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfBox(Keyed):
    """A part that is a piece of the box: its size and its recesses follow from the box."""

    piece: Annotated[BoxPiece, OneOf(BoxPiece), Key("wall A")]
    """Which piece. Walls A and C run along the blank's length, A at the back, where the hinges go;
    the front face of a wall is its outer face, and that of its lower edge the edge itself."""
    thickness_mm: Annotated[float | None, LENGTH, Key("12 mm", optional=True)] = None
    """Of a lid, as sawn; that of the other pieces follows from the box."""
    wood: Annotated[Wood | None, On("woods", "wood"), Key("black cherry", optional=True)] = None
    """Of a lid; that of the box where left out."""
    waste_mm: Annotated[float, length(0.0, 200.0), Key("15 mm")] = 0.0
    """Wood around it beyond a trim line that frees it on the machine; 0 mm for a piece that is
    sawn to its size."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask a lid for its thickness, and no other piece."""
        lid = word_of(given.get("piece")) == BoxPiece.LID.value
        if lid and "thickness" not in given:
            yield (
                "",
                slip("key-missing", "`thickness` is missing", "add the lid's `thickness: 12 mm`"),
            )
        for key in ("thickness", "wood"):
            if key in given and not lid:
                told = f"`{key}` goes with a lid only: that of other pieces follows from the box"
                yield key, slip("key-out-of-place", told, "leave it out here")

    @property
    def planed(self) -> bool:
        """Whether it comes to the machine as thick as the box asks for."""
        return self.piece is not BoxPiece.LID


def blank_or_piece(given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
    """Ask a job or a part of it for its wood: a blank, or a piece of the box."""
    if "blank" not in given and "of the box" not in given:
        told = "add `blank:` with its value"
        yield "blank", slip("key-missing", "`blank` is missing", told)
    if "blank" in given and "of the box" in given:
        told = "a piece of the box has the size that the box asks for"
        yield "blank", slip("keys-clash", told, "leave `blank` out here")


def unsized_blank(at: At) -> Any:
    """Return the blank of a piece of the box, until the box has given it its size."""
    along, across, thick = UNSIZED_MM
    source = at.source("of the box")
    of_box = at.own.get("of_box")
    wood = (of_box and of_box.wood) or at.shop.woods[0]
    return Blank(
        wood, along, across, thick, True, True, 0.08, True, source, source
    )  # fmt: skip
