"""Readings of registration marks as typed.

A mark's number, and how far right and away it is off.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from flushwork.core.errors import FlushworkError
from flushwork.core.findings import Source
from flushwork.core.units import Quantity, UnitError, read_quantity
from flushwork.job.records import RegistrationMark

AS_WRITTEN: Final = "write it as `NUMBER: RIGHT, AWAY`, such as `1: 0.12 mm, -0.05 mm`"
_LINE: Final = re.compile(r"^(?:mark\s*)?(\d+)\s*[:,;\s]\s*(.+?)\s*[,;]\s*(.+?)$", re.IGNORECASE)
_BARE: Final = re.compile(r"^[+\-\u2212]?\s*(\d+\.?\d*|\.\d+)$")


class ReadingError(FlushworkError):
    """A reading cannot be understood; the message says where and what would be right."""


def marks_read(
    places: Sequence[tuple[float, float]],
    typed: Sequence[str],
    file: Path | None,
    *,
    inch: bool,
) -> tuple[RegistrationMark, ...]:
    """Return the marks with their readings, in the order of their numbers.

    A length without a unit is in what the machine shows: inches where ``inch``, else mm.  Raises
    ReadingError for a line that is no reading, a number no mark has, a mark read twice.
    """
    found: dict[int, RegistrationMark] = {}
    for where, line, text in _lines(typed, file):
        match = _LINE.match(text)
        if match is None:
            raise ReadingError(f"{where}: '{text}' is no reading; {AS_WRITTEN}")
        number = int(match[1])
        if not 1 <= number <= len(places):
            raise ReadingError(f"{where}: there is no mark {number}; they are 1 to {len(places)}")
        if number in found:
            raise ReadingError(f"{where}: mark {number} is read twice")
        x_mm, y_mm = places[number - 1]
        found[number] = RegistrationMark(
            x_mm,
            y_mm,
            _length_mm(match[2], where, inch=inch),
            _length_mm(match[3], where, inch=inch),
            Source(file.name if file is not None else "typed", line, 1, f"mark {number}"),
        )
    return tuple(found[number] for number in sorted(found))


def _lines(typed: Sequence[str], file: Path | None) -> list[tuple[str, int, str]]:
    found = [(f"reading {index}", index, text) for index, text in enumerate(typed, start=1)]
    if file is None:
        return found
    try:
        held = file.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise ReadingError(f"there is no text file {file} that can be read") from None
    for number, whole in enumerate(held.splitlines(), start=1):
        text = whole.partition("#")[0].strip()
        if text:
            found.append((f"{file.name}, line {number}", number, text))
    return found


def _length_mm(text: str, where: str, *, inch: bool) -> float:
    plain = text.strip().replace("\u2212", "-")
    if _BARE.match(plain):
        plain += " in" if inch else " mm"
    try:
        return read_quantity(plain, Quantity.LENGTH)
    except UnitError as error:
        raise ReadingError(f"{where}: {error.message}; {AS_WRITTEN}") from None
