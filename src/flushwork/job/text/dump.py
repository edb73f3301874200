"""The job as Flushwork understood it: one canonical text with every default visible."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

from flushwork.core.keys.declare import (
    OMIT,
    Anew,
    Declared,
    Group,
    Items,
    Names,
    parts,
    picks,
)
from flushwork.core.keys.quantities import DECIMALS, Kind, Leaf
from flushwork.core.keys.tree import Path_
from flushwork.core.keys.words import quoted
from flushwork.core.units import Quantity, System, number_text, quantity_text, read_quantity
from flushwork.core.units.shown import shown
from flushwork.job.keys.job import Job
from flushwork.shelf.working import CM3, GRAMS

_METRIC: Final = re.compile(
    r"(?<![^\[ ])(?P<figure>-?\d+(?:\.\d+)?) (?P<unit>mm|degC)(?=$|,|\]| x )"
)
SHORT: Final = ("name", "held", "lies", "piece", 0)
"""Keys whose value may stand for the whole group."""
_OFF_C: Final = 1e-8
"""A temperature is written to so many degrees, in whatever scale."""


def resolved_text(job: Job) -> str:
    """Return the job as YAML that reads back to the same job.

    Lengths and temperatures of an inch shop stand in inches and degF, wherever that is exact.

    A line the user's own file does not hold ends in ``# default``; what is chosen later (bits,
    the replay's cell) stands as a comment.  The shelf records behind it follow, each with its
    source.
    """
    reads = job.shop.reads
    out = _Lines(job.given, inch=reads.system is System.INCH)
    out.lines.append(
        f"# {job.file} as Flushwork understands it; `default` marks what it does not say."
    )
    out.group(job, ())
    out.lines.append("# The shelf behind it:")
    out.lines.extend(f"# {shown(line, reads)}" for line in dict.fromkeys(_shelf(job)))
    if job.shop.on_hand:
        out.lines.append("# On hand:")
        out.lines.extend(f"# {shown(line, reads)}" for line in _on_hand(job))
    return "\n".join(out.lines) + "\n"


@dataclass(frozen=True, slots=True)
class _Told:
    """A key that is written: ``also`` are keys that state it as well; ``note`` stands for it."""

    name: str
    kind: Kind
    value: Any
    also: tuple[str, ...] = ()
    note: str = ""


def _told(record: Any, stated: Callable[[str], bool]) -> Iterator[_Told]:
    """Yield the keys of a record that are written; ``stated`` says which the user's file holds."""
    shown = type(record).shown(record)
    for part in parts(type(record)):
        if isinstance(part, Declared):
            if part.name not in shown and not part.fields:
                continue
            values = tuple(getattr(record, name) for name in part.fields)
            # of a pair, as a sheet's two sides, nothing may be said
            own = values[0] if len(values) == 1 or values == (None, None) else values
            value = shown.get(part.name, own)
            if value is OMIT:
                continue
            if value is None or value in ("", ()) or (part.key.optional and not value):
                if part.key.unsaid:
                    yield _Told(part.name, part.kind, None, note=part.key.unsaid)
                continue
            yield _Told(part.name, part.kind, value, part.beside)
            continue
        inner = getattr(record, part.field)
        if isinstance(inner, tuple) and (len(inner) > 1 or stated(part.aside)):
            yield _Told(part.aside, Items(Group(part.records[0])), inner)
            continue
        for each in inner if isinstance(inner, tuple) else (inner,):
            if type(each).under is None:
                yield from _told(each, stated)
            else:
                yield _Told(picks(type(each))[0], Group(type(each)), each)


