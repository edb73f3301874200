"""The mitred box around the finished board: walls, grooves, splines, lid, hinges, art outside.

Heights count up from the base of the walls as they are glued; places along a wall from the outside
of the nearer corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.findings import Source
from flushwork.core.keys.declare import OMIT, Group, Items, Key, Keyed
from flushwork.core.keys.quantities import Measured, length, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import Either, OneOf, Size
from flushwork.core.units import Quantity
from flushwork.core.units.kinds import DAY_S, HOUR_S
from flushwork.job.keys.art import word_of
from flushwork.job.keys.box.fittings import (
    HEIGHT,
    BoxCatch,
    BoxDividers,
    BoxFeet,
    BoxHinges,
    CornerSplines,
    LidCut,
    LidLies,
    LidPanel,
    SideArt,
)
from flushwork.shelf.items import Wood

LEAST_WALL_MM: Final = 2.0
"""Left of a wall behind a groove (common practice, no source: half the wall is usual)."""
GLUE_DRIES_S: Final = 12.0 * HOUR_S
"""Until a glued corner bears a plane (common practice, no source: 6 to 24 h; its label says it)."""
ROUNDED_MM: Final = 1e-6
"""Lengths that differ by less are the same: what a sum of decimals comes to."""


class HeldHow(StrEnum):
    """How the board goes into the box."""

    GROOVE = "in a groove"
    REBATE = "in a rebate"
    LOOSE = "loose"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldBoard(Keyed):
    """How the finished board goes into the box."""

    how: Annotated[HeldHow, OneOf(HeldHow), Key(name="held", default=HeldHow.GROOVE)]
    """In a groove along all walls (it floats), in a rebate at their top (it lifts out), or loose
    inside."""
    from_base_mm: Annotated[float, HEIGHT, Key("58 mm", name="from base", optional=True)]
    """The lower edge of the groove, or the ledge of the rebate."""
    width_mm: Annotated[float, length(0.5, 60.0), Key("6 mm")] = 6.0
    """Of the groove."""
    depth_mm: Annotated[float, length(0.5, 50.0), Key("5 mm")] = 5.0
    """Of the groove or rebate, into the wall."""
    play_mm: Annotated[float, length(0.0, 10.0), Key("0.3 mm")] = 0.3
    """Left free on each side, or as much as it grows there in the dampest month."""
    reveal_mm: Annotated[float, length(0.0, 30.0), Key("1 mm")] = 1.0
    """Seen between wall and shoulder of a board whose edge is rebated to go into the groove."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for the height of a groove or rebate."""
        if "from base" not in given and word_of(given.get("held")) != HeldHow.LOOSE.value:
            yield "", slip("key-missing", "`from base` is missing", "add `from base: 58 mm`")

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Give a board that lies loose no height."""
        own["from_base_mm"] = own["from_base_mm"] or 0.0


@dataclass(frozen=True, slots=True)
class BoxBottom(Keyed):
    """The bottom, a panel as thick as its groove is wide, its grain along the longer walls."""

    from_base_mm: Annotated[float, HEIGHT, Key("6 mm", name="from base")] = 6.0
    """The lower edge of its groove."""
    width_mm: Annotated[float, length(0.5, 50.0), Key("3 mm")] = 3.0
    """Of the groove."""
    depth_mm: Annotated[float, length(0.5, 50.0), Key("5 mm")] = 5.0
    """Of the groove, into the wall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WoodenBox(Keyed):
    """A box of four walls mitred at the corners."""

    wall_mm: Annotated[float, length(2.0, 60.0), Key("10 mm")]
    """Thickness of a wall."""
    height_mm: Annotated[float, length(10.0, 1000.0), Key("70 mm")]
    """Of the box as it is glued."""
    wood: Annotated[
        Wood, On("woods", "wood"), Key("black cherry", otherwise=lambda at: at.job["blank"].wood)
    ]
    """A wood of the shelf; that of the blank where left out."""
    board: Annotated[HeldBoard | None, Group(HeldBoard, "held"), Key()] = None
    """How the finished board goes into it; not at all where left out."""
    inside_x_mm: Annotated[
        float | None, Size(), Key("300 mm x 200 mm", name="inside", into=("inside_y_mm",))
    ] = None
    """Its clear size, along and across the blank's length; as the board asks for where left out."""
    inside_y_mm: float | None = None
    lean_rad: Annotated[
        float, Measured(Quantity.ANGLE, 0.0, math.radians(60.0)), Key("10 deg", name="walls lean")
    ] = 0.0
    """Outwards from upright; the clear size is then that at the base."""
    bottom: Annotated[BoxBottom | None, Group(BoxBottom), Key()] = None
    """The bottom and its groove."""
    trim_mm: Annotated[float, length(0.0, 20.0), Key("0.5 mm")] = 0.0
    """What is planed off the upper and off the lower edges once it is glued."""
    around: Annotated[
        bool, Either("around the corners", "each wall by itself"), Key(name="grain")
    ] = True
    """Whether the walls are sawn one after the other from one length, so that the grain runs on."""
    splines: Annotated[CornerSplines | None, Group(CornerSplines), Key()] = None
    """Splines across the corners."""
    lid: Annotated[LidCut | None, Group(LidCut), Key()] = None
    """The cut that makes the lid; none for a tray."""
    hinges: Annotated[BoxHinges | None, Group(BoxHinges), Key()] = None
    """Hinges at the lid cut."""
    catch: Annotated[BoxCatch | None, Group(BoxCatch), Key()] = None
    """A catch at the lid cut."""
    feet: Annotated[BoxFeet | None, Group(BoxFeet), Key()] = None
    """Feet let into the lower edge."""
    lid_panel: Annotated[LidPanel | None, Group(LidPanel, "lies"), Key()] = None
    """A lid that lifts off; the part of the job that is `of the box: {piece: lid}` gets its size.
    """
    dividers: Annotated[BoxDividers | None, Group(BoxDividers), Key()] = None
    """Dividers that part the inside for the loose parts."""
    art: Annotated[
        tuple[SideArt, ...], Items(Group(SideArt), most=40), Key(name="art outside")
    ] = ()
    """Inlay on the outside of the walls."""
    glue_dries_s: Annotated[
        float, Measured(Quantity.TIME, 0.0, 14.0 * DAY_S), Key("12 h", name="glue dries")
    ] = GLUE_DRIES_S
    """From gluing until it is planed and sanded; 12 h where left out (common practice)."""
    source: Source

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for what its size follows from, and for a lid where hinges go."""
        if "board" not in given and "inside" not in given:
            yield (
                "",
                slip(
                    "key-missing",
                    "neither `board` nor `inside` is here: nothing says how large the box is",
                    "add `inside: 300 mm x 200 mm`, or how the `board` is held in it",
                ),
            )
        for key in ("hinges", "catch"):
            if key in given and "lid" not in given:
                yield key, slip("key-out-of-place", f"`{key}` goes with `lid` only", "add a `lid`")

    @classmethod
    def shown(cls, record: WoodenBox) -> Mapping[str, Any]:
        """Leave the clear size out where it follows from the board."""
        return {} if record.inside_x_mm is not None else {"inside": OMIT}

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold grooves, recesses and cuts against the wall they are made in."""
        wall, height = own["wall_mm"], own["height_mm"]
        board: Any = own.get("board")
        held = board is not None and board.how is not HeldHow.LOOSE
        if own.get("lean_rad"):
            _leaning(own, at, held=held)
        if held:
            top = board.from_base_mm + (board.width_mm if board.how is HeldHow.GROOVE else 0.0)
            _in_wall(at, "board", (board.from_base_mm, top, board.depth_mm), (wall, height))
        bottom = own.get("bottom")
        if bottom is not None:
            top = bottom.from_base_mm + bottom.width_mm
            _in_wall(at, "bottom", (bottom.from_base_mm, top, bottom.depth_mm), (wall, height))
            if held and bottom.from_base_mm < board.from_base_mm + board.width_mm < top + 1.0:
                at.out_of_range(
                    "bottom: its groove meets that of the board",
                    "write another `from base` for one of them",
                    *("bottom", "from base"),
                )
        lid, trim = own.get("lid"), own["trim_mm"]
        if lid is not None and not trim < lid.low_mm < lid.high_mm < height - trim:
            at.out_of_range(
                f"lid: a cut at {lid.from_base_mm:g} mm takes an edge of walls of {height:g} mm",
                "write another `from base`",
                *("lid", "from base"),
            )
        for key in ("hinges", "catch"):
            leaf = own.get(key)
            if leaf is not None and leaf.leaf_mm > wall:
                at.out_of_range(
                    f"{key}: the leaf is wider than the wall of {wall:g} mm",
                    "write a narrower `leaf`",
                    *(key, "leaf"),
                )
        _feet(own, at)
        _splines_apart(own, at)
        _lid_lies(own, at)
        _dividers(own, at)


