"""The boards on hand, and the parts that are sawn out of them beside the blanks of the run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Group, Items, Key, Keyed
from flushwork.core.keys.quantities import Count, length, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import Either, Words
from flushwork.shelf.items import Wood


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
