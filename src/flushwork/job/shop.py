"""From the keys of a shop file to the shop: the packaged shelf, changed and added to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields, replace
from itertools import chain
from typing import Any, Final, TypeVar
from zoneinfo import ZoneInfo

from flushwork.core.keys.declare import Stated, declared, stated
from flushwork.core.keys.quantities import near
from flushwork.core.keys.renamed import name_now
from flushwork.core.keys.settle import Named, Reading, called
from flushwork.core.keys.tree import Path_
from flushwork.core.units import Ratio, System
from flushwork.job.keys.shop import DAYS, ShopKeys
from flushwork.job.odd_values import check_shelf, odd_in_shop
from flushwork.shelf.items import Bit, Machine, Shop
from flushwork.shelf.tables import starter_shop
from flushwork.shelf.working import LETTER_LABELS, HandTimes, ShopWays

R = TypeVar("R", bound=Any)

INCH_DECIMALS: Final = 5
"""Of a G-code file in inches, where the shop says nothing of them."""
SAID_BY: Final = "your shop file"
"""The source of every record the shop file changes or makes."""

_NEEDS: Final = {"ratio_hardener": "ratio", "by_weight": "ratio"}


def _key_of(entry: Stated, field: str) -> str:
    keys = {each.fields[0]: each.name for each in declared(entry.record)}
    return keys.get(field, _NEEDS.get(field, field))


def _new(
    entry: Stated, kind: type[R], changes: dict[str, Any], reading: Reading, path: Path_
) -> R | None:
    """Make a thing that resembles nothing packaged; note the keys it lacks."""
    needed = [
        field.name
        for field in fields(kind)
        if field.default is MISSING and field.name not in {*changes, "source", "name", "number"}
    ]
    lacking = list(dict.fromkeys(_key_of(entry, field) for field in needed))
    if not entry.name:
        lacking.insert(0, "name")
    if lacking:
        reading.slip(
            "key-missing",
            f"{entry.name or 'this entry'} lacks {', '.join(f'`{key}`' for key in lacking)}",
            "add them, or take the rest from a packaged one with `like: NAME`",
            path,
        )
        return None
    made: R = kind(name=entry.name, source=SAID_BY, **changes)
    return made


def _bit_base(entry: Stated, shelf: Sequence[Bit]) -> Bit | None:
    """Scale the packaged bit of that kind nearest in diameter, for what the file leaves out."""
    alike = [each for each in shelf if each.kind == entry.changes["kind"]]
    if not alike:
        return None
    diameter: float = entry.changes["diameter_mm"]
    nearest = min(alike, key=lambda each: abs(each.diameter_mm - diameter))
    by = diameter / nearest.diameter_mm
    return replace(
        nearest,
        diameter_mm=diameter,
        chip_mm=nearest.chip_mm * by,
        pass_mm=nearest.pass_mm * by,
        flute_mm=nearest.flute_mm * by,
        round_mm=0.0,  # a radius nobody states is asked for, not guessed
        neck_mm=0.0,
        head_mm=0.0,
        shank_mm=max(nearest.shank_mm, diameter if diameter <= 12.7 else 0.0),
        reach_mm=max(nearest.reach_mm, nearest.flute_mm * by + 5.0),
        number=0,
    )


def _ratio(changes: Mapping[str, Any]) -> dict[str, Any]:
    """Return changes with a ratio's two parts; one that does not say is by weight."""
    told = dict(changes)
    ratio: Ratio | None = told.pop("ratio_resin", None)
    if ratio is not None:
        told |= {"ratio_resin": ratio.first, "ratio_hardener": ratio.second}
        if ratio.basis:
            told["by_weight"] = ratio.basis == "weight"
    return told


def _entry(entry: Stated, shelf: Sequence[R], what: str, reading: Reading, path: Path_) -> R | None:
    changes = _ratio(entry.changes)
    base: R | None = None
    if entry.like:
        base = called(shelf, entry.like)
        if base is None:
            if not _renamed(entry.like, shelf, reading, path):
                known = tuple(each.name for each in shelf)
                reading.slip(
                    "name-unknown",
                    f"the packaged shelf has no {what} called '{entry.like}'",
                    f"{near(entry.like, known)}it has: {', '.join(known[:40])}",
                    (*path, "like"),
                )
            return None
        if entry.name and entry.name != entry.like and "number" not in changes and what == "bits":
            changes["number"] = 0
    elif entry.record is Bit and entry.name and {"kind", "diameter_mm"} <= changes.keys():
        base = _bit_base(entry, shelf)  # type: ignore[assignment]
    else:
        base = called(shelf, entry.name)
    if base is None and not changes and _renamed(entry.name, shelf, reading, path):
        return None
    if base is None:
        return _new(entry, type(shelf[0]), changes, reading, path)
    if not changes and entry.name in ("", base.name):
        return base
    made: R = replace(base, name=entry.name or base.name, source=SAID_BY, **changes)
    if isinstance(made, Bit) and "spindle_rpm" not in changes:
        return replace(made, spindle_rpm=min(made.spindle_rpm, math.floor(made.greatest_rpm)))
    return made