def _leaning(own: dict[str, Any], at: At, *, held: bool) -> None:
    for key in ("bottom", "splines", "lid", "feet", "lid panel", "dividers"):
        if own.get(key.replace(" ", "_")) is not None:
            told = f"`{key}` goes with upright walls only"
            at.slip("key-out-of-place", told, "leave it, or `walls lean`, out", key)
    if held:
        at.slip(
            "key-out-of-place",
            "a board is held in upright walls only",
            "write `board: loose`, or leave `walls lean` out",
            "board",
        )


def _in_wall(at: At, key: str, made: tuple[float, float, float], wall: tuple[float, float]) -> None:
    low, top, depth = made
    thick, height = wall
    if depth > thick - LEAST_WALL_MM + ROUNDED_MM:
        at.out_of_range(
            f"{key}: {depth:g} mm deep in a wall of {thick:g} mm",
            f"leave at least {LEAST_WALL_MM:g} mm of the wall; half of it is usual",
            *(key, "depth"),
        )
    if top >= height or low <= 0.0:
        at.out_of_range(
            f"{key}: it ends {top:g} mm up a wall of {height:g} mm",
            "write another `from base`, or a greater `height`",
            *(key, "from base"),
        )


def _feet(own: dict[str, Any], at: At) -> None:
    feet, bottom = own.get("feet"), own.get("bottom")
    if feet is None:
        return
    if feet.diameter_mm > own["wall_mm"] - 2.0:
        at.out_of_range(
            f"feet: {feet.diameter_mm:g} mm across under a wall of {own['wall_mm']:g} mm",
            "leave 1 mm of wood on either side of them",
            *("feet", "diameter"),
        )
    if bottom is not None and own["trim_mm"] + feet.recess_mm > bottom.from_base_mm - 1.0:
        at.out_of_range(
            "feet: their recess reaches the groove of the bottom",
            "leave 1 mm of wood between them",
            *("feet", "recess"),
        )