@dataclass(frozen=True, slots=True)
class _Lines:
    """Lines of a file in the making, and the keys that the user's own file holds."""

    given: frozenset[str]
    lines: list[str] = field(default_factory=list)
    inch: bool = False

    def group(self, record: Any, path: Path_, only: Collection[str] = ()) -> None:
        """Write the keys of a record, or some of them."""
        for each in _told(record, lambda name: self.stated((*path, name))):
            if not only or each.name in only:
                self.key(each, path)

    def key(self, each: _Told, path: Path_) -> None:
        """Write a key of the group at ``path``."""
        here = (*path, each.name)
        if each.note:
            self.lines.append(f"{_indent(here)}# {each.note}")
        elif isinstance(each.value, str) and not isinstance(each.kind, Leaf):
            self.add(here, each.value)
        elif isinstance(each.kind, Group):
            self.open(here)
            self.group(each.value, here)
        elif isinstance(each.kind, Anew | Names):
            self.names(each, here)
        elif isinstance(each.kind, Items) and isinstance(each.kind.item, Group):
            self.open(here)
            for index, item in enumerate(each.value):
                first = len(self.lines)
                self.group(item, (*here, index))
                indent = _indent((*here, index, ""))
                self.lines[first] = f"{indent[:-2]}- {self.lines[first][len(indent) :]}"
        else:
            also = any(self.stated((*path, name)) for name in each.also)
            text = each.kind.text(each.value)
            words = isinstance(each.value, str)
            self.add(here, in_inches(text) if self.inch and not words else text, stated=also)

    def names(self, each: _Told, here: Path_) -> None:
        """Write groups that have names of the user's own."""
        only, name = (each.kind.keys, "part") if isinstance(each.kind, Anew) else ((), "name")
        self.open(here)
        for item in each.value:
            path = (*here, getattr(item, name))
            self.open(path)
            self.group(item, path, only)

    def stated(self, path: Path_) -> bool:
        """Whether the user's file holds a key, or a plain value in place of its group."""
        if _dotted(path) in self.given:
            return True
        above = _dotted(path[:-1])
        return (
            path[-1] in SHORT
            and above in self.given
            and not any(key.startswith(f"{above}.") for key in self.given)
        )

    def add(self, path: Path_, value: str, *, stated: bool = False) -> None:
        """Add ``key: value``, marked where the user's file does not hold it."""
        mark = "" if stated or self.stated(path) else "  # default"
        self.lines.append(f"{_indent(path)}{quoted(str(path[-1]))}: {value}{mark}")

    def open(self, path: Path_) -> None:
        """Open a group of keys."""
        self.lines.append(f"{_indent(path)}{quoted(str(path[-1]))}:")


def in_inches(text: str) -> str:
    """Return a value in inches and degF, where each figure then reads back to the very same."""

    def one(found: re.Match[str]) -> str:
        length, figure = found["unit"] == "mm", Fraction(found["figure"])
        quantity = Quantity.LENGTH if length else Quantity.TEMPERATURE
        other = figure / Fraction(254, 10) if length else figure * Fraction(9, 5) + 32
        told = (
            f"{number_text(float(other), DECIMALS if length else 6)} {'in' if length else 'degF'}"
        )
        off = abs(read_quantity(told, quantity) - read_quantity(found[0], quantity))
        return told if off <= (0.0 if length else _OFF_C) else found[0]

    return _METRIC.sub(one, text)


def _dotted(path: Path_) -> str:
    return ".".join(map(str, path))


def _indent(path: Path_) -> str:
    return "  " * (len(path) - 1)


def _measure(value: float, quantity: Quantity) -> str:
    return quantity_text(value, quantity, decimals=DECIMALS)


def _on_hand(job: Job) -> Iterator[str]:
    """Yield a line for everything that the shop file says is on hand."""
    units = {GRAMS: Quantity.MASS, CM3: Quantity.VOLUME}
    for each in job.shop.on_hand:
        quantity = units.get(each.unit)
        left = f"{each.amount:g}" if quantity is None else _measure(each.amount, quantity)
        yield f"{each.kind.value} {each.name}: {left}"


def _shelf(job: Job) -> Iterator[str]:
    """Yield a line for every shelf record in use, with its source."""
    yield f"wood {job.blank.wood.name}: {job.blank.wood.source}"
    repeat = _measure(job.holding.repeat_mm, Quantity.LENGTH)
    yield f"holding {job.holding.name}, comes back within {repeat}: {job.holding.source}"
    for mix in job.mixes:
        yield f"resin {mix.resin.name}: {mix.resin.source}"
        if mix.thinner is not None:
            yield f"thinner {mix.thinner.name}: {mix.thinner.source}"
        for each in mix.pigments:
            yield f"pigment {each.pigment.name}: {each.pigment.source}"
    for part in job.loose_parts:
        yield f"wood {part.wood.name}: {part.wood.source}"
    if job.sealer is not None:
        yield f"sealer {job.sealer.name}: {job.sealer.source}"
    if job.finish is not None:
        yield f"finish {job.finish.finish.name}: {job.finish.finish.source}"
    for thing in (thing for face in job.faces for thing in face.things):
        for bit in thing.bits:
            yield f"bit {bit.name}: {bit.source}"
