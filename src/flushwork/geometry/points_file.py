"""A file of points: one ``x, y`` to a line, in mm or in the unit its first line names."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from flushwork.findings import Source
from flushwork.geometry.faults import Faults, folder_of, refusal
from flushwork.job.records import Point

UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4}
"""Exact (NIST Special Publication 811, appendix B)."""

MOST_POINTS: Final = 100_000
_FARTHEST_MM: Final = 10_000.0
_PARTED: Final = re.compile(r"\s*[,;\t]\s*|\s+")
_HEADER: Final = re.compile(r"(?:x\W+y\W*)?(mm|cm|in|inch)?\W*$", re.IGNORECASE)


def read_points(path: Path, source: Source) -> tuple[Point, ...]:
    """Return the points of a file in mm.

    Blank lines and lines from ``#`` on do not count.  The first other line may be a header such as
    ``x, y`` or ``x, y, in`` or ``unit: in``.  Raises JobRefusedError that names each faulty line.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise refusal(
            source,
            "points-file-not-found",
            f"the file of points {path.name} is not there or is no text, in {folder_of(path)}",
            "put the file beside the job, one `x, y` to a line",
        ) from None
    faults = Faults()
    points: list[Point] = []
    factor_mm: float | None = None
    for number, whole in enumerate(text.splitlines(), start=1):
        line = whole.partition("#")[0].strip()
        if not line:
            continue
        if factor_mm is None:
            unit = _header_unit(line)
            factor_mm = UNITS_MM[unit or "mm"]
            if unit is not None:
                continue
        place = _point(line, factor_mm)
        if place is None:
            faults.add(
                Source(path.name, number, 1, ""),
                "points-file-line-unreadable",
                f"line {number} of {path.name} is '{line[:40]}', which is no place on a board",
                "write two numbers, right and up, such as 12.5, 40",
            )
        else:
            points.append(place)
    faults.refuse()
    if not points or len(points) > MOST_POINTS:
        raise refusal(
            source,
            "points-file-empty" if not points else "points-file-too-long",
            f"the file of points {path.name} holds {len(points) or 'no'} points",
            f"write one `x, y` to a line, at most {MOST_POINTS} of them",
        )
    return tuple(points)


def _header_unit(line: str) -> str | None:
    """Return the unit a header names (mm where it names none), None for a line of numbers."""
    words = line.lower().removeprefix("units").removeprefix("unit").strip(" :=")
    match = _HEADER.match(words)
    return (match[1] or "mm") if match else None


def _point(line: str, factor_mm: float) -> Point | None:
    words = [word for word in _PARTED.split(line) if word]
    if len(words) != 2:
        return None
    try:
        x_mm, y_mm = (float(word) * factor_mm for word in words)
    except ValueError:
        return None
    # written so that a number that is none fails, too
    honest = abs(x_mm) <= _FARTHEST_MM and abs(y_mm) <= _FARTHEST_MM
    return (x_mm, y_mm) if honest else None