def _splines_apart(own: dict[str, Any], at: At) -> None:
    splines = own.get("splines")
    if splines is None:
        return
    for low, high in pairwise(sorted(splines.heights_mm)):
        if high - low < splines.thickness_mm + LEAST_WALL_MM - ROUNDED_MM:
            at.out_of_range(
                f"splines: those at {low:g} mm and {high:g} mm leave no wood between them",
                f"put them at least {splines.thickness_mm + LEAST_WALL_MM:g} mm apart",
                *("splines", "heights"),
            )


def _lid_lies(own: dict[str, Any], at: At) -> None:
    panel, board = own.get("lid_panel"), own.get("board")
    if panel is None or panel.how is LidLies.ON_TOP:
        return
    _in_wall(
        at, "lid panel", (panel.from_base_mm, panel.from_base_mm, panel.depth_mm),
        (own["wall_mm"], own["height_mm"]),
    )  # fmt: skip
    top = 0.0
    if board is not None and board.how is HeldHow.GROOVE:
        top = board.from_base_mm + board.width_mm
    if board is not None and (board.how is HeldHow.REBATE or panel.from_base_mm < top + 1.0):
        at.out_of_range(
            "lid panel: its rebate meets the groove or rebate of the board",
            "put it on top, or write another `from base` for one of them",
            *("lid panel", "from base"),
        )


def _dividers(own: dict[str, Any], at: At) -> None:
    dividers = own.get("dividers")
    if dividers is None or dividers.groove_mm <= own["wall_mm"] - LEAST_WALL_MM + ROUNDED_MM:
        return
    at.out_of_range(
        f"dividers: grooves {dividers.groove_mm:g} mm deep in a wall of {own['wall_mm']:g} mm",
        f"leave at least {LEAST_WALL_MM:g} mm of the wall",
        *("dividers", "groove"),
    )
