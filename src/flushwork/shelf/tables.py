"""The packaged tables, each row with its source, and the starter shop that they make.

Columns are named as the record's fields; an angle stands in degrees in the table.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from typing import Any, Final, TypeVar

from flushwork.shelf.hazards import Basis, Hazards, hazard_classes
from flushwork.shelf.items import (
    Air,
    Bit,
    BitKind,
    Dialect,
    Finish,
    Holding,
    Locating,
    Machine,
    MeasuringTool,
    Pigment,
    PigmentKind,
    Resin,
    Sealer,
    Shop,
    Thinner,
    ToolKind,
    Wood,
)

Row = dict[str, Any]
T = TypeVar("T")

_WORDS = frozenset(
    (
        *("name", "also", "kind", "source", "pores", "colour", "resin", "grain_colour", "how"),
        *("locates_by", "carried_by", "of", "classes", "month"),
    )
)


def _value(column: str, text: str) -> str | float | bool | None:
    if column in _WORDS:
        return text
    if not text:
        return None
    return text == "yes" if text in ("yes", "no") else float(text)


def rows(table: str) -> tuple[Row, ...]:
    """Return the rows of one packaged table, numbers as floats, yes and no as truth."""
    text = (files("flushwork.shelf") / "tables" / f"{table}.csv").read_text("utf-8")
    return tuple(
        {column: _value(column, cell) for column, cell in row.items()}
        for row in csv.DictReader(text.splitlines())
    )


def _records(table: str, make: Callable[..., T], of: str = "") -> tuple[T, ...]:
    """Return the rows of a table as records; ``of`` is the sort whose hazards go with them."""
    known = {
        row["name"]: Hazards(
            classes=hazard_classes(row["classes"].split(";")),
            basis=Basis.LISTED,
            listed_as=row["name"],
            source=row["source"],
        )
        for row in rows("hazards")
        if row["of"] == of
    }
    return tuple(
        make(**row, **({"hazards": known[row["name"]]} if row["name"] in known else {}))
        for row in rows(table)
    )


def _bit(kind: str, number: float, flutes: float, angle_deg: float, **row: Any) -> Bit:
    angle_rad = math.radians(angle_deg)
    return Bit(
        **row, kind=BitKind(kind), number=int(number), flutes=int(flutes), angle_rad=angle_rad
    )


def _pigment(kind: str, **row: Any) -> Pigment:
    return Pigment(**row, kind=PigmentKind(kind))


def _tool(kind: str, **row: Any) -> MeasuringTool:
    return MeasuringTool(**row, kind=ToolKind(kind))


def _holding(dowel_mm: float, **row: Any) -> Holding:
    """Return a way of holding; dowels are bored by G-code files, right through the blank."""
    bored = Locating("dowels", dowel_mm, board_mm=8.0, blank_mm=0.0, play_mm=0.05)
    return Holding(**row, locating=bored if dowel_mm else None)


# ---- The packaged starter shop: what a job gets that names no shop of its own


AIR: Final = Air(day_c=20.0, night_c=16.0, day_from_h=8.0, day_until_h=18.0, humidity=0.45)
"""A heated small shop in the cold half of the year: assumed, replace with a logged week."""

DAYS: Final = (0, 1, 2, 3, 4)
"""Working days (Monday is 0): assumed, replace with your own."""


@cache
def starter_shop() -> Shop:
    """Return the starter shop, every record from the packaged tables; the usual holding first."""
    return Shop(
        machine=Machine(**rows("machine")[0], dialect=Dialect()),
        holdings=_records("holdings", _holding),
        bits=_records("bits", _bit),
        woods=_records("woods", Wood, "wood"),
        resins=_records("resins", Resin, "resin"),
        thinners=_records("thinners", Thinner, "thinner"),
        pigments=_records("pigments", _pigment, "pigment"),
        tools=_records("tools", _tool),
        sealers=_records("sealers", Sealer, "sealer"),
        finishes=_records("finishes", Finish, "finish"),
        air=AIR,
        days=DAYS,
    )
