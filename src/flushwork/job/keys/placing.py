"""The place of artwork and of hole patterns on a face, and their copies."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.core.keys.declare import OMIT, Group, Items, Key, Keyed
from flushwork.core.keys.quantities import (
    ANGLE,
    COORDINATE,
    LENGTH,
    Count,
    Factor,
    slip,
)
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import TRUTH, Either, OneOf
from flushwork.shelf.items import ANCHORS

PAIR: Final = Items(COORDINATE, 2, 2)
PITCH: Final = Items(COORDINATE, 1, 2, or_one=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat(Keyed):
    """Copies of the artwork, on a grid or around a point."""

    columns: Annotated[int, Count(1, 200), Key("4")] = 1
    """Copies across."""
    rows: Annotated[int, Count(1, 200), Key("2")] = 1
    """Copies up."""
    pitch: Annotated[tuple[float, ...], PITCH, Key("12 mm")] = ()
    """From one copy to the next: one length, or [across, up]."""
    around: Annotated[int, Count(1, 360), Key("8")] = 1
    """Copies evenly around the place the artwork is put from."""

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for the pitch of a grid."""
        if ("columns" in given or "rows" in given) and "pitch" not in given:
            yield "", slip("key-missing", "`pitch` is missing", "add `pitch: 12 mm`")
        if not given:
            yield (
                "",
                slip("key-missing", "nothing is repeated", "add `columns`, `rows` or `around`"),
            )

    @classmethod
    def shown(cls, record: Repeat) -> Mapping[str, Any]:
        """Tell of a grid only where there is one."""
        return {} if record.pitch else {"columns": OMIT, "rows": OMIT}


@dataclass(frozen=True, slots=True, kw_only=True)
class TextArc(Keyed):
    """The circle that letters stand on, each turned with it and otherwise left as it is."""

    diameter_mm: Annotated[float, LENGTH, Key("120 mm")]
    """Of the circle that the first line stands on; the artwork's own zero is its middle."""
    angle_rad: Annotated[float, ANGLE, Key("90 deg")] = math.pi / 2.0
    """Where the middle of the words stands, left about from the right; with `align` their start or
    their end."""
    inward: Annotated[bool, Either("outward", "inward", second=True), Key(name="tops")] = False
    """The way the tops of the letters look; inward reads upright at the foot of the circle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TextLine(Keyed):
    """The straight line that letters stand on."""

    start_x_mm: Annotated[float, PAIR, Key("[-40 mm, 0 mm]", name="start", into=("start_y_mm",))]
    """Where it starts, [right, up] from the place."""
    start_y_mm: float
    end_x_mm: Annotated[float, PAIR, Key("[40 mm, 20 mm]", name="end", into=("end_y_mm",))]
    """Where it ends; the words lie in its middle, or with `align` at its start or its end."""
    end_y_mm: float

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for a line that leads somewhere."""
        ends = [(own[f"{end}_x_mm"], own[f"{end}_y_mm"]) for end in ("start", "end")]
        if math.dist(*ends) < 1e-3:
            at.out_of_range("end: the line ends where it starts", "write another place", "end")
            own["end_x_mm"] += 1.0


def _own_zero(at: At) -> bool:
    """Whether the zero of an artwork's own points is put to the place, where nothing is said."""
    return "pattern" in at.above or getattr(at.above.get("art"), "by_points", False)


@dataclass(frozen=True, slots=True)
class Placement(Keyed):
    """Where artwork goes: its anchor point lands at ``anchor of the trim line + offset``.

    ``anchor`` is one of ``ANCHORS``; the artwork's own bounding box is taken by the same anchor.
    ``as_drawn`` keeps the artwork's own origin instead: its (0, 0) lands on the trim line's anchor
    plus offset.  ``mirror`` (``""``, ``left-right``, ``top-bottom``) comes first, then ``scale``,
    then ``turn_rad`` (counter-clockwise), then the move; ``repeat`` copies follow on a grid.
    """

    x_mm: Annotated[float, PAIR, Key("[0 mm, 0 mm]", name="at", into=("y_mm",))] = 0.0
    """[right, up] from the place named by `from`."""
    y_mm: float = 0.0
    anchor: Annotated[str, OneOf(ANCHORS), Key("centre", name="from")] = "centre"
    """The place on the trim line that `at` counts from; the artwork's own outermost box is taken by
    the same place."""
    as_drawn: Annotated[bool, TRUTH, Key("yes", otherwise=_own_zero)] = False
    """yes: the artwork's own zero goes to the place, not its outermost box. For lines, curve and a
    polygon by points, zero is [0, 0] of the points; for svg it is the place named by `from` on the
    drawing's page, as a rule its middle; for text the middle of the first baseline; for the others
    their middle. The default is yes for lines, curve, a polygon by points, text on an arc or a line
    and parts of a layout, no for the others."""
    turn_rad: Annotated[float, ANGLE, Key("45 deg")] = 0.0
    """Turned counter-clockwise about its own anchor."""
    mirror: Annotated[str, OneOf(("left-right", "top-bottom")), Key("left-right")] = ""
    """Mirrored before it is turned."""
    scale: Annotated[float, Factor(1000.0), Key("1.5")] = 1.0
    """Made larger or smaller."""
    columns: Annotated[int, Group(Repeat), Key(name="repeat", optional=True)] = 1
    """Copies."""
    rows: int = 1
    pitch_x_mm: float = 0.0
    pitch_y_mm: float = 0.0
    around: int = 1

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take the copies out of their group."""
        repeat = own["columns"]
        if isinstance(repeat, Repeat):
            pitch = repeat.pitch or (0.0,)
            own.update(columns=repeat.columns, rows=repeat.rows, around=repeat.around)
            own.update(pitch_x_mm=pitch[0], pitch_y_mm=pitch[-1])

    @classmethod
    def shown(cls, record: Placement) -> Mapping[str, Any]:
        """Put the copies into their group."""
        grid = (record.columns, record.rows)
        if (*grid, record.around) == (1, 1, 1):
            return {"repeat": OMIT}
        pitch = (record.pitch_x_mm, record.pitch_y_mm) if grid != (1, 1) else ()
        repeat = Repeat(columns=record.columns, rows=record.rows, pitch=pitch, around=record.around)
        return {"repeat": repeat}
