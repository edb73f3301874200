"""From the keys of a shop file to the shop: the packaged shelf, changed and added to."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import MISSING, fields, replace
from typing import Any, Final, TypeVar
from zoneinfo import ZoneInfo

from flushwork.job.leaves import near
from flushwork.job.located import Path_
from flushwork.job.odd_values import odd_in_shop
from flushwork.job.reading import Reading, called
from flushwork.job.shelf_checks import check_shelf
from flushwork.job.shelf_keys import CutterKeys, ShelfKeys
from flushwork.job.shop_keys import DAYS, MachineKeys, ShopKeys
from flushwork.job.stock_records import stock
from flushwork.job.working_records import hand_times, prices
from flushwork.shelf.items import (
    Cutter,
    CutterKind,
    Dialect,
    Machine,
    PigmentKind,
    Shop,
    ToolKind,
)
from flushwork.shelf.starter import starter_shop

R = TypeVar("R", bound=Any)

SAID_BY: Final = "your shop file"
"""The source of every record the shop file changes or makes."""

_KINDS: Final = {"cutters": CutterKind, "pigments": PigmentKind, "measuring tools": ToolKind}
_NEEDS: Final = {"ratio_resin": "ratio", "ratio_hardener": "ratio", "by_weight": "ratio"}


def _key_of(entry: ShelfKeys, field: str) -> str:
    keys = {record: key for key, record in entry.fields.items()}
    return keys.get(field, _NEEDS.get(field, field)).replace("_", " ")


def _new(
    entry: ShelfKeys, kind: type[R], changes: dict[str, Any], reading: Reading, path: Path_
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


def _cutter_base(entry: CutterKeys, shelf: Sequence[Cutter]) -> Cutter | None:
    """Scale the packaged cutter of that kind nearest in diameter, for what the file leaves out."""
    alike = [each for each in shelf if each.kind == entry.kind]
    if entry.diameter is None or not alike:
        return None
    diameter = entry.diameter
    nearest = min(alike, key=lambda each: abs(each.diameter_mm - diameter))
    by = diameter / nearest.diameter_mm
    return replace(
        nearest,
        diameter_mm=diameter,
        chip_mm=nearest.chip_mm * by,
        pass_mm=nearest.pass_mm * by,
        flute_mm=nearest.flute_mm * by,
        shank_mm=max(nearest.shank_mm, diameter if diameter <= 12.7 else 0.0),
        reach_mm=max(nearest.reach_mm, nearest.flute_mm * by + 5.0),
        number=0,
    )


def _entry(
    entry: ShelfKeys, shelf: Sequence[R], what: str, reading: Reading, path: Path_
) -> R | None:
    changes = entry.changes()
    if "kind" in changes and what in _KINDS:
        changes["kind"] = _KINDS[what](changes["kind"])
    base: R | None = None
    if entry.like is not None:
        base = called(shelf, entry.like)
        if base is None:
            known = tuple(each.name for each in shelf)
            reading.slip(
                "name-unknown",
                f"the packaged shelf has no {what} called '{entry.like}'",
                f"{near(entry.like, known)}it has: {', '.join(known[:40])}",
                (*path, "like"),
            )
            return None
        if (
            entry.name
            and entry.name != entry.like
            and "number" not in changes
            and what == "cutters"
        ):
            changes["number"] = 0
    elif isinstance(entry, CutterKeys) and entry.name and entry.diameter and entry.kind:
        base = _cutter_base(entry, shelf)  # type: ignore[assignment]
    else:
        base = called(shelf, entry.name)
    if base is None:
        return _new(entry, type(shelf[0]), changes, reading, path)
    if not changes and entry.name in (None, base.name):
        return base
    made: R = replace(base, name=entry.name or base.name, source=SAID_BY, **changes)
    if isinstance(made, Cutter) and "spindle_rpm" not in changes:
        return replace(made, spindle_rpm=min(made.spindle_rpm, math.floor(made.greatest_rpm)))
    return made


def _things(
    given: Sequence[ShelfKeys] | None, shelf: Sequence[R], what: str, reading: Reading
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


def _numbered(cutters: tuple[Cutter, ...], reading: Reading) -> tuple[Cutter, ...]:
    """Give cutters without a number the next free one; note a number used twice."""
    used: dict[int, str] = {}
    for index, cutter in enumerate(cutters):
        if cutter.number and cutter.number in used:
            reading.slip(
                "number-twice",
                f"'{cutter.name}' and '{used[cutter.number]}' both have number {cutter.number}",
                "give each cutter a `number` of its own",
                ("cutters", index),
            )
        used.setdefault(cutter.number, cutter.name)
    free = (number for number in range(1, 2000) if number not in used)
    return tuple(
        cutter if cutter.number else replace(cutter, number=next(free)) for cutter in cutters
    )


def _machine(keys: MachineKeys | None, base: Machine) -> Machine:
    if keys is None:
        return base
    files = keys.cut_files
    dialect = base.dialect
    if files is not None:
        dialect = _over(
            dialect,
            inch=None if files.units is None else files.units == "inch",
            decimals=files.decimals,
            arcs=files.arcs,
            cycles=files.drilling_cycles,
            line_numbers=files.line_numbers,
            program_end=files.program_end,
            spindle_clockwise=files.spindle_start,
            tool_change=files.tool_change,
        )
        if dialect.inch and files.decimals is None:
            dialect = _over(dialect, decimals=5)
    travel: Sequence[float | None] = keys.travel or (None, None, None)
    return _over(
        base,
        name=keys.name,
        travel_x_mm=travel[0],
        travel_y_mm=travel[1],
        travel_z_mm=travel[2],
        feed_mm_min=keys.feed,
        plunge_mm_min=keys.plunge,
        rapid_mm_min=keys.rapid,
        spindle_min_rpm=keys.slowest_spindle,
        spindle_max_rpm=keys.fastest_spindle,
        acceleration_mm_s2=keys.acceleration,
        clear_mm=keys.clear_height,
        spindle_w=keys.spindle_power,
        wobble_mm=keys.wobble,
        skin_mm=keys.spoilboard_skin,
        holder_mm=keys.holder_width,
        tolerance_mm=keys.cut_tolerance,
        lines_s=keys.lines_a_second,
        dialect=dialect,
        source=SAID_BY,
    )


M = TypeVar("M", Machine, Dialect)


def _over(record: M, **changes: Any) -> M:
    return replace(record, **{key: value for key, value in changes.items() if value is not None})


def _air(keys: ShopKeys, base: Shop, reading: Reading) -> Shop:
    """Set the air, the hours and the days."""
    air, hours = keys.air, keys.hours
    stated: dict[str, Any] = {}
    if air is not None:
        stated = {
            "day_c": air.day_temperature,
            "night_c": air.night_temperature,
            "day_from_h": air.day_from,
            "day_until_h": air.day_until,
            "humidity": air.humidity,
        }
    opens = base.opens_h if hours is None or hours.opens is None else hours.opens
    closes = base.closes_h if hours is None or hours.closes is None else hours.closes
    made = replace(base.air, **{key: value for key, value in stated.items() if value is not None})
    for start, end, path in (
        (opens, closes, ("hours", "closes")),
        (made.day_from_h, made.day_until_h, ("air", "day until")),
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
    zone = keys.time_zone or ""
    if zone and not _known(zone):
        reading.slip(
            "time-zone-unknown",
            f"there is no time zone called {zone}",
            "write a region and a city of the IANA time zone database, as in Europe/Berlin",
            ("time zone",),
        )
    return replace(base, air=made, opens_h=opens, closes_h=closes, days=days, zone=zone)


def _known(zone: str) -> bool:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        return False
    return True


def shop_of(keys: ShopKeys, reading: Reading) -> Shop:
    """Return the shop; what is wrong with it is added to ``reading.findings``."""
    base = starter_shop()
    cutters = _numbered(_things(keys.cutters, base.cutters, "cutters", reading), reading)
    timbers = {each.name: each for each in base.timbers}
    timbers |= {each.name: each for each in _things(keys.timbers, base.timbers, "timbers", reading)}
    things: Callable[..., Any] = _things
    shop = replace(
        base,
        name=keys.name or base.name,
        places=reading.tree.places,
        machine=_machine(keys.machine, base.machine),
        holdings=things(keys.holding, base.holdings, "holding", reading),
        cutters=cutters,
        timbers=tuple(timbers.values()),
        resins=things(keys.resins, base.resins, "resins", reading),
        thinners=things(keys.thinners, base.thinners, "thinners", reading),
        pigments=things(keys.pigments, base.pigments, "pigments", reading),
        sealers=things(keys.sealers, base.sealers, "sealers", reading),
        finishes=things(keys.finishes, base.finishes, "finishes", reading),
        tools=things(keys.measuring_tools, base.tools, "measuring tools", reading),
        cup_loss_g=base.cup_loss_g if keys.cup_loss is None else keys.cup_loss,
        cup_g=base.cup_g if keys.empty_cup is None else keys.empty_cup,
    )
    check_shelf(shop, reading)
    shop = replace(
        shop,
        hands=hand_times(keys.hand_times),
        cure_places=base.cure_places if keys.cure_places is None else keys.cure_places,
        prices=prices(keys.prices, shop, reading),
        on_hand=stock(keys.on_hand, shop, reading),
    )
    made = _air(keys, shop, reading)
    return replace(made, cautions=odd_in_shop(made, reading))
