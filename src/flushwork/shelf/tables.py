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
    known = _hazards(of) if of else {}
    return tuple(
        make(**row, **({"hazards": known[row["name"]]} if row["name"] in known else {}))
        for row in rows(table)
    )


@cache
def _hazards(of: str) -> dict[str, Hazards]:
    """Return the hazards of the packaged things of one sort, by name."""
    return {
        row["name"]: Hazards(
            classes=hazard_classes(row["classes"].split(";")),
            basis=Basis.LISTED,
            listed_as=row["name"],
            source=row["source"],
        )
        for row in rows("hazards")
        if row["of"] == of
    }


def _bit(row: Row) -> Bit:
    row = row | {
        "kind": BitKind(row["kind"]),
        "number": int(row["number"]),
        "flutes": int(row["flutes"]),
        "angle_rad": math.radians(row["angle_deg"]),
    }
    del row["angle_deg"]
    return Bit(**row)


@cache
def bits() -> tuple[Bit, ...]:
    """Return the bits of a starter shop."""
    return tuple(_bit(row) for row in rows("bits"))


@cache
def woods() -> tuple[Wood, ...]:
    """Return the woods."""
    return _records("woods", Wood, "wood")


@cache
def resins() -> tuple[Resin, ...]:
    """Return the generic resin systems."""
    return _records("resins", Resin, "resin")


@cache
def thinners() -> tuple[Thinner, ...]:
    """Return the thinners."""
    return _records("thinners", Thinner, "thinner")


@cache
def pigments() -> tuple[Pigment, ...]:
    """Return the generic pigments."""

    def made(**row: Any) -> Pigment:
        return Pigment(**(row | {"kind": PigmentKind(row["kind"])}))

    return _records("pigments", made, "pigment")


@cache
def sealers() -> tuple[Sealer, ...]:
    """Return the sealers."""
    return _records("sealers", Sealer, "sealer")


@cache
def finishes() -> tuple[Finish, ...]:
    """Return the clear finishes."""
    return _records("finishes", Finish, "finish")


@cache
def tools() -> tuple[MeasuringTool, ...]:
    """Return the measuring tools."""
    return tuple(MeasuringTool(**(row | {"kind": ToolKind(row["kind"])})) for row in rows("tools"))


@cache
def holdings() -> tuple[Holding, ...]:
    """Return the ways of holding and locating a blank, the usual one first.

    Dowels are bored by G-code files, right through the blank.
    """

    def made(dowel_mm: float, **row: Any) -> Holding:
        bored = Locating("dowels", dowel_mm, board_mm=8.0, blank_mm=0.0, play_mm=0.05)
        return Holding(**row, locating=bored if dowel_mm else None)

    return _records("holdings", made)


@cache
def machine() -> Machine:
    """Return the machine of a starter shop."""
    return Machine(**rows("machine")[0], dialect=Dialect())


# ---- The packaged starter shop: what a job gets that names no shop of its own


AIR: Final = Air(day_c=20.0, night_c=16.0, day_from_h=8.0, day_until_h=18.0, humidity=0.45)
"""A heated small shop in the cold half of the year: assumed, replace with a logged week."""

DAYS: Final = (0, 1, 2, 3, 4)
"""Working days (Monday is 0): assumed, replace with your own."""


def starter_shop() -> Shop:
    """Return the starter shop, every record from the packaged tables."""
    return Shop(
        machine=machine(),
        holdings=holdings(),
        bits=bits(),
        woods=woods(),
        resins=resins(),
        thinners=thinners(),
        pigments=pigments(),
        tools=tools(),
        sealers=sealers(),
        finishes=finishes(),
        air=AIR,
        days=DAYS,
    )