def _renamed(name: str, shelf: Sequence[Named], reading: Reading, path: Path_) -> bool:
    """Whether a name is one of the first version, which is then told."""
    now = name_now(name, tuple(each.name for each in shelf))
    if now is not None:
        reading.slip("word-renamed", f"'{name}' is called '{now}' now", f"write `{now}`", path)
    return now is not None


def _things(
    given: Sequence[Stated] | None, shelf: Sequence[R], what: str, reading: Reading
) -> tuple[R, ...]:
    """Return what the shop has of one kind; the packaged shelf where the file says nothing."""
    if given is None:
        return tuple(shelf)
    found: dict[str, R] = {}
    for index, entry in enumerate(given):
        path: Path_ = (what, index)
        made = _entry(entry, shelf, what, reading, path)
        if made is None:
            continue
        if made.name in found:
            reading.slip(
                "name-twice",
                f"two of the {what} are called '{made.name}'",
                "give each a `name` of its own",
                path,
            )
        found[made.name] = made
    return tuple(found.values())


def _numbered(bits: tuple[Bit, ...], reading: Reading) -> tuple[Bit, ...]:
    """Give bits without a number the next free one; note a number used twice."""
    used: dict[int, str] = {}
    for index, bit in enumerate(bits):
        if bit.number and bit.number in used:
            reading.slip(
                "number-twice",
                f"'{bit.name}' and '{used[bit.number]}' both have number {bit.number}",
                "give each bit a `number` of its own",
                ("bits", index),
            )
        used.setdefault(bit.number, bit.name)
    free = (number for number in range(1, 2000) if number not in used)
    return tuple(bit if bit.number else replace(bit, number=next(free)) for bit in bits)


def _machine(told: Stated | None, base: Machine) -> Machine:
    if told is None:
        return base
    changes, dialect = dict(told.changes), base.dialect
    files = changes.pop("dialect", None)
    if files is not None:
        dialect = replace(dialect, **files.changes)
        if dialect.inch and "decimals" not in files.changes:
            dialect = replace(dialect, decimals=INCH_DECIMALS)
    return replace(base, **changes, dialect=dialect, source=SAID_BY)


def _air(keys: ShopKeys, base: Shop, reading: Reading) -> Shop:
    """Set the air and the days; look at the hours and the time zone."""
    air = replace(base.air, **(keys.air.changes if keys.air else {}))
    for start, end, path in (
        (keys.hours.opens_h, keys.hours.closes_h, ("hours", "closes")),
        (air.day_from_h, air.day_until_h, ("air", "day until")),
    ):
        if start >= end:
            reading.slip(
                "value-out-of-range",
                f"{path[-1]}: the end is not later than the beginning",
                "write a later time of the same day",
                path,
            )
    days = base.days if keys.days is None else tuple(sorted({DAYS.index(day) for day in keys.days}))
    for index, day in enumerate(keys.days or ()):
        if day in (keys.days or ())[:index]:
            reading.slip(
                "day-twice",
                f"{day} stands twice among the days of work",
                "write each day once",
                ("days", index),
            )
    if keys.zone and not _known(keys.zone):
        reading.slip(
            "time-zone-unknown",
            f"there is no time zone called {keys.zone}",
            "write a region and a city of the IANA time zone database, as in Europe/Berlin",
            ("time zone",),
        )
    return replace(base, air=air, days=days)


def _known(zone: str) -> bool:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        return False
    return True


_LISTS: Final = {
    "holdings": "holding",
    "bits": "bits",
    "woods": "woods",
    "resins": "resins",
    "thinners": "thinners",
    "pigments": "pigments",
    "sealers": "sealers",
    "finishes": "finishes",
    "tools": "measuring tools",
}
"""The lists of a shop, each with its key."""


def shop_of(keys: ShopKeys, reading: Reading) -> Shop:
    """Return the shop; what is wrong with it is added to ``reading.findings``."""
    base = starter_shop()
    lists: dict[str, Any] = {
        name: _things(getattr(keys, name), getattr(base, name), key, reading)
        for name, key in _LISTS.items()
    }
    lists["bits"] = _numbered(lists["bits"], reading)
    woods = {each.name: each for each in (*base.woods, *lists["woods"])}
    lists["woods"] = tuple(woods.values())
    plain = {each.name: getattr(keys, each.name) for each in fields(ShopWays)}
    machine = _machine(keys.machine, base.machine)
    units = keys.units or (System.INCH if machine.dialect.inch else System.METRIC)
    shop = replace(base, machine=machine, units=units, **plain, **lists)
    sheet = LETTER_LABELS if units is System.INCH else shop.labels
    shop = replace(shop, labels=replace(sheet, **(keys.labels.changes if keys.labels else {})))
    check_shelf(shop, reading)
    stock = keys.on_hand(shop) if keys.on_hand else None
    shop = replace(
        shop,
        hands=replace(HandTimes(), **(keys.hands.changes if keys.hands else {})),
        prices=keys.prices(shop) if keys.prices else None,
        on_hand=tuple(chain.from_iterable(stated(stock).values())) if stock else (),
    )
    made = _air(keys, shop, reading)
    return replace(made, places=reading.tree.places, warnings=odd_in_shop(made, reading))
